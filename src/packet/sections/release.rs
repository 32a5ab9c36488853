//! What each release rested on: the criteria of the family, each as it was met, for the batch or for a piece.

use super::{Fills, body};
use crate::batches::entry::PiecesReleased;
use crate::error::Result;
use crate::packet::lines::{Said, Told};
use crate::packet::paper::{Column, Row};

const COLUMNS: [Column; 7] = [
    Column::figure("Line", 5),
    Column::new("Released", 15),
    Column::new("Of what", 16),
    Column::new("Criterion", 26),
    Column::new("As it was met", 28),
    Column::new("Shown by lines", 14),
    Column::new("By", 5),
];

#[derive(Default)]
pub struct Release(Vec<Row>);

impl Fills for Release {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        let Some(released) = body::<PiecesReleased>(said)? else { return Ok(()) };
        let mut row = |of: String, criterion: String, figure: String, by: String| {
            let cells = vec![
                said.read.at.seq.to_string(),
                told.happened(said.read),
                of,
                criterion,
                figure,
                by,
                said.read.initials.clone(),
            ];
            self.0.push(told.row(said.read, cells));
        };
        let codes: Vec<&str> = released.pieces.iter().map(|piece| piece.lot.name.as_str()).collect();
        row(codes.join(", "), "Let go to sale".into(), format!("{}. {}", said.what, said.why), String::new());
        let Some(shown) = released.shown else { return Ok(()) };
        let family = format!("{}, version {}", shown.family.name, shown.version);
        row(format!("batch {}", released.code), "Family of the product".into(), family, String::new());
        for met in shown.met {
            let code = |id| {
                released.pieces.iter().find(|piece| piece.lot.id == id).map(|piece| piece.lot.name.clone())
            };
            let of = met.piece.and_then(code).unwrap_or_else(|| format!("batch {}", released.code));
            let by: Vec<String> = met.by.iter().map(ToString::to_string).collect();
            row(of, met.criterion, met.figure, by.join(", "));
        }
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        (COLUMNS.to_vec(), self.0)
    }
}
