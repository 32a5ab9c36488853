//! Where each thing of a trace stands in the picture: columns in the order of the meat, siblings of one kind folded
//! together when there are too many to read.

use std::collections::{BTreeMap, BTreeSet};

/// How many nodes a picture shows at most before it folds.
pub const READABLE: usize = 60;

/// How many columns one stage can take: a carcass gives primals, these give cuts, these give trim.
const DEEPEST: usize = 4;

/// A stage in the order of the meat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    Supplier,
    Received,
    Cut,
    Batch,
    Piece,
    Pack,
    Customer,
}

impl Stage {
    pub fn word(self) -> &'static str {
        match self {
            Self::Supplier => "Supplier",
            Self::Received => "Received",
            Self::Cut => "Cuts",
            Self::Batch => "Batch",
            Self::Piece => "Pieces",
            Self::Pack => "Packs",
            Self::Customer => "Customers",
        }
    }
}

/// A thing to draw.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Thing {
    pub stage: Stage,
    /// What it is, in words that siblings of one kind share: "pork collar".
    pub sort: String,
    /// What it is sorted by among its like.
    pub order: String,
    /// Never folded: what was asked for, and the way to it.
    pub keep: bool,
}

/// One node: a thing, or several folded together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// Places of the things in the list that was laid out; the first stands for all.
    pub things: Vec<usize>,
    pub column: usize,
    pub row: usize,
}

/// The whole picture, in columns and rows.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Layout {
    /// The stage of each column, from the left.
    pub columns: Vec<Stage>,
    pub nodes: Vec<Placed>,
    /// From node to node, each once.
    pub links: BTreeSet<(usize, usize)>,
    /// Rows of the tallest column.
    pub rows: usize,
}

/// How alike things must be to be folded together.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fold {
    Nothing,
    /// One kind out of the same lots, three or more.
    Siblings,
    /// One kind.
    Kind,
    /// One stage.
    Stage,
}

/// Lays things out. Links go from the place of one thing in the list to that of another.
pub fn lay_out(things: &[Thing], links: &[(usize, usize)]) -> Layout {
    let folds = [Fold::Nothing, Fold::Siblings, Fold::Kind, Fold::Stage];
    let mut groups = Vec::new();
    for fold in folds {
        groups = folded(things, links, fold);
        if groups.len() <= READABLE {
            break;
        }
    }
    let of: BTreeMap<usize, usize> = groups
        .iter()
        .enumerate()
        .flat_map(|(group, members)| members.iter().map(move |thing| (*thing, group)))
        .collect();
    let links: BTreeSet<(usize, usize)> =
        links.iter().map(|(from, to)| (of[from], of[to])).filter(|(from, to)| from != to).collect();
    place(things, groups, links)
}

/// The groups of things that one node each stands for.
fn folded(things: &[Thing], links: &[(usize, usize)], fold: Fold) -> Vec<Vec<usize>> {
    let mut order: Vec<usize> = (0..things.len()).collect();
    order.sort_by(|a, b| (things[*a].stage, &things[*a].order).cmp(&(things[*b].stage, &things[*b].order)));
    let mut groups: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    let mut number: BTreeMap<usize, usize> = BTreeMap::new();
    for at in order {
        let thing = &things[at];
        let key = match fold {
            Fold::Siblings if !thing.keep => {
                // Parents that fold together count as one, so that their children fold as well.
                let parents = links.iter().filter(|(_, to)| *to == at).map(|(from, _)| number.get(from));
                format!("{:?} {} {:?}", thing.stage, thing.sort, parents.collect::<BTreeSet<_>>())
            }
            Fold::Kind if !thing.keep => format!("{:?} {}", thing.stage, thing.sort),
            Fold::Stage if !thing.keep => format!("{:?}", thing.stage),
            _ => format!("={at}"),
        };
        let group = groups.entry(key).or_default();
        group.push(at);
        number.insert(at, group[0]);
    }
    let few = if fold == Fold::Siblings { 3 } else { 2 };
    let mut all: Vec<Vec<usize>> = Vec::new();
    for group in groups.into_values() {
        if group.len() < few {
            all.extend(group.into_iter().map(|thing| vec![thing]));
        } else {
            all.push(group);
        }
    }
    all.sort_by(|a, b| {
        let key = |group: &[usize]| (things[group[0]].stage, things[group[0]].order.clone());
        key(a).cmp(&key(b))
    });
    all
}

/// Gives each group its column and its row.
fn place(things: &[Thing], groups: Vec<Vec<usize>>, links: BTreeSet<(usize, usize)>) -> Layout {
    let stages: Vec<Stage> = groups.iter().map(|group| things[group[0]].stage).collect();
    let depths = depths(&stages, &links);
    let used: BTreeSet<(Stage, usize)> = stages.iter().copied().zip(depths.iter().copied()).collect();
    let used: Vec<(Stage, usize)> = used.into_iter().collect();
    let column =
        |group: usize| used.iter().position(|key| *key == (stages[group], depths[group])).unwrap_or(0);
    let mut columns: Vec<Vec<usize>> = vec![Vec::new(); used.len()];
    for group in 0..groups.len() {
        columns[column(group)].push(group);
    }
    untangle(&mut columns, &links);
    let rows = columns.iter().map(Vec::len).max().unwrap_or(0);
    let mut nodes: Vec<Placed> =
        groups.into_iter().map(|things| Placed { things, column: 0, row: 0 }).collect();
    for (column, members) in columns.iter().enumerate() {
        for (row, group) in members.iter().enumerate() {
            nodes[*group].column = column;
            nodes[*group].row = row;
        }
    }
    Layout { columns: used.into_iter().map(|(stage, _)| stage).collect(), nodes, links, rows }
}

/// How many steps each node stands behind others of its own stage.
fn depths(stages: &[Stage], links: &BTreeSet<(usize, usize)>) -> Vec<usize> {
    let mut depths = vec![0; stages.len()];
    // A bin and a lot can feed each other on different days: so the steps are bounded.
    for _ in 0..DEEPEST {
        for (from, to) in links.iter().filter(|(from, to)| stages[*from] == stages[*to]) {
            depths[*to] = usize::max(depths[*to], depths[*from] + 1).min(DEEPEST);
        }
    }
    depths
}

/// Sorts each column by where its neighbours stand: from the left, back from the right, and from the left again.
fn untangle(columns: &mut [Vec<usize>], links: &BTreeSet<(usize, usize)>) {
    for sweep in [true, false, true] {
        let order: Vec<usize> =
            if sweep { (0..columns.len()).collect() } else { (0..columns.len()).rev().collect() };
        for at in order {
            let seats = seats(columns);
            let neighbours = |node: usize| -> Vec<usize> {
                let ends = links.iter().filter_map(|(from, to)| match (sweep, *from == node, *to == node) {
                    (true, _, true) => Some(*from),
                    (false, true, _) => Some(*to),
                    _ => None,
                });
                ends.collect()
            };
            columns[at].sort_by_cached_key(|node| {
                let near = neighbours(*node);
                let own = seats[node];
                let sum: usize = near.iter().map(|other| seats[other]).sum();
                sum.checked_div(near.len()).unwrap_or(own)
            });
        }
    }
}

/// How far down each node stands in its column, in thousandths of it.
fn seats(columns: &[Vec<usize>]) -> BTreeMap<usize, usize> {
    columns
        .iter()
        .flat_map(|column| {
            column.iter().enumerate().map(|(row, node)| (*node, (row * 2 + 1) * 500 / column.len()))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn thing(stage: Stage, sort: &str, order: &str) -> Thing {
        Thing { stage, sort: sort.into(), order: order.into(), keep: false }
    }

    /// A carcass, so many cuts of it, and a piece from each.
    fn animal(cuts: usize) -> (Vec<Thing>, Vec<(usize, usize)>) {
        let mut things = vec![thing(Stage::Supplier, "farm", ""), thing(Stage::Received, "pig", "26329-01")];
        let mut links = vec![(0, 1)];
        for n in 0..cuts {
            things.push(thing(Stage::Cut, "collar", &format!("26329-01.{n:03}")));
            things.push(thing(Stage::Piece, "cured collar", &format!("26330-01.{n:03}")));
            links.extend([(1, 2 + 2 * n), (2 + 2 * n, 3 + 2 * n)]);
        }
        (things, links)
    }

    #[test]
    fn stages_stand_from_left_to_right_in_the_order_of_the_meat() {
        let (things, links) = animal(3);
        let layout = lay_out(&things, &links);
        assert_eq!(layout.columns, [Stage::Supplier, Stage::Received, Stage::Cut, Stage::Piece]);
        assert!(layout.links.iter().all(|(a, b)| layout.nodes[*a].column < layout.nodes[*b].column));
        assert_eq!(layout.rows, 3);
    }

    #[test]
    fn a_cut_of_a_primal_stands_behind_the_primal() {
        let things = [
            thing(Stage::Received, "pig", "1"),
            thing(Stage::Cut, "shoulder", "2"),
            thing(Stage::Cut, "collar", "3"),
        ];
        let layout = lay_out(&things, &[(0, 1), (1, 2)]);
        assert_eq!(layout.columns, [Stage::Received, Stage::Cut, Stage::Cut]);
        assert_eq!(layout.nodes[2].column, 2);
    }

    #[test]
    fn sixty_nodes_are_shown_one_by_one() {
        let (things, links) = animal(29);
        assert_eq!(things.len(), READABLE);
        assert_eq!(lay_out(&things, &links).nodes.len(), READABLE);
    }

    #[test]
    fn above_sixty_siblings_of_one_kind_fold_together() {
        let (things, links) = animal(30);
        let layout = lay_out(&things, &links);
        assert!(layout.nodes.len() <= READABLE);
        let cuts = layout.nodes.iter().find(|node| things[node.things[0]].stage == Stage::Cut).unwrap();
        assert_eq!(cuts.things.len(), 30);
    }

    #[test]
    fn what_was_asked_for_is_never_folded() {
        let (mut things, links) = animal(200);
        things[2].keep = true;
        let layout = lay_out(&things, &links);
        assert!(layout.nodes.iter().any(|node| node.things == [2]));
        assert!(layout.nodes.len() <= READABLE);
    }

    #[test]
    fn a_thousand_kinds_still_fit_on_the_page() {
        let mut things = vec![thing(Stage::Received, "pig", "1")];
        things.extend((0..1000).map(|n| thing(Stage::Cut, &format!("cut {n}"), &format!("{n:04}"))));
        let links: Vec<(usize, usize)> = (1..=1000).map(|n| (0, n)).collect();
        assert_eq!(lay_out(&things, &links).nodes.len(), 2);
    }

    #[test]
    fn every_thing_stands_in_the_picture_once_and_no_two_nodes_in_one_place() {
        let (things, links) = animal(25);
        let layout = lay_out(&things, &links);
        let mut seen: Vec<usize> = layout.nodes.iter().flat_map(|node| node.things.clone()).collect();
        seen.sort_unstable();
        assert_eq!(seen, (0..things.len()).collect::<Vec<_>>());
        let seats: BTreeSet<(usize, usize)> =
            layout.nodes.iter().map(|node| (node.column, node.row)).collect();
        assert_eq!(seats.len(), layout.nodes.len());
    }

    #[test]
    fn lots_that_feed_each_other_on_different_days_do_not_go_round_for_ever() {
        let things = [thing(Stage::Cut, "trim", "1"), thing(Stage::Cut, "bin", "2")];
        assert_eq!(lay_out(&things, &[(0, 1), (1, 0)]).nodes.len(), 2);
    }

    #[test]
    fn neighbours_are_drawn_beside_each_other() {
        let mut things: Vec<Thing> = (0..3).map(|n| thing(Stage::Received, "pig", &format!("{n}"))).collect();
        // The cuts come in the opposite order of their carcasses.
        things.extend((0..3).map(|n| thing(Stage::Cut, "collar", &format!("{n}"))));
        let layout = lay_out(&things, &[(0, 5), (1, 4), (2, 3)]);
        for (from, to) in &layout.links {
            assert_eq!(layout.nodes[*from].row, layout.nodes[*to].row);
        }
    }
}
