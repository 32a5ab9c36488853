//! Where a food stands in the published tables of what may be kept without cold. The tables say "non-TCS" (no time and
//! temperature control for safety needed) or ask for a product assessment, until which it is kept cold. That is the table's word
//! and not more: a process authority and the regulator decide.

use rust_decimal::{Decimal, dec};

use super::mark::{Held, Mark, cut_off};
use crate::measure::{Ph, WaterActivity};

/// What stands on every page about these tables.
pub const CAUTION: &str = "The tables say which of their cells a food falls into, and no more. Where a product assessment is \
    asked for, it is kept cold until that is done. A process authority and the shop's regulator decide.";

/// What a cell of the tables says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cell {
    NonTcs,
    Assessment,
}

impl Cell {
    pub const fn words(self) -> &'static str {
        match self {
            Self::NonTcs => "non-TCS",
            Self::Assessment => "product assessment",
        }
    }

    const fn of(non_tcs: bool) -> Self {
        if non_tcs { Self::NonTcs } else { Self::Assessment }
    }
}

/// Food Code 1-201.10, table A: heat-treated to destroy vegetative cells and then packaged.
pub fn table_a(aw: WaterActivity, ph: Ph) -> Cell {
    let (aw, ph) = (aw.decimal(), ph.decimal());
    Cell::of(if aw <= dec!(0.92) {
        true
    } else if aw <= dec!(0.95) {
        ph <= dec!(5.6)
    } else {
        ph <= dec!(4.6)
    })
}

/// Food Code 1-201.10, table B: not heat-treated, or heat-treated and not packaged; the one for dried salami and whole
/// muscle. Its columns are below 4.2, 4.2 to 4.6, above 4.6 to 5.0 and above 5.0; its rows below 0.88, 0.88 to 0.90, above
/// 0.90 to 0.92 and above 0.92.
pub fn table_b(aw: WaterActivity, ph: Ph) -> Cell {
    let (aw, ph) = (aw.decimal(), ph.decimal());
    Cell::of(if aw < dec!(0.88) {
        true
    } else if aw <= dec!(0.90) {
        ph <= dec!(5.0)
    } else if aw <= dec!(0.92) {
        ph <= dec!(4.6)
    } else {
        ph < dec!(4.2)
    })
}

/// Moisture to protein that the names of products stand for, most.
pub const MOISTURE_PROTEIN: [(&str, Decimal, Mark); 6] = [
    ("pepperoni", dec!(1.6), Mark::Read),
    ("hard or dry salami", dec!(1.9), Mark::Read),
    ("Genoa salami", dec!(2.3), Mark::Memory),
    ("summer sausage", dec!(3.1), Mark::Read),
    ("jerky", dec!(0.75), Mark::Read),
    ("dried beef", dec!(2.04), Mark::Read),
];

/// What was measured of a food; what was not is None.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Measured {
    pub aw: Option<WaterActivity>,
    pub ph: Option<Ph>,
    /// Moisture over protein.
    pub moisture_protein: Option<Decimal>,
}

/// Other published thresholds, and which of them the measured figures meet.
pub fn thresholds(measured: Measured) -> Vec<Held> {
    let aw = measured.aw.map(WaterActivity::decimal);
    let ph = measured.ph.map(Ph::decimal);
    let ratio = measured.moisture_protein;
    let found = measured.words();
    // Known as soon as what was measured decides it, whatever was not.
    let held = |what, needed, met: Option<bool>, source| {
        Held::new(what, needed, met.map(|met| (found.clone(), met)), source)
    };
    let aw_most = |most: Decimal| aw.map(|aw| aw <= most);
    let ph_most = |most: Decimal| ph.map(|ph| ph <= most);
    vec![
        held(
            "water activity alone",
            "aw not above 0.85",
            aw_most(dec!(0.85)),
            ("the limit of S. aureus toxin", Mark::Memory),
        ),
        held(
            "dry sausage by moisture and protein",
            "moisture to protein not above 1.9 to 1 (a labelling standard, no proof of shelf stability)",
            ratio.map(|ratio| ratio <= dec!(1.9)),
            ("FSIS Food Standards and Labeling Policy Book", Mark::Read),
        ),
        held(
            "semi-dry sausage by moisture and protein",
            "moisture to protein not above 3.1 to 1 with pH not above 5.0",
            both(ratio.map(|ratio| ratio <= dec!(3.1)), ph_most(dec!(5.0))),
            ("FSIS Food Standards and Labeling Policy Book", Mark::Read),
        ),
        held(
            "the older combination",
            "pH not above 5.2 with aw below 0.95, or pH below 5.0, or aw below 0.91",
            either(
                both(ph_most(dec!(5.2)), aw.map(|aw| aw < dec!(0.95))),
                either(ph.map(|ph| ph < dec!(5.0)), aw.map(|aw| aw < dec!(0.91))),
            ),
            ("Directive 77/99/EEC", Mark::Restated),
        ),
        held(
            "reduced oxygen packing without a variance",
            "aw not above 0.91 or pH not above 4.6, kept at 41 °F (5 °C) or below",
            either(aw_most(dec!(0.91)), ph_most(dec!(4.6))),
            ("FDA Food Code 3-502.12", Mark::Read),
        ),
        held(
            "no growth of Listeria expected",
            "pH not above 4.4, or aw not above 0.92, or pH not above 5.0 with aw not above 0.94",
            either(
                either(ph_most(dec!(4.4)), aw_most(dec!(0.92))),
                both(ph_most(dec!(5.0)), aw_most(dec!(0.94))),
            ),
            ("Regulation (EC) 2073/2005, annex I, chapter 1", Mark::Restated),
        ),
        held(
            "shelf-stable fermented, Canada",
            "pH not above 4.6, or aw not above 0.85, or pH not above 5.3 with aw not above 0.90",
            either(
                either(ph_most(dec!(4.6)), aw_most(dec!(0.85))),
                both(ph_most(dec!(5.3)), aw_most(dec!(0.90))),
            ),
            ("CFIA Meat Hygiene Manual, chapter 4, 4.16", Mark::Memory),
        ),
    ]
}

/// False as soon as one is false; unknown while one is.
fn both(one: Option<bool>, other: Option<bool>) -> Option<bool> {
    match (one, other) {
        (Some(false), _) | (_, Some(false)) => Some(false),
        (Some(true), Some(true)) => Some(true),
        _ => None,
    }
}

/// True as soon as one is true; unknown while one is.
fn either(one: Option<bool>, other: Option<bool>) -> Option<bool> {
    both(one.map(|one| !one), other.map(|other| !other)).map(|neither| !neither)
}

impl Measured {
    fn words(self) -> String {
        let ratio = self.moisture_protein.map(|ratio| format!("{} to 1", cut_off(ratio, 2)));
        let parts = [self.aw.map(WaterActivity::text), self.ph.map(Ph::text), ratio];
        parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::standards::mark::State;

    fn measured(aw: Option<u16>, ph: Option<u16>, ratio: Option<Decimal>) -> Vec<State> {
        let aw = aw.map(WaterActivity::thousandths);
        let ph = ph.map(Ph::hundredths);
        thresholds(Measured { aw, ph, moisture_protein: ratio }).into_iter().map(|held| held.state).collect()
    }

    #[test]
    fn each_threshold_is_met_exactly_at_it() {
        use State::{Failed, Met};
        let (at, of) = (measured, |states: &[State], n: usize| states[n]);
        assert_eq!((of(&at(Some(850), None, None), 0), of(&at(Some(851), None, None), 0)), (Met, Failed));
        let ratio = |text: &str, n| of(&at(None, Some(500), Some(text.parse().unwrap())), n);
        assert_eq!((ratio("1.9", 1), ratio("1.91", 1)), (Met, Failed));
        assert_eq!((ratio("3.1", 2), ratio("3.11", 2)), (Met, Failed));
        assert_eq!(of(&at(None, Some(501), Some(dec!(3.1))), 2), Failed);
        assert_eq!(
            (of(&at(Some(949), Some(520), None), 3), of(&at(Some(950), Some(520), None), 3)),
            (Met, Failed)
        );
        assert_eq!(
            (of(&at(Some(990), Some(499), None), 3), of(&at(Some(990), Some(500), None), 3)),
            (Met, Failed)
        );
        assert_eq!(
            (of(&at(Some(909), Some(600), None), 3), of(&at(Some(910), Some(600), None), 3)),
            (Met, Failed)
        );
        assert_eq!(
            (of(&at(Some(910), Some(600), None), 4), of(&at(Some(911), Some(600), None), 4)),
            (Met, Failed)
        );
        assert_eq!(
            (of(&at(Some(990), Some(460), None), 4), of(&at(Some(990), Some(461), None), 4)),
            (Met, Failed)
        );
        assert_eq!(
            (of(&at(Some(940), Some(500), None), 5), of(&at(Some(941), Some(500), None), 5)),
            (Met, Failed)
        );
        assert_eq!(
            (of(&at(Some(900), Some(530), None), 6), of(&at(Some(900), Some(531), None), 6)),
            (Met, Failed)
        );
    }

    #[test]
    fn what_is_not_measured_is_unknown_unless_the_rest_decides() {
        let aw_only = measured(Some(900), None, None);
        assert_eq!(
            aw_only,
            [
                State::Failed,
                State::Missing,
                State::Missing,
                State::Met,
                State::Met,
                State::Met,
                State::Missing
            ]
        );
        assert!(measured(None, None, None).iter().all(|state| *state == State::Missing));
    }

    proptest! {
        #[test]
        fn drier_and_sourer_is_never_worse(aw in 1_u16..1_000, ph in 1_u16..1_400, less in 0_u16..200, lower in 0_u16..200) {
            let (aw2, ph2) = (aw.saturating_sub(less), ph.saturating_sub(lower));
            for table in [table_a, table_b] {
                if table(WaterActivity::thousandths(aw), Ph::hundredths(ph)) == Cell::NonTcs {
                    prop_assert_eq!(table(WaterActivity::thousandths(aw2), Ph::hundredths(ph2)), Cell::NonTcs);
                }
            }
        }

        #[test]
        fn what_table_b_lets_go_table_a_lets_go_as_well(aw in 0_u16..=1_000, ph in 0_u16..=1_400) {
            let (aw, ph) = (WaterActivity::thousandths(aw), Ph::hundredths(ph));
            prop_assert!(table_b(aw, ph) == Cell::Assessment || table_a(aw, ph) == Cell::NonTcs);
        }
    }
}
