//! The picture: the layout in px, with names and weights that fit into their nodes.

use std::collections::BTreeMap;

use super::Scope;
use super::rows::{address, counted};
use crate::book::{Account, Form, Side};
use crate::measure::Grams;
use crate::trace::db::Known;
use crate::trace::layout::{Layout, Placed, Stage, Thing, lay_out};
use crate::web::parts::{Picture, PictureLink, PictureNode, PictureStage};

/// The picture is drawn for a page of this width; on a narrower one the browser makes it smaller.
const WIDTH: u32 = 1200;
/// Between the tops of two rows.
const PITCH: u32 = 68;
/// Under the names of the stages.
const TOP: u32 = 36;
const NODE_HEIGHT: u32 = 54;
/// Left and right of the text in a node.
const PADDING: u32 = 24;

/// Columns of a picture, in px.
struct Grid {
    pitch: u32,
    node: u32,
}

impl Grid {
    /// As wide as the columns need, and no wider than reads well.
    fn of(columns: usize) -> Self {
        let columns = u32::try_from(columns).unwrap_or(1).max(1);
        let pitch = (WIDTH / columns).clamp(176, 250);
        Self { pitch, node: (pitch - 26).min(200) }
    }

    fn x(&self, column: usize) -> u32 {
        self.pitch * u32::try_from(column).unwrap_or_default()
    }
}

/// Draws a trace; nothing when there is nothing to draw.
pub fn picture(scope: &Scope, label: String) -> Option<Picture> {
    let mut sides: Vec<Side> = scope.links.keys().flat_map(|(from, to)| [*from, *to]).collect();
    sides.extend(scope.here.iter().map(|lot| Side::Lot(*lot)));
    sides.sort_unstable();
    sides.dedup();
    if sides.len() < 2 {
        return None;
    }
    let things: Vec<Thing> = sides.iter().map(|side| thing(scope, *side)).collect();
    let at: BTreeMap<Side, usize> = sides.iter().enumerate().map(|(at, side)| (*side, at)).collect();
    let links: Vec<(usize, usize)> = scope.links.keys().map(|(from, to)| (at[from], at[to])).collect();
    let layout = lay_out(&things, &links);
    let grid = Grid::of(layout.columns.len());
    let seats: Vec<(u32, u32)> = layout.nodes.iter().map(|node| seat(&layout, &grid, node)).collect();
    let is_on = |node: usize| layout.nodes[node].things.iter().any(|thing| scope.on.contains(&sides[*thing]));
    let links = layout.links.iter().map(|(from, to)| PictureLink {
        path: path(seats[*from], seats[*to], grid.node),
        on: is_on(*from) && is_on(*to),
    });
    let nodes = layout.nodes.iter().zip(&seats).map(|(node, seat)| {
        let sides: Vec<Side> = node.things.iter().map(|thing| sides[*thing]).collect();
        fit(PictureNode { x: seat.0, y: seat.1, width: grid.node, ..node_of(scope, &sides) })
    });
    Some(Picture {
        label,
        width: (grid.x(layout.columns.len()) - grid.pitch + grid.node + 2).max(WIDTH),
        height: TOP + PITCH * u32::try_from(layout.rows).unwrap_or(1),
        stages: stages(&layout, &grid),
        nodes: nodes.collect(),
        links: links.collect(),
    })
}

/// One name over the columns of a stage.
fn stages(layout: &Layout, grid: &Grid) -> Vec<PictureStage> {
    let mut named = Vec::new();
    for (column, stage) in layout.columns.iter().enumerate() {
        if column == 0 || layout.columns[column - 1] != *stage {
            named.push(PictureStage { x: grid.x(column), name: stage.word().to_owned() });
        }
    }
    named
}

/// Each column stands in the middle of the tallest one.
fn seat(layout: &Layout, grid: &Grid, node: &Placed) -> (u32, u32) {
    let own = layout.nodes.iter().filter(|other| other.column == node.column).count();
    let px = |half_rows: usize| PITCH / 2 * u32::try_from(half_rows).unwrap_or_default();
    (grid.x(node.column), TOP + px(layout.rows - own) + px(node.row * 2))
}

fn path(from: (u32, u32), to: (u32, u32), width: u32) -> String {
    let (start, end) = (from.0 + width - 2, to.0 + 2);
    let (y, to_y) = (from.1 + NODE_HEIGHT / 2, to.1 + NODE_HEIGHT / 2);
    let middle = u32::midpoint(start, end);
    format!("M{start} {y}C{middle} {y} {middle} {to_y} {end} {to_y}")
}

/// A side of the trace as the layout sorts it.
fn thing(scope: &Scope, side: Side) -> Thing {
    let keep = matches!(side, Side::Lot(lot) if scope.here.contains(&lot)) || scope.on.contains(&side);
    match side {
        Side::Account(Account::Customer, party) => {
            let name = scope.names.party(party, "over the counter");
            Thing { stage: Stage::Customer, sort: "customers".into(), order: name.to_lowercase(), keep }
        }
        Side::Account(_, party) => {
            let name = scope.names.party(party, "supplier");
            Thing { stage: Stage::Supplier, sort: "suppliers".into(), order: name.to_lowercase(), keep }
        }
        Side::Lot(lot) => {
            let Some(known) = scope.names.lots.get(&lot) else {
                return Thing { stage: Stage::Cut, sort: String::new(), order: lot.to_string(), keep };
            };
            let came_in =
                scope.links.keys().any(|(from, to)| *to == side && matches!(from, Side::Account(..)));
            // Codes sort by age only as codes: as text, number 100 stands before 99.
            let code = &known.code;
            let order =
                format!("{} {:05} {:05}", code.day(), code.number(), code.piece_number().unwrap_or(0));
            Thing { stage: stage(known, came_in), sort: known.item_name.clone(), order, keep }
        }
    }
}

fn stage(lot: &Known, came_in: bool) -> Stage {
    match lot.form {
        Form::Mix => Stage::Batch,
        Form::Piece => Stage::Piece,
        Form::Pack => Stage::Pack,
        Form::Carcass | Form::Side | Form::Ingredient | Form::Casing => Stage::Received,
        _ if came_in => Stage::Received,
        _ => Stage::Cut,
    }
}

/// What stands in a node, before it is known what fits.
fn node_of(scope: &Scope, sides: &[Side]) -> PictureNode {
    match sides {
        [Side::Lot(lot)] => match scope.names.lots.get(lot) {
            Some(known) => lot_node(scope, known),
            None => PictureNode::default(),
        },
        [side @ Side::Account(account, party)] => PictureNode {
            href: address(*side),
            head: scope
                .names
                .party(*party, if *account == Account::Customer { "Over the counter" } else { "Supplier" }),
            weight: scope.me.shop.weight(passed(scope, sides)),
            ..PictureNode::default()
        },
        several => folded(scope, several),
    }
}

fn lot_node(scope: &Scope, lot: &Known) -> PictureNode {
    let share = scope.share(lot.id).map(|(_, percent)| format!("{} of it", percent.text()));
    let more = [share.unwrap_or_default(), lot.ear_tag.clone(), lot.item_name.clone()];
    let more: Vec<String> = more.into_iter().filter(|text| !text.is_empty()).collect();
    let class = match () {
        () if scope.here.contains(&lot.id) => "here",
        () if lot.held => "held",
        () if lot.grams.is_zero() => "gone",
        () => "",
    };
    PictureNode {
        class,
        href: address(Side::Lot(lot.id)),
        head: lot.code.to_string(),
        coded: true,
        weight: scope.me.shop.weight(scope.weight(lot.id)),
        beneath: more.join(", "),
        ..PictureNode::default()
    }
}

/// What a party gave or got on the ways that are drawn.
fn passed(scope: &Scope, sides: &[Side]) -> Grams {
    let ends = scope.links.iter().filter(|((from, to), _)| sides.contains(from) || sides.contains(to));
    crate::trace::parts::grams(ends.map(|(_, weight)| *weight).sum())
}

fn folded(scope: &Scope, sides: &[Side]) -> PictureNode {
    let lots: Vec<&Known> = sides
        .iter()
        .filter_map(|side| match side {
            Side::Lot(lot) => scope.names.lots.get(lot),
            Side::Account(..) => None,
        })
        .collect();
    let head = match (lots.first(), sides.first()) {
        (Some(first), _) => {
            let form = lots.iter().all(|lot| lot.form == first.form).then_some(first.form);
            counted(sides.len(), form)
        }
        (None, Some(Side::Account(Account::Customer, _))) => format!("{} customers", sides.len()),
        (None, _) => format!("{} suppliers", sides.len()),
    };
    let one_kind = lots.first().filter(|first| lots.iter().all(|lot| lot.item_name == first.item_name));
    let weight = if lots.is_empty() {
        passed(scope, sides)
    } else {
        lots.iter().map(|lot| scope.weight(lot.id)).sum()
    };
    PictureNode {
        class: "folded",
        href: "#list".into(),
        head,
        weight: scope.me.shop.weight(weight),
        beneath: one_kind.map_or_else(|| "several kinds".into(), |lot| lot.item_name.clone()),
        ..PictureNode::default()
    }
}

/// Moves what has no room beside the head to the second line, and shortens what has none there.
fn fit(mut node: PictureNode) -> PictureNode {
    let chars = |text: &str| u32::try_from(text.chars().count()).unwrap_or(1000);
    let room = node.width - PADDING;
    // The mono cut takes 9.8 px a letter at 16 px; the sans about 7.6 at 15 px and 7 at 14 px.
    let head = if node.coded { chars(&node.head) * 98 / 10 } else { chars(&node.head) * 80 / 10 };
    if head + 10 + chars(&node.weight) * 76 / 10 > room {
        let rest = if node.beneath.is_empty() { String::new() } else { format!(", {}", node.beneath) };
        node.beneath = format!("{}{rest}", node.weight);
        node.weight = String::new();
    }
    if !node.coded {
        node.head = shortened(&node.head, room / 8);
    }
    node.beneath = shortened(&node.beneath, room / 7);
    node
}

fn shortened(text: &str, room: u32) -> String {
    let room = usize::try_from(room).unwrap_or(usize::MAX);
    if text.chars().count() <= room {
        return text.to_owned();
    }
    let cut: String = text.chars().take(room.saturating_sub(1)).collect();
    format!("{}…", cut.trim_end_matches([' ', ',']))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seven_stages_still_have_room_for_a_code() {
        let grid = Grid::of(7);
        let node = fit(PictureNode {
            width: grid.node,
            head: "26329-02.05".into(),
            coded: true,
            weight: "1.742 kg".into(),
            beneath: "cured collar, chamber 2".into(),
            ..PictureNode::default()
        });
        assert_eq!((node.weight.as_str(), node.beneath.as_str()), ("", "1.742 kg, cured c…"));
    }

    #[test]
    fn where_there_is_room_the_weight_stands_beside_the_code() {
        let node = fit(PictureNode {
            width: Grid::of(4).node,
            head: "26329-02.05".into(),
            coded: true,
            weight: "1.74 kg".into(),
            ..PictureNode::default()
        });
        assert_eq!(node.weight, "1.74 kg");
    }
}
