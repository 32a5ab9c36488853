//! The release: every criterion of the family is met for every piece that goes, and the entry keeps by what.

use super::family::FamilyWritten;
use super::judge::{Of, Stood};
use crate::batches::entry::{MetThen, PiecesReleased, Shown};
use crate::error::{Errors, Refusal};
use crate::evidence::Found;
use crate::ids::{LotId, ReviewId};

/// A release with all that was met written into it.
///
/// # Errors
/// Each criterion that is not met, at the pieces, by name.
pub fn release(
    mut released: PiecesReleased,
    family: &FamilyWritten,
    version: u32,
    stood: &[Stood],
    review: Option<ReviewId>,
) -> Result<PiecesReleased, Errors> {
    let mut errors = Errors::default();
    let mut met = Vec::new();
    for one in stood {
        match &one.of {
            Of::Batch(found) => {
                keep(&mut met, &mut errors, one, None, Some(found), &released.code.to_string())
            }
            Of::Pieces(_) => {
                for piece in &released.pieces {
                    let found = one.of_piece(piece.lot.id);
                    keep(&mut met, &mut errors, one, Some(piece.lot.id), found, &piece.lot.name);
                }
            }
        }
    }
    if family.criteria.len() != stood.len() {
        errors
            .push(Refusal::at("pieces", "A criterion of the family was not looked at. Nothing is released."));
    }
    if family.asks_review() && review.is_none() {
        errors.push(Refusal::at("pieces", "No review of the records stands."));
    }
    if !errors.is_empty() {
        return Err(errors);
    }
    released.shown = Some(Shown { family: family.named(), version, review, met });
    Ok(released)
}

fn keep(
    met: &mut Vec<MetThen>,
    errors: &mut Errors,
    one: &Stood,
    piece: Option<LotId>,
    found: Option<&Found>,
    name: &str,
) {
    let criterion = one.criterion.rule.words();
    let refuse = |why: &str| Refusal::at("pieces", format!("{name}: {criterion} is not met. {why}"));
    match found {
        Some(Found::Met { figure, by }) => {
            met.push(MetThen { criterion, piece, figure: figure.clone(), by: by.clone() });
        }
        Some(Found::NotYet { missing }) => errors.push(refuse(missing)),
        Some(Found::Failed { what, may, .. }) => errors.push(refuse(&format!("{what}. {may}"))),
        None => errors.push(refuse("Nothing is known of this piece.")),
    }
}
