//! The pages of the trace: a file a page, and what they draw together.

mod draw;
pub mod index;
pub mod lot;
mod rows;
pub mod sent;
pub mod source;

use std::collections::{BTreeMap, BTreeSet};

use crate::book::Side;
use crate::ids::LotId;
use crate::measure::{Grams, Percent};
use crate::web::Me;

use super::db::Names;
use super::flow::Flow;
use super::parts;

/// The ways of a trace, each with its weight in hundredths of a gram.
type Links = BTreeMap<(Side, Side), i128>;

/// What a trace page draws: the ways, and the names along them.
struct Scope<'a> {
    me: &'a Me,
    names: &'a Names,
    links: &'a Links,
    /// What was asked for.
    here: &'a BTreeSet<LotId>,
    flow: &'a Flow,
    /// The lots and the supplier on the main way back.
    on: &'a BTreeSet<Side>,
}

impl Scope<'_> {
    /// What a lot took in altogether, as far as the trace shows it.
    fn weight(&self, lot: LotId) -> Grams {
        if let Some(took_in) = self.flow.reached.get(&lot) {
            return took_in.grams();
        }
        let into = self.links.iter().filter(|((_, to), _)| *to == Side::Lot(lot));
        let all: i128 = into.map(|(_, weight)| *weight).sum();
        match self.names.lots.get(&lot) {
            Some(known) if all == 0 => known.grams,
            _ => parts::grams(all),
        }
    }

    /// What share of a lot is of the source, where something else is in it too.
    fn share(&self, lot: LotId) -> Option<(Grams, Percent)> {
        let took_in = self.flow.reached.get(&lot).filter(|took_in| took_in.is_mixed())?;
        Some((took_in.share(), Percent::of(took_in.share(), took_in.grams())))
    }
}
