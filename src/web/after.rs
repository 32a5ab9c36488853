//! What rooms further down have to say to something that was just signed, in the same breath: with the same pen, in the same
//! transaction.

use std::pin::Pin;

use super::{App, Me};
use crate::book::{Pen, Seq};
use crate::error::Result;
use crate::ids::{BatchId, LotId, PlaceId};

/// What was signed about: a reading of a place, a lot or a batch, samples of a place, a stage of a batch; or the line that was
/// struck.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Touched {
    Place(PlaceId),
    Lot(LotId),
    Batch(BatchId),
    Struck(Seq),
}

/// What a room does after something was signed. It may sign what follows from it.
pub type After = for<'a> fn(&'a mut Pen, &'a Me, Touched) -> Afterwards<'a>;

pub type Afterwards<'a> = Pin<Box<dyn Future<Output = Result<()>> + Send + 'a>>;

impl App {
    /// Lets every room that `app.rs` names have its say, before the pen is laid down.
    pub async fn after(&self, pen: &mut Pen, me: &Me, touched: Touched) -> Result<()> {
        for after in self.after {
            after(pen, me, touched).await?;
        }
        Ok(())
    }
}
