//! SQL of cut lists, breakdowns and cuts.

mod apply;
mod compare;
mod lists;
mod read;

pub use compare::{Average, Parent, parent, usual};
pub use lists::{CutList, CutListLine, cut_list, cut_list_lines, cut_lists, list_of_last_time};
pub use read::{
    Closed, Expected, Listed, Open, Waiting, Weighed, closed, cuts, expected, listed, on_the_block,
    places_of_last_time, root_of, waiting,
};
