//! The lists that come with the program, a file a jurisdiction, in `seed/curing_limits/`.

use serde::Deserialize;

use super::{Jurisdiction, Limit};

const UNITED_STATES: &str = include_str!("../../../seed/curing_limits/united_states.json");
const EUROPEAN_UNION: &str = include_str!("../../../seed/curing_limits/european_union.json");
const GREAT_BRITAIN: &str = include_str!("../../../seed/curing_limits/great_britain.json");
const CANADA: &str = include_str!("../../../seed/curing_limits/canada.json");

/// One jurisdiction's limits.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Set {
    pub jurisdiction: Jurisdiction,
    /// What a page says of the set as a whole.
    pub note: String,
    pub limits: Vec<Limit>,
}

/// The set of a jurisdiction, as it is shipped.
///
/// # Errors
/// A list that cannot be read: a failure of the program, found by its first test.
pub fn shipped(of: Jurisdiction) -> Result<Set, serde_json::Error> {
    serde_json::from_str(match of {
        Jurisdiction::UnitedStates => UNITED_STATES,
        Jurisdiction::EuropeanUnion => EUROPEAN_UNION,
        Jurisdiction::GreatBritain => GREAT_BRITAIN,
        Jurisdiction::Canada => CANADA,
    })
}
