//! The one place that asks what time it is.

use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

use time::OffsetDateTime;

/// Where the server's time comes from.
#[derive(Debug, Clone, Default)]
pub enum Clock {
    /// The machine's clock.
    #[default]
    Machine,
    /// A time that is told: for tests, and for the demo, whose ten weeks are written in seconds.
    /// Microseconds since 1970-01-01 UTC.
    Told(Arc<AtomicI64>),
}

impl Clock {
    /// A clock that stands still at this moment until it is told another.
    pub fn told(at: OffsetDateTime) -> Self {
        Self::Told(Arc::new(AtomicI64::new(microseconds(at))))
    }

    pub fn now(&self) -> OffsetDateTime {
        match self {
            #[allow(clippy::disallowed_methods, reason = "this is the place that may")]
            Self::Machine => OffsetDateTime::now_utc(),
            Self::Told(at) => {
                let nanoseconds = i128::from(at.load(Ordering::SeqCst)) * 1000;
                OffsetDateTime::from_unix_timestamp_nanos(nanoseconds).unwrap_or(OffsetDateTime::UNIX_EPOCH)
            }
        }
    }

    /// Sets a told clock. The machine's clock is not ours to set.
    pub fn tell(&self, now: OffsetDateTime) {
        if let Self::Told(at) = self {
            at.store(microseconds(now), Ordering::SeqCst);
        }
    }
}

fn microseconds(at: OffsetDateTime) -> i64 {
    i64::try_from(at.unix_timestamp_nanos() / 1000).unwrap_or_default()
}
