//! All SQL of the plans.

mod apply;
mod due;
mod reads;

pub use due::{Asked, Made, Subjected, asked, left, made, subjects, work_days};
pub use reads::{
    Change, Listed, Observed, Reassessed, Version, changes_since, covered, list, observations, of_batch, one,
    reassessments, standing, versions,
};
