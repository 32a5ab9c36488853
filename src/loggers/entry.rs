//! What the book says of loggers: the seal over an import of samples, and the devices that send by themselves.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

use crate::book::chain::Hash;
use crate::book::{Effects, Entry, Line, Say};
use crate::checks::{Quantity, Value};
use crate::error::Refusal;
use crate::ids::{ImportId, LoggerId, Named, PlaceId};

/// One figure that a logger wrote down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sample {
    pub at: OffsetDateTime,
    pub value: Value,
}

impl Sample {
    /// What samples are sorted by.
    pub fn key(&self) -> (&'static str, OffsetDateTime) {
        (self.value.quantity().word(), self.at)
    }

    /// Its line of the canonical text.
    pub fn line(&self) -> String {
        let at = self.at.to_offset(time::UtcOffset::UTC).format(&Rfc3339).unwrap_or_default();
        format!("{} {at} {}\n", self.value.quantity().word(), self.value.decimal().normalize())
    }
}

/// The SHA-256 over the canonical text of samples that are sorted by [`Sample::key`].
pub fn seal(samples: &[Sample]) -> Hash {
    let mut hash = Sha256::new();
    for sample in samples {
        hash.update(sample.line());
    }
    hash.finalize().into()
}

/// The least and the most of one quantity in an import.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Extremes {
    pub samples: usize,
    pub least: Value,
    pub most: Value,
}

/// Samples of one place are in the book from here on, as they were. `samples.sealed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SamplesSealed {
    pub import: ImportId,
    pub place: Named<PlaceId>,
    /// The name of the file, or what was said where it was pasted.
    pub source: String,
    /// The device, where it sent them itself.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub logger: Option<Named<LoggerId>>,
    pub count: usize,
    /// Those that were in the book already with the same value, and not written again.
    pub skipped: usize,
    /// Cells in which the logger wrote no figure.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub blank: usize,
    #[serde(with = "time::serde::rfc3339")]
    pub from: OffsetDateTime,
    #[serde(with = "time::serde::rfc3339")]
    pub to: OffsetDateTime,
    pub extremes: Vec<Extremes>,
    /// SHA-256 over the canonical text of the samples, in hexadecimal.
    pub sha256: String,
}

#[allow(clippy::trivially_copy_pass_by_ref, reason = "serde asks for a reference")]
fn is_zero(n: &usize) -> bool {
    *n == 0
}

/// Where samples come from, and what was left out of them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Origin {
    pub import: ImportId,
    pub place: Named<PlaceId>,
    pub source: String,
    pub logger: Option<Named<LoggerId>>,
    pub skipped: usize,
    pub blank: usize,
}

/// Seals samples, which are sorted by [`Sample::key`].
///
/// # Errors
/// A refusal where there are none.
pub fn seal_import(origin: Origin, samples: &[Sample]) -> Result<SamplesSealed, Refusal> {
    let nothing = || Refusal::of("There is no sample in it that the book does not have.");
    let from = samples.iter().map(|sample| sample.at).min().ok_or_else(nothing)?;
    let to = samples.iter().map(|sample| sample.at).max().ok_or_else(nothing)?;
    let extremes = [Quantity::Temperature, Quantity::Humidity].into_iter().filter_map(|quantity| {
        let of = || samples.iter().map(|sample| sample.value).filter(|value| value.quantity() == quantity);
        Some(Extremes {
            samples: of().count(),
            least: of().min_by_key(|value| value.decimal())?,
            most: of().max_by_key(|value| value.decimal())?,
        })
    });
    Ok(SamplesSealed {
        import: origin.import,
        place: origin.place,
        source: origin.source,
        logger: origin.logger,
        count: samples.len(),
        skipped: origin.skipped,
        blank: origin.blank,
        from,
        to,
        extremes: extremes.collect(),
        sha256: crate::book::chain::hex(&seal(samples)),
    })
}

impl Entry for SamplesSealed {
    const KIND: &'static str = "samples.sealed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().opens(self.import).about(self.place.id);
        self.logger.iter().fold(effects, |effects, logger| effects.about(logger.id))
    }

    fn line(&self, say: &Say) -> Line {
        let bands: Vec<String> = self
            .extremes
            .iter()
            .map(|one| format!("{} to {}", one.least.figure(say.system), one.most.text(say.system)))
            .collect();
        let from = self.logger.as_ref().map_or(&self.source, |logger| &logger.name);
        let skipped = match self.skipped {
            0 => String::new(),
            n => format!(", {n} were here already"),
        };
        let word = if self.count == 1 { "sample" } else { "samples" };
        Line::new(format!("Logger samples of {}", self.place.name))
            .why(format!("{}; from {from}{skipped}", bands.join(", ")))
            .figure(format!("{} {word}", self.count))
    }
}

/// A device may send samples of a place from here on, signed by the person who admitted it. `logger.admitted`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LoggerAdmitted {
    pub logger: LoggerId,
    pub name: String,
    pub place: Named<PlaceId>,
}

impl Entry for LoggerAdmitted {
    const KIND: &'static str = "logger.admitted";

    fn effects(&self) -> Effects {
        Effects::none().opens(self.logger).about(self.place.id)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Logger {} admitted", self.name)).why(format!("it measures in {}", self.place.name))
    }
}

/// A device sends no more. `logger.ended`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LoggerEnded {
    pub logger: Named<LoggerId>,
}

impl Entry for LoggerEnded {
    const KIND: &'static str = "logger.ended";

    fn effects(&self) -> Effects {
        Effects::none().about(self.logger.id)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Logger {} ended", self.logger.name)).why("its token is taken no more")
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::macros::datetime;
    use uuid::Uuid;

    use super::*;
    use crate::measure::UnitSystem;

    fn sample(quantity: Quantity, minute: u8, value: rust_decimal::Decimal) -> Sample {
        let at = datetime!(2026-11-25 07:00 UTC) + time::Duration::minutes(minute.into());
        Sample { at, value: Value::of(quantity, value).expect("within range") }
    }

    fn origin() -> Origin {
        Origin {
            import: ImportId(Uuid::from_u128(1)),
            place: Named::new(PlaceId(Uuid::from_u128(2)), "chamber 1"),
            source: "november.csv".into(),
            logger: None,
            skipped: 3,
            blank: 0,
        }
    }

    #[test]
    fn the_canonical_text_is_what_the_recipe_says_and_its_hash_can_be_recomputed() {
        let samples = [
            sample(Quantity::Humidity, 20, dec!(78.50)),
            sample(Quantity::Temperature, 20, dec!(12.40)),
            sample(Quantity::Temperature, 25, dec!(-0.50)),
        ];
        let text: String = samples.iter().map(Sample::line).collect();
        assert_eq!(
            text,
            "humidity 2026-11-25T07:20:00Z 78.5\ntemperature 2026-11-25T07:20:00Z 12.4\ntemperature 2026-11-25T07:25:00Z -0.5\n"
        );
        // printf '…' | sha256sum
        assert_eq!(
            crate::book::chain::hex(&seal(&samples)),
            "e42ce8f00aa59c3bdf363b34ffa0b19c963325f5d1a134e3f07ec3df6e692415"
        );
    }

    #[test]
    fn a_seal_says_how_many_from_when_to_when_and_how_far_they_went() {
        let samples = [
            sample(Quantity::Humidity, 0, dec!(81)),
            sample(Quantity::Temperature, 0, dec!(12.4)),
            sample(Quantity::Temperature, 5, dec!(13.1)),
        ];
        let sealed = seal_import(origin(), &samples).expect("sealed");
        assert_eq!((sealed.count, sealed.extremes.len()), (3, 2));
        assert_eq!(sealed.from, datetime!(2026-11-25 07:00 UTC));
        assert_eq!(sealed.to, datetime!(2026-11-25 07:05 UTC));
        let line = sealed.line(&Say { system: UnitSystem::Metric });
        assert_eq!(
            line.why,
            "12.4 to 13.1\u{a0}°C, 81 to 81\u{a0}%RH; from november.csv, 3 were here already"
        );
        let body = serde_json::to_string(&sealed).expect("a body");
        assert_eq!(serde_json::from_str::<SamplesSealed>(&body).expect("reads back"), sealed);
    }

    #[test]
    fn nothing_is_sealed_where_there_is_no_sample() {
        assert!(seal_import(origin(), &[]).is_err());
    }
}
