//! The story, day by day. Everything in it is invented: the shop, its people, the farms, the customers, the figures.

mod air;
mod batches;
mod block;
mod door;
mod drying;
mod founding;
mod instruments;
mod odds;
mod papers;
mod plans;
mod recipes;
mod release;
mod warm;

use anyhow::Result;

use super::DAYS;
use super::teller::Teller;

pub use founding::OWNER;

/// Tells the whole story: each day's work in its order, from seventy days ago to yesterday evening.
pub async fn tell(t: &mut Teller) -> Result<()> {
    founding::open_the_book(t).await?;
    let mut batches = Vec::new();
    let mut logger = None;
    for days_ago in (1..DAYS).rev() {
        instruments::calibrated(t, days_ago).await?;
        plans::before_work(t, days_ago).await?;
        drying::morning(t, days_ago).await?;
        drying::weigh_in(t, days_ago, &batches).await?;
        drying::thought_dry(t, days_ago, &batches).await?;
        door::deliveries(t, days_ago).await?;
        block::breakdowns(t, days_ago).await?;
        batches::make(t, days_ago, &mut batches).await?;
        warm::hung(t, days_ago).await?;
        batches::go_on(t, days_ago, &batches).await?;
        odds::jobs(t, days_ago, &batches).await?;
        papers::attached(t, days_ago, &batches).await?;
        door::leave(t, days_ago, &batches).await?;
        drying::evening(t, days_ago).await?;
        warm::found(t, days_ago).await?;
        air::logger(t, days_ago, &mut logger).await?;
    }
    Ok(())
}
