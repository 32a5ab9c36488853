//! What was done about a deviation, and what was decided of its lots.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say, Seq};
use crate::error::Refusal;
use crate::ids::{DeviationId, LotId, Named};

/// The four parts of a corrective action (9 CFR 417.3(a)).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    Cause,
    Control,
    Prevent,
    Product,
}

impl Part {
    pub const ALL: [Self; 4] = [Self::Cause, Self::Control, Self::Prevent, Self::Product];

    /// The name of its field.
    pub fn field(self) -> &'static str {
        match self {
            Self::Cause => "cause",
            Self::Control => "control",
            Self::Prevent => "prevent",
            Self::Product => "product",
        }
    }

    /// As 9 CFR 417.3(a) asks where the plan foresees it, and 417.3(b) where it does not.
    pub fn name(self, foreseen: bool) -> &'static str {
        match (self, foreseen) {
            (Self::Cause, true) => "Cause found and removed",
            (Self::Control, true) => "Under control again",
            (Self::Prevent, true) => "Kept from coming back",
            (Self::Product, true) => "What becomes of the product",
            (Self::Cause, false) => "Set apart and held",
            (Self::Control, false) => "Reviewed whether it is acceptable",
            (Self::Prevent, false) => "Plan reassessed by who is trained in it",
            (Self::Product, false) => "Nothing injurious leaves the shop",
        }
    }
}

/// The words of the four parts; an empty one says nothing.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Parts {
    #[serde(skip_serializing_if = "String::is_empty")]
    pub cause: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    pub control: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    pub prevent: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    pub product: String,
}

impl Parts {
    pub fn of(&self, part: Part) -> &str {
        match part {
            Part::Cause => &self.cause,
            Part::Control => &self.control,
            Part::Prevent => &self.prevent,
            Part::Product => &self.product,
        }
    }

    /// The parts that nothing is written of.
    pub fn missing(&self) -> Vec<Part> {
        Part::ALL.into_iter().filter(|part| self.of(*part).is_empty()).collect()
    }
}

/// What was done about a deviation, one part of it or several. `deviation.corrected`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviationCorrected {
    pub deviation: DeviationId,
    /// The deviation in words.
    pub what: String,
    pub parts: Parts,
    /// Whether no plan foresees it; then the parts are those of 9 CFR 417.3(b).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unforeseen: bool,
}

impl Entry for DeviationCorrected {
    const KIND: &'static str = "deviation.corrected";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none().about(self.deviation)
    }

    fn line(&self, _say: &Say) -> Line {
        let said: Vec<String> = Part::ALL
            .into_iter()
            .filter(|part| !self.parts.of(*part).is_empty())
            .map(|part| format!("{}: {}", part.name(!self.unforeseen), self.parts.of(part)))
            .collect();
        Line::new(format!("Corrective action: {}", self.what)).why(said.join(" · "))
    }
}

/// What is decided of a lot that a deviation holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[sqlx(type_name = "text")]
pub enum Decision {
    #[serde(rename = "lift the hold")]
    #[sqlx(rename = "lift the hold")]
    Lift,
    #[serde(rename = "keep on hold")]
    #[sqlx(rename = "keep on hold")]
    Keep,
    /// It stays on hold until a further stage is made and somebody lifts the hold.
    #[serde(rename = "rework")]
    #[sqlx(rename = "rework")]
    Rework,
    /// It stays on hold until its discarding is signed, which moves the grams.
    #[serde(rename = "discard")]
    #[sqlx(rename = "discard")]
    Discard,
}

impl Decision {
    pub const ALL: [Self; 4] = [Self::Lift, Self::Keep, Self::Rework, Self::Discard];

    pub fn word(self) -> &'static str {
        match self {
            Self::Lift => "lift the hold",
            Self::Keep => "keep on hold",
            Self::Rework => "rework",
            Self::Discard => "discard",
        }
    }

    /// As it reads once it is decided.
    pub fn decided(self) -> &'static str {
        match self {
            Self::Lift => "hold lifted",
            Self::Keep => "kept on hold",
            Self::Rework => "to be reworked",
            Self::Discard => "to be discarded",
        }
    }
}

impl std::str::FromStr for Decision {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|decision| decision.word() == text).ok_or(())
    }
}

/// One lot and what becomes of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Decided {
    pub lot: Named<LotId>,
    pub decision: Decision,
}

/// Somebody with the right has decided what becomes of the lots. `deviation.closed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviationClosed {
    pub deviation: DeviationId,
    pub what: String,
    /// The entry that opened it and laid its holds.
    pub laid_by: Seq,
    pub lots: Vec<Decided>,
    /// Why it is decided so.
    pub words: String,
}

impl Entry for DeviationClosed {
    const KIND: &'static str = "deviation.closed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().about(self.deviation);
        self.lots.iter().fold(effects, |effects, decided| match decided.decision {
            Decision::Lift => effects.lift_of(decided.lot.id, self.laid_by),
            Decision::Keep | Decision::Rework | Decision::Discard => effects.about(decided.lot.id),
        })
    }

    fn line(&self, _say: &Say) -> Line {
        let told = |decision: Decision| -> Option<String> {
            let codes: Vec<&str> = self
                .lots
                .iter()
                .filter(|decided| decided.decision == decision)
                .map(|decided| decided.lot.name.as_str())
                .collect();
            (!codes.is_empty()).then(|| format!("{}: {}", decision.decided(), codes.join(", ")))
        };
        let mut said: Vec<String> = Decision::ALL.into_iter().filter_map(told).collect();
        said.push(self.words.clone());
        Line::new(format!("Deviation closed: {}", self.what)).why(said.join(" · "))
    }
}

/// How a deviation stands when something is written of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Standing {
    pub closed: bool,
    pub struck: bool,
    pub unforeseen: bool,
    /// The latest words of each part.
    pub parts: Parts,
    /// The lots that it concerns.
    pub lots: Vec<LotId>,
}

impl Standing {
    fn open(&self) -> Result<(), Refusal> {
        if self.struck {
            return Err(Refusal::of(
                "The line that opened this deviation was struck. There is nothing to decide.",
            ));
        }
        if self.closed {
            return Err(Refusal::of("This deviation is closed. Strike its closing line to go on with it."));
        }
        Ok(())
    }
}

/// Something is written of at least one part, and only while the deviation is open.
pub fn correct(corrected: DeviationCorrected, standing: &Standing) -> Result<DeviationCorrected, Refusal> {
    standing.open()?;
    if corrected.parts.missing().len() == Part::ALL.len() {
        return Err(Refusal::at("cause", "Write what was done, at least one of the four parts."));
    }
    Ok(corrected)
}

/// A deviation is closed when all four parts are written and every lot of it is decided on, no other.
pub fn close(closed: DeviationClosed, standing: &Standing) -> Result<DeviationClosed, Refusal> {
    standing.open()?;
    let missing: Vec<&str> =
        standing.parts.missing().into_iter().map(|part| part.name(!standing.unforeseen)).collect();
    if !missing.is_empty() {
        let message = format!("The corrective action is not whole yet. Write first: {}.", missing.join("; "));
        return Err(Refusal::of(message));
    }
    if let Some(foreign) = closed.lots.iter().find(|decided| !standing.lots.contains(&decided.lot.id)) {
        return Err(Refusal::of(format!("{} is no lot of this deviation.", foreign.lot.name)));
    }
    let decided = |lot: &LotId| closed.lots.iter().filter(|decided| decided.lot.id == *lot).count() == 1;
    if !standing.lots.iter().all(decided) {
        return Err(Refusal::at("every", "Say of each lot what becomes of it, once."));
    }
    Ok(closed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use uuid::Uuid;

    fn lot(n: u128) -> Named<LotId> {
        Named::new(LotId(Uuid::from_u128(n)), format!("26329-0{n}"))
    }

    fn whole() -> Parts {
        let said = |text: &str| text.to_owned();
        Parts {
            cause: said("door left ajar"),
            control: said("3.1 °C at 08:00"),
            prevent: said("door closer fitted"),
            product: said("core at 3.8 °C, never above 4 °C"),
        }
    }

    fn standing(parts: Parts) -> Standing {
        Standing { closed: false, struck: false, unforeseen: false, parts, lots: vec![lot(1).id, lot(2).id] }
    }

    fn closed(decisions: &[(u128, Decision)]) -> DeviationClosed {
        DeviationClosed {
            deviation: DeviationId(Uuid::from_u128(9)),
            what: "cooler 1 at 6.2 °C".into(),
            laid_by: Seq(12),
            lots: decisions
                .iter()
                .map(|(n, decision)| Decided { lot: lot(*n), decision: *decision })
                .collect(),
            words: "core was cold".into(),
        }
    }

    const BOTH: [(u128, Decision); 2] = [(1, Decision::Lift), (2, Decision::Keep)];

    #[test]
    fn it_is_not_closed_with_three_of_the_four_parts() {
        for part in Part::ALL {
            let mut parts = whole();
            match part {
                Part::Cause => parts.cause.clear(),
                Part::Control => parts.control.clear(),
                Part::Prevent => parts.prevent.clear(),
                Part::Product => parts.product.clear(),
            }
            let refusal = close(closed(&BOTH), &standing(parts)).expect_err("a part is missing");
            assert!(refusal.message.contains(part.name(true)), "{}", refusal.message);
        }
        assert!(close(closed(&BOTH), &standing(whole())).is_ok());
    }

    #[test]
    fn every_lot_is_decided_on_once_and_no_other() {
        assert_eq!(close(closed(&BOTH[..1]), &standing(whole())).expect_err("one open").field, "every");
        let twice = [BOTH[0], BOTH[0], BOTH[1]];
        assert!(close(closed(&twice), &standing(whole())).is_err());
        let foreign = [BOTH[0], BOTH[1], (3, Decision::Lift)];
        assert!(close(closed(&foreign), &standing(whole())).is_err());
    }

    #[test]
    fn only_what_is_lifted_is_lifted_and_only_from_this_deviation() {
        assert_eq!(closed(&BOTH).effects().lifts, [(lot(1).id, Some(Seq(12)))]);
    }

    #[test]
    fn what_is_to_be_reworked_stays_on_hold() {
        let lots = [(1, Decision::Rework), (2, Decision::Lift)];
        assert_eq!(closed(&lots).effects().lifts, [(lot(2).id, Some(Seq(12)))]);
    }

    #[test]
    fn what_no_plan_foresees_is_asked_about_in_other_words() {
        let standing = Standing { unforeseen: true, ..standing(Parts { prevent: String::new(), ..whole() }) };
        let refusal = close(closed(&BOTH), &standing).expect_err("not reassessed");
        assert!(refusal.message.contains("Plan reassessed"), "{}", refusal.message);
    }

    #[test]
    fn nothing_is_written_of_a_closed_deviation_or_of_nothing_at_all() {
        let corrected = DeviationCorrected {
            deviation: DeviationId(Uuid::from_u128(9)),
            what: "cooler 1 at 6.2 °C".into(),
            parts: whole(),
            unforeseen: false,
        };
        assert!(correct(corrected.clone(), &Standing { closed: true, ..standing(whole()) }).is_err());
        assert!(correct(corrected.clone(), &Standing { struck: true, ..standing(whole()) }).is_err());
        assert!(correct(corrected.clone(), &standing(Parts::default())).is_ok());
        let empty = DeviationCorrected { parts: Parts::default(), ..corrected };
        assert_eq!(correct(empty, &standing(Parts::default())).expect_err("nothing said").field, "cause");
    }
}
