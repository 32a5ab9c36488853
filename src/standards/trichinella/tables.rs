//! Tables 3A, 3B, 4 and 5 with their rounding: days that are taken off round down, days that are added round up, the salt of
//! table 4 is cut off at a tenth. Nothing is interpolated. All from memory, to be confirmed.

use rust_decimal::{Decimal, RoundingStrategy, dec};

use super::freezing::inches;
use crate::measure::{Grams, Length};
use crate::standards::fahrenheit;

/// Table 3A, method 6: casing up to so many tenths of an inch, days in a drying room at 50 °F or more.
pub const TABLE_3A: [(u16, u16); 11] = [
    (10, 14),
    (15, 15),
    (20, 16),
    (25, 18),
    (30, 20),
    (35, 23),
    (40, 25),
    (45, 30),
    (50, 35),
    (55, 43),
    (60, 50),
];

/// The columns of table 3B, in °F.
pub const TABLE_3B_DEGREES: [i32; 10] = [70, 75, 80, 85, 90, 95, 100, 105, 110, 120];

/// Table 3B: hours held warm before drying, and by how many per cent that shortens it, a figure a column.
pub const TABLE_3B: [(u16, [u8; 10]); 5] = [
    (24, [4, 5, 8, 10, 15, 23, 37, 57, 90, 100]),
    (48, [9, 12, 18, 25, 35, 49, 88, 100, 100, 100]),
    (72, [14, 19, 28, 39, 55, 74, 100, 100, 100, 100]),
    (96, [19, 26, 38, 53, 75, 98, 100, 100, 100, 100]),
    (120, [24, 33, 48, 67, 95, 100, 100, 100, 100, 100]),
];

/// Table 4: salt in tenths of a per cent, and by how many per cent the drying is longer.
pub const TABLE_4: [(u16, u8); 14] = [
    (33, 1),
    (32, 4),
    (31, 7),
    (30, 10),
    (29, 13),
    (28, 16),
    (27, 19),
    (26, 22),
    (25, 25),
    (24, 28),
    (23, 31),
    (22, 34),
    (21, 37),
    (20, 40),
];

/// Table 5, hams: at least so many °F for so many tenths of a day.
pub const TABLE_5: [(i32, u16); 12] = [
    (130, 15),
    (125, 20),
    (120, 30),
    (115, 40),
    (110, 50),
    (105, 60),
    (100, 70),
    (95, 90),
    (90, 110),
    (85, 180),
    (80, 250),
    (75, 350),
];

/// Days of table 3A: the first column that the casing is not wider than. None above 6 in.
pub fn drying_days(diameter: Length) -> Option<u16> {
    let row = TABLE_3A.iter().find(|(tenths, _)| diameter <= inches(Decimal::new(i64::from(*tenths), 1)));
    row.map(|(_, days)| *days)
}

/// Per cent of table 3B for so many hours at a temperature that was never below `degrees` °F: the row and the column that
/// are reached. None below 24 h or 70 °F.
fn shortened(hours: Decimal, degrees: i32) -> Option<u8> {
    let column = TABLE_3B_DEGREES.iter().rposition(|column| *column <= degrees)?;
    let row = TABLE_3B.iter().rev().find(|(least, _)| Decimal::from(*least) <= hours)?;
    Some(row.1[column])
}

/// Days taken off `days` for a warm holding, rounded down.
pub fn days_deducted(days: u16, hours: Decimal, degrees: i32) -> u16 {
    let per_cent = shortened(hours, degrees).map_or(0, u16::from);
    days * per_cent / 100
}

/// Days added to `days` for less salt, rounded up. Salt in per cent of [`effective_salt`], cut off at a tenth here. None
/// below 2.0 %, where the method ends; nothing is added above 3.3 %.
pub fn days_added(days: u16, salt: Decimal) -> Option<u16> {
    let tenths = salt.round_dp_with_strategy(1, RoundingStrategy::ToZero);
    let (highest, lowest) = (dec!(3.3), dec!(2.0));
    if tenths > highest {
        return Some(0);
    }
    if tenths < lowest {
        return None;
    }
    let row = TABLE_4.iter().find(|(row, _)| Decimal::new(i64::from(*row), 1) == tenths)?;
    Some((days * u16::from(row.1)).div_ceil(100))
}

/// Salt of table 4, per cent: salt × 100 ÷ (the whole formula less all dry ingredients), unrounded. The salt is one of
/// the dry ingredients. None where nothing but dry ingredients is in it.
pub fn effective_salt(salt: Grams, whole: Grams, dry: Grams) -> Option<Decimal> {
    let base = whole.decimal() - dry.decimal();
    (base > Decimal::ZERO).then(|| salt.decimal() * Decimal::ONE_HUNDRED / base)
}

/// Days of table 5 in tenths for a ham dried at a temperature that was never below `coldest`; none below 75 °F.
pub fn ham_drying_days(coldest: crate::measure::Celsius) -> Option<Decimal> {
    let row = TABLE_5.iter().find(|(degrees, _)| fahrenheit(*degrees) <= coldest);
    row.map(|(_, tenths)| Decimal::new(i64::from(*tenths), 1))
}
