//! Criteria that a meter or a laboratory shows: pH, water activity, moisture to protein.

use super::judge::{Evidence, Measured, PieceKnown};
use crate::book::Seq;
use crate::checks::Value;
use crate::evidence::Found;
use crate::measure::{Ph, Ratio, WaterActivity};
use crate::standards::shelf_stability::{Cell, table_b};

/// The latest of these readings.
fn latest<'a>(readings: impl Iterator<Item = &'a Measured>) -> Option<&'a Measured> {
    readings.max_by_key(|reading| (reading.at, reading.seq))
}

/// The latest pH of the batch or of the piece itself.
fn ph_of(piece: &PieceKnown, evidence: &Evidence) -> Option<(Ph, Seq)> {
    let of_it = evidence.readings.iter().filter(|reading| reading.lot.is_none_or(|lot| lot == piece.lot));
    let reading = latest(of_it.filter(|reading| matches!(reading.value, Value::Ph(_))))?;
    let Value::Ph(ph) = reading.value else { return None };
    Some((ph, reading.seq))
}

pub fn ph(most: Ph, piece: &PieceKnown, evidence: &Evidence) -> Found {
    match ph_of(piece, evidence) {
        None => Found::not_yet(format!("No pH is recorded; at most {most} is asked.")),
        Some((ph, seq)) if ph <= most => Found::met(ph.text(), vec![seq]),
        Some((ph, _)) if evidence.ferments => {
            Found::not_yet(format!("{} so far; at most {most} is asked. Measure again.", ph.text()))
        }
        Some((ph, seq)) => Found::failed(
            format!("{}, and at most {most} is asked", ph.text()),
            "Hold it and ask the process authority. A reading that was wrong is struck and taken again.",
            vec![seq],
        ),
    }
}

pub fn moisture_to_protein(most: Ratio, piece: &PieceKnown, evidence: &Evidence) -> Found {
    let of_it = evidence.readings.iter().filter(|reading| reading.lot.is_none_or(|lot| lot == piece.lot));
    let reading = latest(of_it.filter(|reading| matches!(reading.value, Value::MoistureToProtein(_))));
    match reading.map(|reading| (reading.value, reading.seq)) {
        Some((Value::MoistureToProtein(ratio), seq)) if ratio <= most => {
            Found::met(format!("{ratio} to 1; a naming check, no evidence of safety"), vec![seq])
        }
        Some((Value::MoistureToProtein(ratio), _)) => Found::not_yet(format!(
            "{ratio} to 1; at most {most} to 1 is asked for the name. Dry it on, or sell it under another name."
        )),
        _ => Found::not_yet(format!(
            "No moisture to protein is recorded; at most {most} to 1 is asked for the name."
        )),
    }
}

/// The latest water activity measured on this piece.
fn own(piece: &PieceKnown, evidence: &Evidence) -> Option<(WaterActivity, Seq)> {
    let of_it = evidence.readings.iter().filter(|reading| reading.lot == Some(piece.lot));
    let reading = latest(of_it.filter(|reading| matches!(reading.value, Value::WaterActivity(_))))?;
    let Value::WaterActivity(aw) = reading.value else { return None };
    Some((aw, reading.seq))
}

/// The water activity that counts for a piece: its own where each is asked, otherwise the highest of the sample, which
/// must be large enough and have the wettest piece in it. Or what is missing.
fn counted(
    sample: Option<u8>,
    piece: &PieceKnown,
    evidence: &Evidence,
) -> Result<(WaterActivity, Vec<Seq>), String> {
    let Some(sample) = sample else {
        let (aw, seq) = own(piece, evidence).ok_or("No water activity is measured on this piece.")?;
        return Ok((aw, vec![seq]));
    };
    let here: Vec<&PieceKnown> = evidence.pieces.iter().filter(|piece| piece.here).collect();
    let measured: Vec<(WaterActivity, Seq)> = here.iter().filter_map(|piece| own(piece, evidence)).collect();
    let asked = usize::from(sample).max(1).min(here.len());
    if measured.len() < asked {
        return Err(format!(
            "Water activity is measured on {} of the {asked} pieces that are asked of the batch.",
            measured.len()
        ));
    }
    let wettest = if here.len() == measured.len() { here.first().copied() } else { wettest(&here)? };
    if let Some(wettest) = wettest.filter(|wettest| own(wettest, evidence).is_none()) {
        return Err(format!("The piece that has lost the least is not measured: {}.", wettest.code));
    }
    let highest = measured.iter().map(|(aw, _)| *aw).max();
    let highest = highest.ok_or("No water activity is measured on a piece that is here.")?;
    Ok((highest, measured.into_iter().map(|(_, seq)| seq).collect()))
}

/// The piece with the least loss; the others' weigh-ins must be there to tell.
fn wettest<'a>(here: &[&'a PieceKnown]) -> Result<Option<&'a PieceKnown>, String> {
    if let Some(unknown) = here.iter().find(|piece| piece.loss().is_none()) {
        return Err(format!(
            "The wettest piece cannot be told: {} has not been weighed in. Weigh it in, or measure every piece.",
            unknown.code
        ));
    }
    Ok(here.iter().copied().min_by_key(|piece| piece.loss().map(|(percent, _)| percent)))
}

pub fn water_activity(
    most: WaterActivity,
    sample: Option<u8>,
    piece: &PieceKnown,
    evidence: &Evidence,
) -> Found {
    match counted(sample, piece, evidence) {
        Err(missing) => Found::not_yet(format!("{missing} At most {most} is asked.")),
        Ok((aw, by)) if aw <= most => Found::met(aw.text(), by),
        Ok((aw, _)) => Found::not_yet(format!(
            "{} measured; at most {most} is asked. Let it dry on and measure again.",
            aw.text()
        )),
    }
}

pub fn shelf_stable(sample: Option<u8>, piece: &PieceKnown, evidence: &Evidence) -> Found {
    let (aw, mut by) = match counted(sample, piece, evidence) {
        Ok(counted) => counted,
        Err(missing) => return Found::not_yet(missing),
    };
    let ph = ph_of(piece, evidence);
    // Where none is recorded it may be anything, so the column of the highest counts.
    let counts = ph.map_or(Ph::hundredths(1400), |(ph, _)| ph);
    by.extend(ph.map(|(_, seq)| seq));
    let said = ph.map_or_else(|| "no pH recorded".to_owned(), |(ph, _)| ph.text());
    match table_b(aw, counts) {
        Cell::NonTcs => Found::met(format!("{}, {said}", aw.text()), by),
        Cell::Assessment => Found::not_yet(format!(
            "{}, {said}: Table B asks for a product assessment, and cold until then. Let it dry on and measure again.",
            aw.text()
        )),
    }
}
