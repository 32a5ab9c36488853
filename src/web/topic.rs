//! What rooms further down add to the pages of rooms above them, which know nothing of them.

use std::pin::Pin;

use super::{App, Me};
use crate::book::Seq;
use crate::error::Result;
use crate::ids::{BatchId, DeliveryId, DeviationId, InstrumentId, LotId, SupplierId};

/// What a page is about, where rooms further down may have something to say to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Topic {
    Supplier(SupplierId),
    Delivery(DeliveryId),
    Lot(LotId),
    Batch(BatchId),
    Deviation(DeviationId),
    Instrument(InstrumentId),
    /// A line of the book.
    Line(Seq),
}

/// A part of a page that a room further down draws: a section of HTML, or nothing where it has nothing to say.
#[derive(Clone, Copy)]
pub enum Part {
    /// On a batch's page alone.
    OfBatch(for<'a> fn(&'a App, &'a Me, BatchId) -> Drawn<'a>),
    /// On the page of every topic that it knows.
    Of(for<'a> fn(&'a App, &'a Me, Topic) -> Drawn<'a>),
}

/// What a part draws, when it is drawn.
pub type Drawn<'a> = Pin<Box<dyn Future<Output = Result<Option<String>>> + Send + 'a>>;

impl App {
    /// What every room that `app.rs` names adds to a page, in their order.
    pub async fn parts(&self, me: &Me, topic: Topic) -> Result<Vec<String>> {
        let mut drawn = Vec::new();
        for part in self.parts {
            drawn.extend(match (part, topic) {
                (Part::OfBatch(draw), Topic::Batch(batch)) => draw(self, me, batch).await?,
                (Part::OfBatch(_), _) => None,
                (Part::Of(draw), topic) => draw(self, me, topic).await?,
            });
        }
        Ok(drawn)
    }
}
