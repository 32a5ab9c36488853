//! The tables of a batch, on its page and on its cure sheet.

use crate::batches::db::{TakenMeat, WeighedIngredient};
use crate::batches::entry::{LineStanding, Standing, Verdict, judge};
use crate::measure::{Grams, Percent};
use crate::web::Shop;
use crate::web::parts::State;

/// Meat that was taken.
pub struct MeatRow {
    pub href: String,
    pub code: String,
    pub name: String,
    pub weight: String,
    pub share: String,
    /// The piece that it became; empty where it went into a mix.
    pub piece: String,
    pub origin: String,
    pub initials: String,
}

/// An ingredient, with every weighing of it.
pub struct IngredientRow {
    pub n: u16,
    pub name: String,
    pub role: &'static str,
    pub target: String,
    pub tolerance: String,
    pub weighed: String,
    pub of_meat: String,
    /// "26320-01, 26321-04"
    pub lots: String,
    pub reason: String,
    pub state: State,
    pub initials: String,
    pub open: bool,
    /// The pages that strike its weighings, the last one first; empty for who may not.
    pub strikes: Vec<String>,
}

/// A piece of the batch.
pub struct PieceRow {
    pub href: String,
    pub code: String,
    pub green: String,
    pub weight: String,
    pub loss: String,
    pub state: State,
}

/// `origin` says where a lot came from.
pub fn meat_rows(
    shop: &Shop,
    batch: &Standing,
    meat: &[TakenMeat],
    origin: impl Fn(&TakenMeat) -> String,
) -> Vec<MeatRow> {
    let row = |taken: &TakenMeat| MeatRow {
        href: taken.lot.path(),
        code: taken.code.to_string(),
        name: taken.item_name.clone(),
        weight: shop.weight(taken.grams),
        share: Percent::of(taken.grams, batch.meat).text(),
        piece: taken.piece.map(|code| code.to_string()).unwrap_or_default(),
        origin: origin(taken),
        initials: taken.initials.clone().unwrap_or_default(),
    };
    meat.iter().map(row).collect()
}

pub fn ingredient_rows(
    shop: &Shop,
    batch: &Standing,
    weighed: &[WeighedIngredient],
    may_strike: bool,
) -> Vec<IngredientRow> {
    let row = |line: &LineStanding| {
        let own: Vec<_> = weighed.iter().filter(|one| i32::from(one.line) == i32::from(line.n)).collect();
        let said = |text: &dyn Fn(&WeighedIngredient) -> String| {
            let mut all: Vec<String> =
                own.iter().map(|one| text(one)).filter(|one| !one.is_empty()).collect();
            all.dedup();
            all.join(", ")
        };
        let state = line_state(shop, line);
        IngredientRow {
            n: line.n,
            name: line.line.item.name.clone(),
            role: line.line.role.word(),
            target: shop.weight(line.target),
            tolerance: format!("±\u{a0}{}\u{a0}%", line.line.tolerance),
            weighed: if own.is_empty() { String::new() } else { shop.weight(line.weighed) },
            of_meat: if own.is_empty() || batch.meat.is_zero() {
                String::new()
            } else {
                Percent::of(line.weighed, batch.meat).text_places(2)
            },
            lots: said(&|one| one.code.map_or_else(|| "from the main".into(), |code| code.to_string())),
            reason: said(&|one| one.reason.clone()),
            strikes: if may_strike {
                own.iter().rev().map(|one| format!("/entries/{}/strike", one.seq)).collect()
            } else {
                Vec::new()
            },
            open: state.mark == "due",
            state,
            initials: said(&|one| one.initials.clone().unwrap_or_default()),
        }
    };
    batch.ingredients().map(row).collect()
}

/// How a line stands to its target, for the meat that is in now.
fn line_state(shop: &Shop, line: &LineStanding) -> State {
    if line.weighed.is_zero() {
        return State::new("due", "to weigh");
    }
    match judge(line.weighed, line.target, line.line.tolerance, shop.small_division) {
        Verdict::Within => State::new("met", "within"),
        Verdict::Outside if line.explained => State::new("late", "outside, signed with its reason"),
        Verdict::Outside if line.weighed < line.target => {
            State::new("due", format!("{} to go", shop.weight(line.target - line.weighed)))
        }
        Verdict::Outside => State::new("out", "too much for the meat that is in"),
    }
}

pub fn piece_rows(shop: &Shop, batch: &Standing) -> Vec<PieceRow> {
    let row = |piece: &crate::batches::entry::PieceStanding| PieceRow {
        href: piece.lot.id.path(),
        code: piece.lot.code.to_string(),
        green: shop.weight(piece.green),
        weight: shop.weight(piece.lot.grams),
        loss: lost(piece.green, piece.lot.grams),
        state: if piece.lot.held.is_some() {
            State::new("held", "on hold")
        } else if piece.lot.grams.is_zero() {
            State::new("gone", "nothing left")
        } else if piece.released {
            State::new("met", "released")
        } else {
            State::new("wait", "not for sale")
        },
    };
    batch.pieces.iter().map(row).collect()
}

/// "35.2 %", or "gain 2.1 %" of a piece that holds its cure or its brine.
pub fn lost(green: Grams, now: Grams) -> String {
    if now > green {
        return format!("gain {}", Percent::of(now - green, green).text());
    }
    Percent::of(green - now, green).text()
}
