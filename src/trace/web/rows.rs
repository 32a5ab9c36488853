//! The trace as lines: the two trees.

use std::collections::BTreeSet;

use super::Scope;
use crate::book::{Account, Form, Side};
use crate::trace::db::Sort;
use crate::trace::parts;
use crate::web::parts::{State, TreeRow};

/// The most rows of one tree. The table of everything and its file have them all.
const MOST: usize = 300;

/// Which way a tree reads.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Way {
    Back,
    Forward,
}

/// The page of a side's own trace.
pub fn address(side: Side) -> String {
    match side {
        Side::Lot(lot) => format!("/trace/lots/{lot}"),
        Side::Account(Account::Customer, Some(party)) => format!("/trace/customers/{party}"),
        Side::Account(Account::Supplier, Some(party)) => Sort::Supplier.path(&party.to_string()),
        Side::Account(..) => String::new(),
    }
}

/// "14 pieces"
pub fn counted(count: usize, form: Option<Form>) -> String {
    let word = match form {
        Some(Form::Carcass) => "carcasses",
        Some(Form::Side) => "sides",
        Some(Form::Primal) => "primals",
        Some(Form::Cut) => "cuts",
        Some(Form::Mix) => "batches",
        Some(Form::Piece) => "pieces",
        Some(Form::Pack) => "packs",
        Some(Form::Ingredient) => "ingredients",
        Some(Form::Casing) => "casings",
        _ => "lots",
    };
    format!("{count} {word}")
}

/// A tree from these lots on, each step one level further in. What was shown before is not unfolded again.
pub fn tree(scope: &Scope, way: Way) -> Vec<TreeRow> {
    let mut walk = Walk { scope, way, rows: Vec::new(), seen: BTreeSet::new() };
    for lot in scope.here {
        walk.visit(Side::Lot(*lot), 0, None);
    }
    let Walk { mut rows, .. } = walk;
    if rows.len() >= MOST {
        let note = "The table of everything has the rest.".to_owned();
        rows.push(TreeRow { name: "And more".into(), note, ..TreeRow::default() });
    }
    TreeRow::nest(&mut rows);
    rows
}

struct Walk<'a> {
    scope: &'a Scope<'a>,
    way: Way,
    rows: Vec<TreeRow>,
    seen: BTreeSet<Side>,
}

impl Walk<'_> {
    fn visit(&mut self, side: Side, depth: usize, weight: Option<i128>) {
        if self.rows.len() >= MOST {
            return;
        }
        let again = !self.seen.insert(side);
        let mut row = self.row(side, weight);
        row.depth = depth;
        let next = self.next(side);
        if again && !next.is_empty() {
            row.note = "shown above".into();
        }
        self.rows.push(row);
        if !again {
            for (side, weight) in next {
                self.visit(side, depth + 1, Some(weight));
            }
        }
    }

    /// The sides one step further, in the order of their codes.
    fn next(&self, side: Side) -> Vec<(Side, i128)> {
        let links = self.scope.links.iter().filter_map(|((from, to), weight)| match self.way {
            Way::Forward if *from == side => Some((*to, *weight)),
            Way::Back if *to == side => Some((*from, *weight)),
            _ => None,
        });
        let mut next: Vec<(Side, i128)> = links.collect();
        next.sort_by_key(|(side, _)| match side {
            Side::Lot(lot) => (0, self.scope.names.lots.get(lot).map(|lot| lot.code), String::new()),
            Side::Account(_, party) => (1, None, self.scope.names.party(*party, "")),
        });
        next
    }

    fn row(&self, side: Side, weight: Option<i128>) -> TreeRow {
        let shop = &self.scope.me.shop;
        let said = weight.map(|weight| shop.weight(parts::grams(weight)));
        match side {
            Side::Account(account, party) => {
                let otherwise = if account == Account::Customer { "over the counter" } else { "supplier" };
                TreeRow {
                    href: address(side),
                    name: self.scope.names.party(party, otherwise),
                    weight: said.unwrap_or_default(),
                    ..TreeRow::default()
                }
            }
            Side::Lot(lot) => match self.scope.names.lots.get(&lot) {
                None => TreeRow::default(),
                Some(known) => TreeRow {
                    here: self.scope.here.contains(&lot),
                    href: address(side),
                    code: known.code.to_string(),
                    name: known.item_name.clone(),
                    weight: said.unwrap_or_else(|| shop.weight(self.scope.weight(lot))),
                    note: self.note(lot),
                    state: known.held.then(|| State::new("held", "on hold")),
                    ..TreeRow::default()
                },
            },
        }
    }

    /// Forward: the share, and what is left of it where. Back: the marks it came in with.
    fn note(&self, lot: crate::ids::LotId) -> String {
        let scope = self.scope;
        let Some(known) = scope.names.lots.get(&lot) else { return String::new() };
        let mut notes = Vec::new();
        if !known.ear_tag.is_empty() {
            notes.push(format!("ear tag {}", known.ear_tag));
        }
        if !known.supplier_lot.is_empty() {
            notes.push(format!("supplier lot {}", known.supplier_lot));
        }
        if self.way == Way::Forward {
            if let Some((grams, percent)) = scope.share(lot) {
                let whole = scope.me.shop.weight(scope.weight(lot));
                notes.push(format!(
                    "{} of {whole}, a share of {}",
                    scope.me.shop.weight(grams),
                    percent.text()
                ));
            }
            notes.push(left(scope, known));
        }
        notes.join(", ")
    }
}

/// "2.95 kg in chamber 1", "nothing left"
pub fn left(scope: &Scope, lot: &crate::trace::db::Known) -> String {
    if lot.grams.is_zero() {
        return "nothing left".into();
    }
    let place = if lot.place_name.is_empty() { String::new() } else { format!(" in {}", lot.place_name) };
    format!("{}{place}", scope.me.shop.weight(lot.grams))
}
