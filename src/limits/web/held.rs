//! A figure beside the limit that it is held against, and how much room is left, ready to print.

use rust_decimal::{Decimal, RoundingStrategy};

use crate::limits::entry::band;
use crate::limits::held::{Judged, Own};
use crate::measure::Ppm;
use crate::standards::ingoing::{Brings, GoesIn};
use crate::standards::limits::{Base, Limit, Stands, StatedAs};
use crate::web::parts::State;

/// A cure as it is called where the room for it is said.
#[derive(Debug, Clone)]
pub struct CureOf {
    pub name: String,
    pub brings: Brings,
}

/// One figure with its limit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeldRow {
    /// "Nitrite, comminuted"
    pub name: String,
    /// "156 ppm"
    pub figure: String,
    /// "of the meat block, the salt as weighed"
    pub base: String,
    /// "at most 156.25 ppm"
    pub band: String,
    /// "30 ppm, 0.48 g of curing salt to 1 kg of meat"; empty where none is left or none is asked.
    pub room: String,
    pub state: State,
    pub citation: String,
    /// The source's own words; may be empty.
    pub said: String,
    pub formula: &'static str,
    /// What marks it as the shop's own; empty for an adopted one.
    pub own: String,
    /// Its own page.
    pub href: String,
}

/// What is over a limit, in one sentence without its stop: how much would go in, and how much is the most.
pub fn over(one: &Judged<'_>) -> String {
    let limit = &one.held.limit;
    format!(
        "{}: {} ppm would go in, and {} ppm is the most ({})",
        limit.name,
        shown(one.figure.exact(), limit),
        limit.most.unwrap_or_default(),
        limit.citation
    )
}

/// The rows of what was judged. `meat` is in the unit of the weights that went into the figures.
pub fn held_rows(judged: &[Judged<'_>], goes_in: &GoesIn, cures: &[CureOf], meat: Decimal) -> Vec<HeldRow> {
    judged.iter().map(|one| row(one, goes_in, cures, meat)).collect()
}

fn row(one: &Judged<'_>, goes_in: &GoesIn, cures: &[CureOf], meat: Decimal) -> HeldRow {
    let limit = &one.held.limit;
    let exact = one.figure.exact();
    let base = if limit.base == Base::ByMethod { goes_in.way().base() } else { limit.base };
    HeldRow {
        name: limit.name.clone(),
        figure: format!("{}\u{a0}ppm", shown(exact, limit)),
        base: format!("{}, {}", base.words(), stated(limit.stated)),
        band: match limit.required {
            Some(required) if limit.most.is_some() => {
                format!("{required}\u{a0}ppm required, {}", band(limit))
            }
            _ => band(limit),
        },
        room: room(one, goes_in, cures, meat),
        state: state(one.stands),
        citation: limit.citation.clone(),
        said: limit.said.clone(),
        formula: goes_in.way().formula(),
        own: one.held.own.as_ref().map(owned).unwrap_or_default(),
        href: one
            .held
            .own
            .as_ref()
            .map_or_else(|| format!("/limits/rows/{}", limit.key), |own| own.id.path()),
    }
}

fn owned(own: &Own) -> String {
    if own.instead_of.is_empty() {
        format!("the shop's own: {}", own.reason)
    } else {
        format!("the shop's own, looser than the adopted limit: {}; {}", own.reason, own.document)
    }
}

fn state(stands: Stands) -> State {
    match stands {
        Stands::Within => State::new("met", "within"),
        Stands::Below => State::new("late", "below the minimum"),
        Stands::Over => State::new("out", "over the limit"),
    }
}

fn stated(stated: StatedAs) -> String {
    match stated {
        StatedAs::Weighed => "by the weight of the salt".into(),
        other => format!("as {}", other.word()),
    }
}

/// Whole ppm, or with as many decimals as it takes not to stand on the other side of an end than the figure does.
pub fn shown(exact: Decimal, limit: &Limit) -> String {
    let sides = |figure: Decimal| {
        let over = limit.most.is_some_and(|most| figure > most.decimal());
        let under = limit.least.is_some_and(|least| figure < least.decimal());
        (over, under)
    };
    let places = |places: u32| exact.round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero);
    let told = (0..=12).map(places).find(|rounded| sides(*rounded) == sides(exact));
    let figure = told.unwrap_or(exact).normalize();
    if figure.scale() == 0 {
        Ppm::new(figure).text().trim_end_matches("ppm").trim().to_owned()
    } else {
        figure.to_string()
    }
}

/// What is left up to the most, or what is too much, in ppm and in grams of each cure to 1 kg of meat.
fn room(one: &Judged<'_>, goes_in: &GoesIn, cures: &[CureOf], meat: Decimal) -> String {
    let limit = &one.held.limit;
    let Some(most) = limit.most else { return String::new() };
    let left = most.decimal() - one.figure.exact();
    let over = one.stands == Stands::Over;
    // What is left is rounded down, what is too much is rounded up: to act on it is to be within.
    let strategy = if over { RoundingStrategy::AwayFromZero } else { RoundingStrategy::ToZero };
    let ppm = left.abs().round_dp_with_strategy(1, strategy).normalize();
    let grams = |cure: &CureOf| {
        let too_much = goes_in.too_much_of(cure.brings, limit.substance, limit.stated, limit.base, most)?;
        let grams =
            (too_much.abs() * Decimal::ONE_THOUSAND / meat).round_dp_with_strategy(2, strategy).normalize();
        Some(format!("{grams}\u{a0}g of {} to 1\u{a0}kg of meat", cure.name))
    };
    let mut parts = vec![format!("{ppm}\u{a0}ppm")];
    parts.extend(cures.iter().filter_map(grams));
    let said = parts.join(", or ");
    if over { format!("too much by {said}") } else { format!("room for {said}") }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;
    use crate::limits::held::{Held, judge};
    use crate::measure::Percent;
    use crate::standards::ingoing::{Curing, Put};
    use crate::standards::limits::{Jurisdiction, Product, Way, shipped};

    fn rows(cure: Decimal) -> Vec<HeldRow> {
        let all: Vec<Held> = shipped(Jurisdiction::UnitedStates)
            .expect("a list that reads")
            .limits
            .into_iter()
            .filter(|limit| !limit.waits())
            .map(|limit| Held { limit, own: None })
            .collect();
        let brings = Brings { nitrite: Percent::new(dec!(6.25)), ..Brings::NOTHING };
        let put = Put { weight: cure, brings };
        let goes_in = GoesIn::new(Curing::plain(Way::Comminuted), dec!(1000), &[put], None).expect("figures");
        let cures = [CureOf { name: "curing salt".into(), brings }];
        held_rows(&judge(&all, Product::Other, &goes_in), &goes_in, &cures, dec!(1000))
    }

    #[test]
    fn the_room_that_is_left_is_said_in_ppm_and_in_grams_of_the_cure() {
        let row = &rows(dec!(2.4))[0];
        assert_eq!(row.figure.replace('\u{a0}', " "), "150 ppm");
        assert_eq!(
            row.room.replace('\u{a0}', " "),
            "room for 6.2 ppm, or 0.1 g of curing salt to 1 kg of meat"
        );
    }

    #[test]
    fn a_figure_over_its_limit_never_prints_as_one_at_it() {
        let row = &rows(dec!(2.501))[0];
        assert_eq!((row.figure.replace('\u{a0}', " ").as_str(), row.state.mark), ("156.3 ppm", "out"));
        let row = &rows(dec!(2.5000001))[0];
        assert_eq!((row.figure.replace('\u{a0}', " ").as_str(), row.state.mark), ("156.3 ppm", "out"));
        assert_eq!(rows(dec!(2.5))[0].state.mark, "met");
    }
}
