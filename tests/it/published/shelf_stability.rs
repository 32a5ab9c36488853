//! Time and temperature control by water activity and pH: the interaction tables of the FDA Food Code, cell by cell, and at
//! the edges that they define.

use flitchbook::measure::{Ph, WaterActivity};
use flitchbook::standards::shelf_stability::{table_a, table_b};

use super::{Published, figure};

const A: &str = "FDA Food Code 2022, 1-201.10, Table A";
const B: &str = "FDA Food Code 2022, 1-201.10, Table B";

/// Water activity in thousandths, pH in hundredths, what the cell says.
type Cell = (u16, u16, &'static str);

const TABLE_A: [Cell; 13] = [
    (900, 460, "non-TCS"),
    (920, 560, "non-TCS"),
    (920, 600, "non-TCS"),
    (921, 460, "non-TCS"),
    (921, 461, "non-TCS"),
    (950, 560, "non-TCS"),
    (921, 561, "product assessment"),
    (950, 600, "product assessment"),
    (951, 460, "non-TCS"),
    (951, 461, "product assessment"),
    (951, 560, "product assessment"),
    (951, 561, "product assessment"),
    (990, 620, "product assessment"),
];

const TABLE_B: [Cell; 22] = [
    // below 0.88
    (879, 419, "non-TCS"),
    (879, 420, "non-TCS"),
    (879, 500, "non-TCS"),
    (879, 501, "non-TCS"),
    (850, 620, "non-TCS"),
    // 0.88 to 0.90
    (880, 419, "non-TCS"),
    (880, 460, "non-TCS"),
    (880, 500, "non-TCS"),
    (900, 500, "non-TCS"),
    (880, 501, "product assessment"),
    (900, 501, "product assessment"),
    // above 0.90 to 0.92
    (901, 419, "non-TCS"),
    (901, 460, "non-TCS"),
    (920, 460, "non-TCS"),
    (901, 461, "product assessment"),
    (920, 500, "product assessment"),
    (920, 501, "product assessment"),
    // above 0.92
    (921, 419, "non-TCS"),
    (990, 419, "non-TCS"),
    (921, 420, "product assessment"),
    (921, 460, "product assessment"),
    (990, 620, "product assessment"),
];

pub fn figures() -> Vec<Published> {
    let cell = |aw: u16, ph: u16| (WaterActivity::thousandths(aw), Ph::hundredths(ph));
    let a = TABLE_A.into_iter().map(|(aw, ph, says)| {
        let (aw, ph) = cell(aw, ph);
        figure(A, format!("aw {aw}, pH {ph}"), says, table_a(aw, ph).words())
    });
    let b = TABLE_B.into_iter().map(|(aw, ph, says)| {
        let (aw, ph) = cell(aw, ph);
        figure(B, format!("aw {aw}, pH {ph}"), says, table_b(aw, ph).words())
    });
    a.chain(b).collect()
}
