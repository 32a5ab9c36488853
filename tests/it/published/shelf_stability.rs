//! FDA Food Code 1-201.10: every cell of tables A and B at its corners.

use flitchbook::measure::{Ph, WaterActivity};
use flitchbook::standards::shelf_stability::{Cell, table_a, table_b};

use super::{Published, figure};

const A: &str = "FDA Food Code 1-201.10, table A";
const B: &str = "FDA Food Code 1-201.10, table B";

/// Columns of a table with the pH at either end of each, in hundredths; rows with the water activity in thousandths and what
/// each cell says: n for non-TCS, p for product assessment.
fn cells(
    source: &'static str,
    columns: &[(u16, u16)],
    rows: &[(u16, u16, &str)],
    table: fn(WaterActivity, Ph) -> Cell,
) -> Vec<Published> {
    let mut figures = Vec::new();
    for (least, most, says) in rows {
        for ((sourest, mildest), says) in columns.iter().zip(says.chars()) {
            let says = if says == 'n' { "non-TCS" } else { "product assessment" };
            // The dry sour corner and the wet mild one: the cell holds between them.
            for (aw, ph) in [(*least, *sourest), (*most, *mildest)] {
                let (aw, ph) = (WaterActivity::thousandths(aw), Ph::hundredths(ph));
                let case = format!("{}, {}", aw.text(), ph.text());
                figures.push(figure(source, case, says, table(aw, ph).words()));
            }
        }
    }
    figures
}

pub fn figures() -> Vec<Published> {
    let columns = [(0, 460), (461, 560), (561, 1_400)];
    let rows = [(0, 920, "nnn"), (921, 950, "nnp"), (951, 1_000, "npp")];
    let mut figures = cells(A, &columns, &rows, table_a);
    let columns = [(0, 419), (420, 460), (461, 500), (501, 1_400)];
    let rows = [(0, 879, "nnnn"), (880, 900, "nnnp"), (901, 920, "nnpp"), (921, 1_000, "nppp")];
    figures.extend(cells(B, &columns, &rows, table_b));
    figures
}
