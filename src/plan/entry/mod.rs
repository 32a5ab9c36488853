//! What the book says of plans and their checks, and the rules of each.

mod answer;
mod document;
pub mod due;
mod plan;
#[cfg(test)]
mod tests;

pub use answer::{CheckAnswered, CheckMissed, Item, MonitoringObserved, answer, observe};
pub use document::{Asks, By, Document, Every, Hazard, HazardSort, PlannedCheck, Sort, Step, plan_check};
pub use plan::{Others, PlanDrafted, PlanReassessed, PlanSigned, sign};
