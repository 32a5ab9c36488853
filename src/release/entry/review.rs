//! The review of a batch's records before anything of it is sold (9 CFR 417.5(c)).

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say, Seq};
use crate::error::Refusal;
use crate::ids::{BatchId, PersonId, ReviewId};
use crate::measure::LotCode;

/// A batch's records were looked over. `records.reviewed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordsReviewed {
    pub review: ReviewId,
    pub batch: BatchId,
    pub code: LotCode,
    /// The last line of the book that was there to be looked at.
    pub upto: Seq,
    /// Whether the one who signs made records of the batch as well, being the only person of the shop.
    #[serde(default)]
    pub alone: bool,
    #[serde(default)]
    pub note: String,
}

impl Entry for RecordsReviewed {
    const KIND: &'static str = "records.reviewed";
    const CAN_BE_STRUCK: bool = true;

    /// A release rests on it, so that is struck first.
    fn effects(&self) -> Effects {
        Effects::none().opens(self.review).about(self.batch)
    }

    fn line(&self, _say: &Say) -> Line {
        let alone =
            if self.alone { "; by the shop's only person, who made records of it as well" } else { "" };
        let note = if self.note.is_empty() { String::new() } else { format!("; {}", self.note) };
        Line::new(format!("Records of batch {} reviewed", self.code))
            .why(format!("up to line {}{alone}{note}", self.upto))
    }
}

/// Who signs a review, and who made the records.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reviewing {
    pub reviewer: PersonId,
    /// Who made records of the batch.
    pub made_by: Vec<PersonId>,
    /// How many people can sign in the shop, whoever only reads left out.
    pub people: i64,
}

impl Reviewing {
    pub fn made_some(&self) -> bool {
        self.made_by.contains(&self.reviewer)
    }
}

/// A review is signed by somebody who made none of the records, unless there is nobody else.
pub fn review(reviewed: RecordsReviewed, who: &Reviewing) -> Result<RecordsReviewed, Refusal> {
    if !who.made_some() {
        return Ok(RecordsReviewed { alone: false, ..reviewed });
    }
    if who.people > 1 {
        return Err(Refusal::of(
            "You made records of this batch. Its review is signed by somebody who made none of them.",
        ));
    }
    Ok(RecordsReviewed { alone: true, ..reviewed })
}
