//! The pages of the plans: a file a page.

pub mod answer;
pub mod check;
pub mod describe;
pub mod index;
pub mod panel;
pub mod plan;
pub mod pressing;
pub mod round;
pub mod step;
pub mod views;

use super::db::{self, Listed};
use super::entry::{Document, PlanDrafted};
use crate::book::Pen;
use crate::error::{Error, Result};
use crate::ids::PlanId;

/// Words that stand wherever a plan does.
pub const CAUTION: &str = "A starting plan is a point to begin at and approved by nobody. The shop reassesses it for its own products and \
     rooms; the regulator and a process authority decide.";

/// The plan that a draft is written on.
async fn drafted(pen: &mut Pen, id: PlanId) -> Result<Listed> {
    db::one(pen, id).await?.ok_or(Error::NotFound)
}

/// Signs the draft with what was changed in it.
async fn redraft(pen: &mut Pen, before: Listed, document: Document, changed: String) -> Result<()> {
    pen.append(PlanDrafted { plan: before.id, document, shipped: before.shipped, changed }).await?;
    Ok(())
}
