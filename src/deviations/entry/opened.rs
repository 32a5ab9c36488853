//! The beginning of a deviation, which is a part of the entry that found it.

use serde::{Deserialize, Serialize};

use crate::book::Effects;
use crate::ids::{DeviationId, LotId, Named};

/// A deviation that an entry opens, and the lots that it holds.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Opened {
    pub deviation: DeviationId,
    /// What is wrong, as the shop says it; also the reason of each hold.
    pub what: String,
    pub lots: Vec<Named<LotId>>,
}

impl Opened {
    /// What the entry that opens it says besides: that there is a deviation now, and that it holds its lots.
    #[must_use]
    pub fn speak(&self, effects: Effects) -> Effects {
        let effects = effects.opens(self.deviation);
        self.lots.iter().fold(effects, |effects, lot| effects.hold(lot.id, &self.what))
    }
}
