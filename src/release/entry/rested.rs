//! A release whose evidence was struck after it.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say, Seq};
use crate::deviations::Opened;
use crate::ids::{BatchId, DeviationId, LotId, Named};

/// A release that rested on a line: the pieces that went by it, and the criteria that it showed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rested {
    pub batch: Named<BatchId>,
    pub release: Seq,
    pub pieces: Vec<Named<LotId>>,
    pub criteria: Vec<String>,
}

/// A line that a release rested on was struck. `evidence.struck`
///
/// The strike cannot be taken back, so neither can this: its deviation is decided.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct EvidenceStruck {
    pub batch: Named<BatchId>,
    pub struck: Seq,
    pub release: Seq,
    /// The pieces that were let go by it, whether they are still here or not.
    pub pieces: Vec<Named<LotId>>,
    /// What the struck line had shown.
    pub criteria: Vec<String>,
    /// Holds what is still here: of these pieces, and of what was made of them.
    pub opened: Opened,
}

impl Entry for EvidenceStruck {
    const KIND: &'static str = "evidence.struck";

    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.batch.id);
        let effects = self.pieces.iter().fold(effects, |effects, piece| effects.about(piece.id));
        self.opened.speak(effects)
    }

    fn line(&self, _say: &Say) -> Line {
        let held = match self.opened.lots.len() {
            0 => "nothing of it is here any more; its trace says where it went".to_owned(),
            1 => "1 lot on hold".to_owned(),
            n => format!("{n} lots on hold"),
        };
        Line::new(self.opened.what.clone()).why(held).alarm("deviation")
    }
}

/// What the release of these pieces says now that the line is struck. `here` is what is left of them.
pub fn evidence_struck(
    struck: Seq,
    rested: Rested,
    here: Vec<Named<LotId>>,
    deviation: DeviationId,
) -> EvidenceStruck {
    let Rested { batch, release, pieces, criteria } = rested;
    let codes: Vec<&str> = pieces.iter().map(|piece| piece.name.as_str()).collect();
    let what = format!(
        "Line {struck} is struck, and the release of {} (line {release}) rested on it: {}",
        codes.join(", "),
        criteria.join("; ")
    );
    let opened = Opened { deviation, what, lots: here };
    EvidenceStruck { batch, struck, release, pieces, criteria, opened }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;
    use crate::measure::UnitSystem;

    fn lot(n: u128) -> Named<LotId> {
        Named::new(LotId(Uuid::from_u128(n)), format!("26329-02.0{n}"))
    }

    fn rested() -> Rested {
        Rested {
            batch: Named::new(BatchId(Uuid::from_u128(7)), "26329-02"),
            release: Seq(40),
            pieces: vec![lot(1), lot(2)],
            criteria: vec!["Water activity, measured, at most 0.910, on each piece".into()],
        }
    }

    #[test]
    fn it_names_the_struck_line_the_release_and_what_it_had_shown_and_holds_what_is_here() {
        let struck = evidence_struck(Seq(33), rested(), vec![lot(2)], DeviationId(Uuid::from_u128(9)));
        assert_eq!(
            struck.opened.what,
            "Line 33 is struck, and the release of 26329-02.01, 26329-02.02 (line 40) rested on it: \
             Water activity, measured, at most 0.910, on each piece"
        );
        assert_eq!(struck.effects().holds, [(lot(2).id, struck.opened.what.clone())]);
        let body = serde_json::to_string(&struck).expect("a body");
        assert_eq!(serde_json::from_str::<EvidenceStruck>(&body).expect("reads back"), struck);
    }

    #[test]
    fn where_all_of_it_has_left_the_line_says_so() {
        let struck = evidence_struck(Seq(33), rested(), vec![], DeviationId(Uuid::from_u128(9)));
        assert!(struck.effects().holds.is_empty());
        let line = struck.line(&Say { system: UnitSystem::Metric });
        assert!(line.why.contains("its trace says where it went"), "{}", line.why);
    }
}
