//! How often one may try to sign in. A few wrong tries cost nothing, each further one doubles the wait.
//!
//! NIST SP 800-63B, section 5.2.2, asks for a limit on failed tries; waits that grow keep a stranger from locking a
//! person out for good. The numbers are our own.

use time::Duration;

/// How many tries are free and how the waits grow after them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limit {
    pub free: u32,
    /// The first wait; each further try doubles it.
    pub first: Duration,
    pub longest: Duration,
}

/// Tries with one name.
pub const BY_NAME: Limit = Limit { free: 5, first: Duration::seconds(15), longest: Duration::minutes(15) };

/// Tries from one address. A whole shop may sit behind it.
pub const BY_ADDRESS: Limit =
    Limit { free: 40, first: Duration::seconds(15), longest: Duration::minutes(15) };

/// After so long without a try all is forgotten. Longer than the longest wait.
pub const FORGOTTEN: Duration = Duration::hours(1);

/// Wrong PINs of one person on one device, after which only the password helps.
pub const PINS: i16 = 5;

impl Limit {
    /// How long to wait yet: after so many tries, the last of them so long ago. `None`: try now.
    pub fn wait(self, tries: u32, since: Duration) -> Option<Duration> {
        let beyond = tries.checked_sub(self.free)?;
        let doubled = 2_i32.saturating_pow(beyond.min(16));
        let whole = (self.first * doubled).min(self.longest);
        (since < whole).then(|| whole - since)
    }
}

/// A wait in words, never shorter than it is: `15 seconds`, `2 minutes`.
pub fn words(wait: Duration) -> String {
    let seconds = (wait.whole_milliseconds() + 999) / 1000;
    let (n, word) = if seconds > 90 { ((seconds + 59) / 60, "minute") } else { (seconds, "second") };
    if n == 1 { format!("one {word}") } else { format!("{n} {word}s") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_few_wrong_tries_cost_nothing() {
        for tries in 0..5 {
            assert_eq!(BY_NAME.wait(tries, Duration::ZERO), None, "{tries}");
        }
    }

    #[test]
    fn each_further_try_doubles_the_wait_up_to_the_longest() {
        let waits: Vec<i64> =
            (5..14).filter_map(|n| BY_NAME.wait(n, Duration::ZERO)).map(Duration::whole_seconds).collect();
        assert_eq!(waits, [15, 30, 60, 120, 240, 480, 900, 900, 900]);
        assert_eq!(BY_NAME.wait(u32::MAX, Duration::ZERO), Some(BY_NAME.longest));
    }

    #[test]
    fn the_wait_runs_down_and_ends() {
        assert_eq!(BY_NAME.wait(6, Duration::seconds(20)), Some(Duration::seconds(10)));
        assert_eq!(BY_NAME.wait(6, Duration::seconds(30)), None);
        assert!(FORGOTTEN > BY_NAME.longest && FORGOTTEN > BY_ADDRESS.longest);
    }

    #[test]
    fn a_wait_is_told_in_words() {
        for (milliseconds, said) in
            [(1, "one second"), (14_200, "15 seconds"), (90_000, "90 seconds"), (91_000, "2 minutes")]
        {
            assert_eq!(words(Duration::milliseconds(milliseconds)), said);
        }
    }
}
