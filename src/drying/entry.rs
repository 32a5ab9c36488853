//! What the book says of drying: what a product is dried to beyond the loss that its recipe names.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::ids::{ItemId, Named};
use crate::measure::{Ph, WaterActivity};

/// The most that a ratio of moisture to protein is taken for: fresh lean meat is near 3.6 (common practice).
pub const MOST_RATIO: Decimal = Decimal::TEN;

/// What a product is dried to, alone or together with the loss of its recipe; the latest word counts.
/// `drying_target.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DryingTargetWritten {
    pub product: Named<ItemId>,
    /// At most this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub water_activity: Option<WaterActivity>,
    /// At most this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ph: Option<Ph>,
    /// Moisture to protein, at most this.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moisture_protein: Option<Decimal>,
    /// Where the figures come from.
    pub source: String,
}

impl DryingTargetWritten {
    /// "aw at most 0.900, pH at most 5.30"
    pub fn said(&self) -> Vec<String> {
        let mut said = Vec::new();
        said.extend(self.water_activity.map(|aw| format!("{} or less", aw.text())));
        said.extend(self.ph.map(|ph| format!("{} or less", ph.text())));
        said.extend(
            self.moisture_protein.map(|ratio| format!("moisture to protein {} or less", ratio.normalize())),
        );
        said
    }
}

impl Entry for DryingTargetWritten {
    const KIND: &'static str = "drying_target.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.product.id)
    }

    fn line(&self, _say: &Say) -> Line {
        let said = self.said();
        let said = if said.is_empty() { "none besides the loss".to_owned() } else { said.join(", ") };
        Line::new(format!("Drying target of {}", self.product.name))
            .why(format!("{said}; from {}", self.source))
    }
}

/// A ratio is above nothing and no more than meat can have.
pub fn write_target(target: DryingTargetWritten) -> Result<DryingTargetWritten, Refusal> {
    match target.moisture_protein {
        Some(ratio) if ratio <= Decimal::ZERO || ratio > MOST_RATIO => {
            Err(Refusal::at("moisture_protein", format!("Give a ratio above 0, at most {MOST_RATIO}.")))
        }
        _ => Ok(target),
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use uuid::Uuid;

    use super::*;
    use crate::measure::UnitSystem;

    fn target() -> DryingTargetWritten {
        DryingTargetWritten {
            product: Named::new(ItemId(Uuid::from_u128(1)), "fennel salami"),
            water_activity: Some(WaterActivity::thousandths(900)),
            ph: Some(Ph::hundredths(530)),
            moisture_protein: Some(dec!(1.9)),
            source: "the shop's own plan".into(),
        }
    }

    #[test]
    fn a_target_says_each_figure_and_where_it_is_from() {
        let line = target().line(&Say { system: UnitSystem::Metric });
        assert_eq!(
            line.why,
            "aw 0.900 or less, pH 5.30 or less, moisture to protein 1.9 or less; from the shop's own plan"
        );
        let none = DryingTargetWritten { water_activity: None, ph: None, moisture_protein: None, ..target() };
        assert!(none.line(&Say { system: UnitSystem::Metric }).why.starts_with("none besides"));
    }

    #[test]
    fn a_ratio_that_no_meat_has_is_refused() {
        for ratio in [dec!(0), dec!(10.1)] {
            assert!(write_target(DryingTargetWritten { moisture_protein: Some(ratio), ..target() }).is_err());
        }
        assert!(write_target(target()).is_ok());
    }

    #[test]
    fn a_target_reads_back_from_its_body() {
        let body = serde_json::to_string(&target()).expect("a body");
        assert_eq!(serde_json::from_str::<DryingTargetWritten>(&body).expect("reads back"), target());
    }
}
