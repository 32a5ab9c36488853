//! A value that another room measured in a place, held against the limits in force there as a check of its own.

use sqlx::PgConnection;

use super::db;
use super::entry::{self, Against, Quantity, ReadingTaken, Recorded, Value};
use crate::book::Pen;
use crate::deviations::On;
use crate::error::{Error, Result};
use crate::ids::{DeviationId, PlaceId};
use crate::measure::UnitSystem;

/// The limits in force for a quantity of a place.
pub async fn limits_of_place(
    conn: &mut PgConnection,
    place: PlaceId,
    quantity: Quantity,
) -> Result<Vec<Against>> {
    let found = db::subject(conn, On::Place(place)).await?.ok_or(Error::NotFound)?;
    let limits = db::limits(conn).await?;
    Ok(entry::against(&limits, &found.here, quantity, false))
}

/// Writes the check of a value that was measured in a place at the pen's moment: out of limits it opens a deviation, which
/// holds the lots that lay there then.
pub async fn check_place(
    pen: &mut Pen,
    place: PlaceId,
    value: Value,
    against: Vec<Against>,
    system: UnitSystem,
) -> Result<Option<DeviationId>> {
    let found = db::subject(pen, On::Place(place)).await?.ok_or(Error::NotFound)?;
    let met = against.iter().all(|limit| limit.met(value));
    let at = pen.next().happened_at;
    let lots = if met { Vec::new() } else { db::lots_of_place(pen, place, at).await? };
    let reading = ReadingTaken { subject: found.subject, value, instrument: None };
    match entry::record(reading, against, lots, pen.next().id, system) {
        Recorded::Reading(reading) => {
            pen.append(reading).await?;
            Ok(None)
        }
        Recorded::Check(check) => {
            let deviation = check.deviation.as_ref().map(|opened| opened.deviation);
            pen.append(check).await?;
            Ok(deviation)
        }
    }
}
