//! Which readings are in question: those that the next calibration of their instrument found failing, and no others.

use time::OffsetDateTime;

use crate::book::Seq;

/// A calibration that stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Tried {
    pub seq: Seq,
    pub at: OffsetDateTime,
    pub found_met: bool,
    pub left_met: bool,
}

impl Tried {
    /// Whether what is read from here on begins anew: it was within its tolerance as it was found, or was set right.
    pub fn passed(&self) -> bool {
        self.found_met || self.left_met
    }

    fn order(&self) -> (OffsetDateTime, Seq) {
        (self.at, self.seq)
    }
}

/// The calibration that says what a figure read at this moment is worth: the first one then or later.
pub fn decided_by(at: OffsetDateTime, tried: &[Tried]) -> Option<&Tried> {
    tried.iter().filter(|one| one.at >= at).min_by_key(|one| one.order())
}

/// The calibration that puts a figure read at this moment in question: where the first one since failed as it was found.
pub fn questioned_by(at: OffsetDateTime, tried: &[Tried]) -> Option<&Tried> {
    decided_by(at, tried).filter(|one| !one.found_met)
}

/// The last calibration before a figure was read, which is what it was read on the strength of.
pub fn rested_on(at: OffsetDateTime, tried: &[Tried]) -> Option<&Tried> {
    tried.iter().filter(|one| one.at < at).max_by_key(|one| one.order())
}

/// When the instrument last passed before a calibration at this moment: what was read after that, up to the calibration, is
/// in question where it fails.
pub fn passed_before(at: OffsetDateTime, tried: &[Tried]) -> Option<OffsetDateTime> {
    tried.iter().filter(|one| one.at < at && one.passed()).map(|one| one.at).max()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use time::Duration;

    use super::*;

    fn at(minute: i64) -> OffsetDateTime {
        OffsetDateTime::UNIX_EPOCH + Duration::minutes(minute)
    }

    fn tried(seq: i64, minute: i64, found_met: bool, left_met: bool) -> Tried {
        Tried { seq: Seq(seq), at: at(minute), found_met, left_met }
    }

    #[test]
    fn a_failure_reaches_back_to_the_last_pass_and_no_further() {
        let all = [tried(1, 10, true, true), tried(2, 20, false, true), tried(3, 30, true, true)];
        let questioned = |minute| questioned_by(at(minute), &all).map(|one| one.seq.0);
        assert_eq!(questioned(10), None, "read at the moment at which it passed");
        assert_eq!(questioned(11), Some(2));
        assert_eq!(questioned(20), Some(2), "read at the moment at which it failed");
        assert_eq!(questioned(21), None);
        assert_eq!(questioned(31), None, "nobody has looked since");
        assert_eq!(rested_on(at(15), &all).map(|one| one.seq.0), Some(1));
        assert_eq!(rested_on(at(10), &all), None);
    }

    #[test]
    fn one_that_never_passed_is_in_question_from_its_first_reading() {
        let all = [tried(5, 20, false, false), tried(6, 40, false, true)];
        assert_eq!(questioned_by(at(-1_000), &all).map(|one| one.seq.0), Some(5));
        assert_eq!(questioned_by(at(30), &all).map(|one| one.seq.0), Some(6));
        assert_eq!(passed_before(at(40), &all), None);
    }

    proptest! {
        /// Said the other way round: a reading is in question when some failure comes after it with no pass between.
        #[test]
        fn a_reading_is_in_question_when_a_failure_follows_with_no_pass_between(
            marks in prop::collection::vec((0_i64..60, any::<bool>(), any::<bool>()), 0..12),
            read in 0_i64..60,
        ) {
            let all: Vec<Tried> = (1..).zip(&marks)
                .map(|(seq, (minute, found, left))| tried(seq, *minute, *found, *left)).collect();
            let by_each = all.iter().any(|failed| {
                let between = all.iter().any(|one| {
                    one.passed() && one.at >= at(read) && one.order() < failed.order()
                });
                !failed.found_met && failed.at >= at(read) && !between
            });
            // A failure that was set right is itself between what was read before it and a later failure, so the two ways agree.
            let questioned = questioned_by(at(read), &all);
            prop_assert_eq!(questioned.is_some(), by_each);
            if let Some(failed) = questioned {
                let since = passed_before(failed.at, &all);
                prop_assert!(since.is_none_or(|since| at(read) > since) && at(read) <= failed.at);
            }
        }

        /// What a failure lists when it is signed is what asks for it afterwards, reading by reading.
        #[test]
        fn what_a_failure_lists_is_in_question_and_what_it_does_not_list_is_not(
            marks in prop::collection::btree_map(0_i64..60, (any::<bool>(), any::<bool>()), 1..12),
            reads in prop::collection::vec(0_i64..60, 0..20),
        ) {
            let all: Vec<Tried> = (1..).zip(&marks)
                .map(|(seq, (minute, (found, left)))| tried(seq, *minute, *found, *left)).collect();
            for read in reads {
                let listed = all.iter().filter(|failed| !failed.found_met).any(|failed| {
                    let since = passed_before(failed.at, &all);
                    at(read) <= failed.at && since.is_none_or(|since| at(read) > since)
                });
                prop_assert_eq!(listed, questioned_by(at(read), &all).is_some());
            }
        }
    }
}
