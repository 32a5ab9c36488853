//! The balance of a breakdown: taken in, weighed out, still on the block; the bar of what the source has become.

use rust_decimal::Decimal;

use super::super::db::{Expected, Weighed};
use super::super::entry::OnTheBlock;
use crate::ids::ItemId;
use crate::measure::{Grams, Percent, UnitSystem, WeightUnit};
use crate::web::Shop;
use crate::web::parts::{Figure, MassBar, Share};

/// The grams of a breakdown, added up.
#[derive(Debug, Clone, Copy)]
pub struct Balance {
    pub taken_in: Grams,
    /// Negative where it was missing.
    pub found: Grams,
    pub out: Grams,
    /// Still on the block, or the cutting loss once it is closed.
    pub left: Grams,
    pub closed: bool,
}

impl Balance {
    /// `loss`: none while it is open.
    pub fn of(block: &OnTheBlock, cuts: &[Weighed], loss: Option<Grams>) -> Self {
        Self {
            taken_in: block.taken_in,
            found: block.found,
            out: cuts.iter().map(|cut| cut.grams).sum(),
            left: loss.unwrap_or(block.source.grams),
            closed: block.closed,
        }
    }

    /// So much of what was taken in.
    pub fn share(&self, grams: Grams) -> Percent {
        Percent::of(grams, self.taken_in)
    }
}

/// To the gram, or to a hundredth of a pound: for where a yield is read.
pub fn exact(shop: &Shop, grams: Grams) -> String {
    let (unit, places) = match shop.system {
        UnitSystem::Metric if grams.abs() < Grams::whole(1_000) => return shop.weight(grams),
        UnitSystem::Metric => (WeightUnit::Kilogram, 3),
        UnitSystem::Us => (WeightUnit::Pound, 2),
    };
    // A true minus sign is as wide as a plus and does not break from its figure.
    let sign = if grams.is_negative() { "\u{2212}" } else { "" };
    let size = grams.abs().in_unit(unit);
    let size = size.round_dp_with_strategy(places, rust_decimal::RoundingStrategy::MidpointAwayFromZero);
    format!("{sign}{size:.*} {}", places as usize, unit.symbol())
}

/// The figures above the bar.
pub fn figures(shop: &Shop, balance: &Balance, expected: &[Expected], cuts: &[Weighed]) -> Vec<Figure> {
    let figure = |name: &str, grams: Grams| {
        let (value, unit) = grams.figure(shop.system);
        Figure::new(name, value, unit)
    };
    let count = if cuts.len() == 1 { "1 cut".to_owned() } else { format!("{} cuts", cuts.len()) };
    let (_, other) = balance.taken_in.both(shop.system);
    let mut all = vec![figure("Taken in", balance.taken_in).beneath(other)];
    if !balance.found.is_zero() {
        let name = if balance.found.is_negative() { "Missing" } else { "Found" };
        let share = balance.share(balance.found.abs()).text_places(2);
        all.push(figure(name, balance.found.abs()).beneath(share));
    }
    all.push(
        figure("Weighed out", balance.out)
            .beneath(format!("{} in {count}", balance.share(balance.out).text())),
    );
    let left = if balance.closed {
        let shown = figure("Cutting loss", balance.left);
        let share = balance.share(balance.left).text_places(2);
        let exactly = exact(shop, balance.left);
        let same = exactly == format!("{} {}", shown.value, shown.unit);
        shown.beneath(if same { share } else { format!("{share}, exactly {exactly}") })
    } else {
        figure("Still on the block", balance.left).beneath(format!(
            "{}{}",
            balance.share(balance.left).text(),
            still_to_come(expected, cuts)
        ))
    };
    all.push(left.chief());
    all
}

fn still_to_come(expected: &[Expected], cuts: &[Weighed]) -> String {
    if expected.is_empty() {
        return String::new();
    }
    let to_come: Percent = expected
        .iter()
        .filter(|cut| cuts.iter().all(|weighed| weighed.item != cut.item))
        .map(|cut| cut.share)
        .sum();
    format!(", the list still expects {}", to_come.text())
}

/// The grams of each sort of cut, in the order in which they were first weighed.
pub fn by_cut(cuts: &[Weighed]) -> Vec<(ItemId, &str, Grams)> {
    let mut kinds: Vec<(ItemId, &str, Grams)> = Vec::new();
    for cut in cuts {
        match kinds.iter_mut().find(|(item, _, _)| *item == cut.item) {
            Some((_, _, grams)) => *grams += cut.grams,
            None => kinds.push((cut.item, &cut.item_name, cut.grams)),
        }
    }
    kinds
}

/// One share for each sort of cut; the loss and what is missing as such. Places are shares of everything in the bar,
/// figures are shares of what was taken in.
pub fn mass_bar(shop: &Shop, balance: &Balance, cuts: &[Weighed]) -> MassBar {
    let missing = if balance.found.is_negative() { balance.found.abs() } else { Grams::ZERO };
    let whole = balance.out + balance.left + missing;
    let mut bar = Bar { shop, balance, whole, start: Grams::ZERO, nr: 0 };
    let mut shares: Vec<Share> =
        by_cut(cuts).into_iter().map(|(_, name, grams)| bar.share(name, grams, "")).collect();
    if missing.is_positive() {
        shares.push(bar.share("missing", missing, "loss"));
    }
    if balance.closed && balance.left.is_positive() {
        shares.push(bar.share("cutting loss", balance.left, "loss"));
    }
    let left = (!balance.closed).then(|| bar.share("on the block", balance.left, ""));
    let said: Vec<String> = shares.iter().chain(&left).map(|s| format!("{} {}", s.name, s.weight)).collect();
    MassBar { label: format!("Shares of the source by weight: {}", said.join(", ")), shares, left }
}

struct Bar<'a> {
    shop: &'a Shop,
    balance: &'a Balance,
    whole: Grams,
    start: Grams,
    nr: usize,
}

impl Bar<'_> {
    fn share(&mut self, name: &str, grams: Grams, kind: &'static str) -> Share {
        let place = |grams: Grams| Percent::of(grams, self.whole);
        let share = Share {
            nr: self.nr + 1,
            name: name.to_owned(),
            weight: self.shop.weight(grams),
            percent: self.balance.share(grams).text(),
            fits: Share::room(name, place(grams)),
            start: place(self.start).decimal().to_string(),
            width: place(grams).decimal().to_string(),
            kind,
            ..Share::default()
        };
        self.nr += 1;
        self.start += grams;
        share
    }
}

/// `+1.2`, `−0.4`, `0.0`: the difference between two shares, in points.
pub fn points(difference: Percent) -> String {
    let text = difference.text_places(1);
    let figure = text.trim_end_matches(['%', ' ']);
    let more = difference.decimal() > Decimal::ZERO && figure != "0.0";
    format!("{}{figure}", if more { "+" } else { "" })
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;

    #[test]
    fn points_say_more_or_less_and_nothing_of_nothing() {
        for (difference, says) in
            [(dec!(1.24), "+1.2"), (dec!(-0.4), "\u{2212}0.4"), (dec!(0.02), "0.0"), (dec!(0), "0.0")]
        {
            assert_eq!(points(Percent::new(difference)), says);
        }
    }
}
