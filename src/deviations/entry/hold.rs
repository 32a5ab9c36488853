//! Holding a lot by hand, and lifting a hold.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Lot, Say, Seq};
use crate::error::Refusal;
use crate::ids::{LotId, Named};

/// A lot is put on hold by hand. `lot.held`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotHeld {
    pub lot: Named<LotId>,
    pub reason: String,
}

impl Entry for LotHeld {
    const KIND: &'static str = "lot.held";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none().hold(self.lot.id, &self.reason)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("{} put on hold", self.lot.name)).why(self.reason.clone()).alarm("on hold")
    }
}

/// One hold of a lot is lifted. `hold.lifted`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct HoldLifted {
    pub lot: Named<LotId>,
    /// The entry that laid the hold.
    pub laid_by: Seq,
    /// Why it was held.
    pub reason: String,
    /// Why it may be used again.
    pub words: String,
}

impl Entry for HoldLifted {
    const KIND: &'static str = "hold.lifted";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none().lift_of(self.lot.id, self.laid_by)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Hold of {} lifted", self.lot.name)).why(format!("{}; {}", self.reason, self.words))
    }
}

/// A hold as it stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hold {
    pub lot: Named<LotId>,
    pub laid_by: Seq,
    pub reason: String,
    pub lifted: bool,
    /// It is the hold of a deviation that is still open.
    pub of_open_deviation: bool,
}

/// Only what lies in the shop is held.
pub fn hold(held: LotHeld, lot: &Lot) -> Result<LotHeld, Refusal> {
    lot.in_the_book("code")?;
    if lot.grams.is_zero() {
        return Err(Refusal::at("code", format!("Nothing is left of {}.", lot.code)));
    }
    Ok(held)
}

/// A hold is lifted once, and that of an open deviation where the deviation is decided.
pub fn lift(hold: Hold, words: String) -> Result<HoldLifted, Refusal> {
    if hold.lifted {
        return Err(Refusal::of("This hold is lifted already."));
    }
    if hold.of_open_deviation {
        return Err(Refusal::of(
            "A deviation holds this lot. What becomes of it is decided there, with its corrective action.",
        ));
    }
    Ok(HoldLifted { lot: hold.lot, laid_by: hold.laid_by, reason: hold.reason, words })
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn standing() -> Hold {
        Hold {
            lot: Named::new(LotId(Uuid::from_u128(1)), "26329-02"),
            laid_by: Seq(5),
            reason: "papers missing".into(),
            lifted: false,
            of_open_deviation: false,
        }
    }

    #[test]
    fn a_hold_is_lifted_once() {
        let lifted = lift(standing(), "papers came".into()).expect("may be lifted");
        assert_eq!(lifted.effects().lifts, [(standing().lot.id, Some(Seq(5)))]);
        assert!(lift(Hold { lifted: true, ..standing() }, "papers came".into()).is_err());
    }

    #[test]
    fn the_hold_of_an_open_deviation_is_not_lifted_past_it() {
        let refusal = lift(Hold { of_open_deviation: true, ..standing() }, "it looks fine".into());
        assert!(refusal.expect_err("refused").message.contains("decided there"));
    }
}
