//! Taking samples into the book: what is new is written and sealed in one go, what is past a limit becomes a check.

use rust_decimal::Decimal;

use super::db;
use super::entry::{self, Origin, Sample};
use crate::book::{Pen, Seq};
use crate::checks::{self, Against, Quantity};
use crate::error::{Refusal, Result};
use crate::ids::{DeviationId, ImportId, LoggerId, Named, PlaceId};
use crate::measure::UnitSystem;

/// Samples of one place that are to be written, sorted by [`Sample::key`].
pub struct Brought {
    pub place: Named<PlaceId>,
    pub source: String,
    pub logger: Option<Named<LoggerId>>,
    pub samples: Vec<Sample>,
    pub blank: usize,
}

/// What became of them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Taken {
    /// The import and its entry; none where every sample was here already.
    pub import: Option<(ImportId, Seq)>,
    pub written: usize,
    pub skipped: usize,
    pub deviations: Vec<DeviationId>,
}

/// Writes the samples that are new. Those that the book has with the same value are skipped.
///
/// # Errors
/// A refusal that names the first sample for which the book has another value.
pub async fn take(pen: &mut Pen, brought: Brought, system: UnitSystem) -> Result<Taken> {
    let Brought { place, source, logger, samples, blank } = brought;
    let fresh = fresh(pen, place.id, &samples).await?;
    let skipped = samples.len() - fresh.len();
    if fresh.is_empty() {
        return Ok(Taken { skipped, ..Taken::default() });
    }
    let import = ImportId::made_by(pen.next().id);
    let origin = Origin { import, place: place.clone(), source, logger, skipped, blank };
    let seq = pen.append(entry::seal_import(origin, &fresh)?).await?;
    db::write(pen, place.id, import, &fresh).await?;
    let mut deviations = Vec::new();
    for quantity in [Quantity::Temperature, Quantity::Humidity] {
        deviations.extend(hold(pen, place.id, quantity, &fresh, system).await?);
    }
    Ok(Taken { import: Some((import, seq)), written: fresh.len(), skipped, deviations })
}

/// The samples that the book does not have.
async fn fresh(pen: &mut Pen, place: PlaceId, samples: &[Sample]) -> Result<Vec<Sample>> {
    let from = samples.iter().map(|sample| sample.at).min();
    let Some((from, to)) = from.zip(samples.iter().map(|sample| sample.at).max()) else { return Ok(vec![]) };
    if to > pen.next().recorded_at + time::Duration::hours(1) {
        return Err(Refusal::at(
            "order",
            "Its last sample has not come yet. Look at the order of the date and at the zone.",
        )
        .into());
    }
    let known = db::known(pen, place, from, to).await?;
    let mut fresh = Vec::with_capacity(samples.len());
    for sample in samples {
        match known.get(&(sample.value.quantity(), sample.at)) {
            None => fresh.push(*sample),
            Some(value) if *value == sample.value.decimal() => {}
            Some(value) => {
                return Err(Refusal::at(
                    "file",
                    format!(
                        "The book has another figure for one of its moments: {} here, {} there. Nothing was written. Is it the file of another place?",
                        sample.line().trim(),
                        value.normalize()
                    ),
                )
                .into());
            }
        }
    }
    Ok(fresh)
}

/// The check of the sample that is furthest past a limit, with the moment at which it was; nothing where all are within,
/// and nothing while a deviation of this quantity stands open on the place, since these belong to it.
async fn hold(
    pen: &mut Pen,
    place: PlaceId,
    quantity: Quantity,
    samples: &[Sample],
    system: UnitSystem,
) -> Result<Option<DeviationId>> {
    if !samples.iter().any(|sample| sample.value.quantity() == quantity) {
        return Ok(None);
    }
    let against = checks::limits_of_place(pen, place, quantity).await?;
    let Some(worst) = worst(samples, &against, quantity) else { return Ok(None) };
    if db::deviation_stands(pen, place, quantity).await? {
        return Ok(None);
    }
    pen.happened(worst.at);
    checks::check_place(pen, place, worst.value, against, system).await
}

/// The sample that is furthest past a limit; the earlier of two.
pub fn worst(samples: &[Sample], against: &[Against], quantity: Quantity) -> Option<Sample> {
    let mut worst: Option<(Decimal, Sample)> = None;
    for sample in samples.iter().filter(|sample| sample.value.quantity() == quantity) {
        let past = against.iter().map(|limit| past(limit, sample)).max().unwrap_or_default();
        if past > worst.map_or(Decimal::ZERO, |(most, _)| most) {
            worst = Some((past, *sample));
        }
    }
    worst.map(|(_, sample)| sample)
}

/// How far a sample is past a limit; nothing where it is at it or within.
fn past(limit: &Against, sample: &Sample) -> Decimal {
    let value = sample.value.decimal();
    let under = limit.least.map_or(Decimal::ZERO, |least| least.decimal() - value);
    let over = limit.most.map_or(Decimal::ZERO, |most| value - most.decimal());
    under.max(over).max(Decimal::ZERO)
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;
    use uuid::Uuid;

    use super::*;
    use crate::checks::Value;
    use crate::ids::LimitId;
    use crate::measure::Celsius;

    fn sample(minute: u8, hundredths: i32) -> Sample {
        let at = datetime!(2026-11-25 07:00 UTC) + time::Duration::minutes(minute.into());
        Sample { at, value: Value::Temperature(Celsius::hundredths(hundredths)) }
    }

    fn band() -> Against {
        Against {
            limit: Named::new(LimitId(Uuid::from_u128(1)), "chambers"),
            least: Some(Value::Temperature(Celsius::hundredths(1000))),
            most: Some(Value::Temperature(Celsius::hundredths(1500))),
            source: "the shop's own plan".into(),
        }
    }

    #[test]
    fn exactly_at_the_limit_is_met_and_the_furthest_past_it_is_the_worst() {
        let of = |samples: &[Sample]| worst(samples, &[band()], Quantity::Temperature);
        assert_eq!(of(&[sample(0, 1000), sample(5, 1500)]), None);
        assert_eq!(of(&[sample(0, 1501), sample(5, 1500)]), Some(sample(0, 1501)));
        assert_eq!(of(&[sample(0, 1510), sample(5, 980), sample(10, 1520)]), Some(sample(5, 980)));
        assert_eq!(worst(&[sample(0, 4000)], &[], Quantity::Temperature), None);
    }
}
