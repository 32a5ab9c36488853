//! The logger in the chamber: hung up four weeks ago, it sends what it measured once a week.

use std::fmt::Write as _;

use anyhow::Result;
use time::{Duration, OffsetDateTime};

use super::super::teller::Teller;

/// How many days ago it was hung up.
const BEGUN: i64 = 28;
/// Between two of its samples.
const EVERY: Duration = Duration::minutes(30);

/// The logger, and until when it has sent.
pub struct Logger {
    token: String,
    sent: OffsetDateTime,
}

/// It is admitted on its day, and sends from there on.
pub async fn logger(t: &mut Teller, days_ago: i64, logger: &mut Option<Logger>) -> Result<()> {
    if days_ago == BEGUN {
        t.at(days_ago, 19, 10)?;
        t.is("petra");
        let token = t.admits("chamber logger", t.id("place chamber 1")?).await?;
        *logger = Some(Logger { token, sent: t.app.book.clock.now() });
    }
    let Some(logger) = logger else { return Ok(()) };
    if days_ago == BEGUN || !(days_ago % 7 == 0 || days_ago == 1) {
        return Ok(());
    }
    t.at(days_ago, 19, 10)?;
    let now = t.app.book.clock.now();
    let mut csv = String::from("time,temperature,humidity\n");
    while logger.sent + EVERY <= now {
        logger.sent += EVERY;
        let (tenths, humidity) = measured(logger.sent);
        writeln!(csv, "{},{}.{},{humidity}", logger.sent.unix_timestamp(), tenths / 10, tenths % 10)?;
    }
    t.hears(&logger.token, csv).await
}

/// Tenths of a degree and %RH: warmer and drier by day, with the small steps of a fan that comes and goes.
fn measured(at: OffsetDateTime) -> (i64, i64) {
    let n = at.unix_timestamp() / EVERY.whole_seconds();
    let noon = 24 - (n % 48 - 24).abs();
    (121 + noon / 3 + (n * 7) % 4, 78 - noon / 6 - (n * 5) % 3)
}
