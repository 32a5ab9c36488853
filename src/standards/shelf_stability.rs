//! Whether a food needs time and temperature control for safety (TCS), by its measured water activity and pH together: FDA
//! Food Code 2022, 1-201.10, interaction tables A and B. What a table does not answer needs a product assessment and is
//! kept cold until it has one. Local codes adopt the tables in their own editions; the regulator has the last word.

use crate::measure::{Ph, WaterActivity};

/// What a table says of a food.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cell {
    /// It is no TCS food by the interaction of its water activity and its pH.
    NonTcs,
    /// A product assessment is needed; until then it is treated as a TCS food.
    Assessment,
}

impl Cell {
    /// As the tables print it.
    pub fn words(self) -> &'static str {
        match self {
            Self::NonTcs => "non-TCS",
            Self::Assessment => "product assessment",
        }
    }
}

/// Table A: heat-treated to destroy vegetative cells, and packaged after.
pub fn table_a(aw: WaterActivity, ph: Ph) -> Cell {
    let row = if aw <= WaterActivity::thousandths(920) {
        0
    } else if aw <= WaterActivity::thousandths(950) {
        1
    } else {
        2
    };
    let column = if ph <= Ph::hundredths(460) {
        0
    } else if ph <= Ph::hundredths(560) {
        1
    } else {
        2
    };
    // What must still be assessed lies beyond the diagonal of the table.
    if row + column <= 2 { Cell::NonTcs } else { Cell::Assessment }
}

/// Table B: not heat-treated, or heat-treated and not packaged. The one for what is dry cured or fermented.
pub fn table_b(aw: WaterActivity, ph: Ph) -> Cell {
    let row = if aw < WaterActivity::thousandths(880) {
        0
    } else if aw <= WaterActivity::thousandths(900) {
        1
    } else if aw <= WaterActivity::thousandths(920) {
        2
    } else {
        3
    };
    let column = if ph < Ph::hundredths(420) {
        0
    } else if ph <= Ph::hundredths(460) {
        1
    } else if ph <= Ph::hundredths(500) {
        2
    } else {
        3
    };
    if row == 0 || row + column <= 3 { Cell::NonTcs } else { Cell::Assessment }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn drier_and_more_acid_never_needs_more_control(
            aw in 0_u16..=1000, ph in 0_u16..=1400, drier in 0_u16..=300, sourer in 0_u16..=300
        ) {
            for table in [table_a, table_b] {
                let here = table(WaterActivity::thousandths(aw), Ph::hundredths(ph));
                let better = table(
                    WaterActivity::thousandths(aw.saturating_sub(drier)),
                    Ph::hundredths(ph.saturating_sub(sourer)),
                );
                prop_assert!(here == Cell::Assessment || better == Cell::NonTcs);
            }
        }
    }
}
