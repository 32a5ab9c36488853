//! What was weighed into a batch, against its targets, and what its pieces weighed as they dried.

use super::{Fills, body};
use crate::batches::entry::{CureApplied, IngredientWeighed, MeatTaken, MixStuffed, MuscleTaken, Verdict};
use crate::book::Entry as _;
use crate::error::Result;
use crate::hanging::entry::PieceWeighed;
use crate::measure::Percent;
use crate::packet::lines::{Said, Told};
use crate::packet::paper::{Column, Row};

const WENT_IN: [Column; 8] = [
    Column::figure("Line", 5),
    Column::new("Happened", 15),
    Column::new("Written", 7),
    Column::new("What", 25),
    Column::new("From lot", 14),
    Column::figure("Target", 11),
    Column::figure("Weighed", 11),
    Column::new("By", 5),
];

/// What went into a batch.
#[derive(Default)]
pub struct WentIn(Vec<Row>);

impl Fills for WentIn {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        let mut target = String::new();
        let (what, from) = if let Some(meat) = body::<MeatTaken>(said)? {
            (meat.item.name, meat.lot.name)
        } else if let Some(muscle) = body::<MuscleTaken>(said)? {
            (format!("{}, piece {}", muscle.item.name, muscle.code), muscle.lot.name)
        } else if let Some(weighed) = body::<IngredientWeighed>(said)? {
            target = told.shop.weight(weighed.target);
            let outside = match weighed.verdict {
                Verdict::Within => String::new(),
                Verdict::Outside => format!(", outside {}: {}", weighed.tolerance.text(), weighed.reason),
            };
            let lot = weighed.lot.map_or_else(|| "main".into(), |lot| lot.name);
            (format!("{}{outside}", weighed.item.name), lot)
        } else if [CureApplied::KIND, MixStuffed::KIND].contains(&said.read.kind.as_str()) {
            (format!("{}, {}", said.what, said.why), String::new())
        } else {
            return Ok(());
        };
        let cells = vec![
            said.read.at.seq.to_string(),
            told.happened(said.read),
            told.written(said.read),
            what,
            from,
            target,
            said.figure.clone(),
            said.read.initials.clone(),
        ];
        self.0.push(told.row(said.read, cells));
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        (WENT_IN.to_vec(), self.0)
    }
}

const WEIGH_INS: [Column; 9] = [
    Column::new("Piece", 12),
    Column::new("Happened", 15),
    Column::new("Written", 7),
    Column::figure("Weight", 10),
    Column::figure("Before", 10),
    Column::figure("Green", 10),
    Column::figure("Lost of green", 9),
    Column::new("Scale, remarks", 16),
    Column::new("Line, by", 10),
];

/// The weigh-ins of each piece, one after the other.
#[derive(Default)]
pub struct WeighIns(Vec<(String, Row)>);

impl Fills for WeighIns {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        let Some(weighed) = body::<PieceWeighed>(said)? else { return Ok(()) };
        let loss = weighed.loss().map_or_else(String::new, Percent::text);
        let again = if weighed.read_again { "scale read again" } else { "" };
        let scale = weighed.instrument.as_ref().map_or("", |scale| scale.name.as_str());
        let remarks: Vec<&str> =
            [scale, again, &weighed.reason].into_iter().filter(|text| !text.is_empty()).collect();
        let cells = vec![
            weighed.lot.name.clone(),
            told.happened(said.read),
            told.written(said.read),
            told.shop.weight(weighed.weight),
            told.shop.weight(weighed.before),
            weighed.green.map_or_else(String::new, |green| told.shop.weight(green)),
            loss,
            remarks.join(", "),
            format!("{} {}", said.read.at.seq, said.read.initials),
        ];
        let row = told.row(said.read, cells);
        self.0.push((weighed.lot.name, row));
        Ok(())
    }

    fn done(mut self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        // Lines come in the order of the book, which stays among those of one piece.
        self.0.sort_by(|(one, _), (other, _)| one.cmp(other));
        (WEIGH_INS.to_vec(), self.0.into_iter().map(|(_, row)| row).collect())
    }
}
