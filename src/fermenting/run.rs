//! One fermentation as the readings tell it: where its pieces stood and how warm it was there, its pH, and what that adds up
//! to by a rule set.

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

use super::entry::{Adopted, Outcome, ReadHere};
use crate::book::Seq;
use crate::ids::{BatchId, Named, PlaceId};
use crate::measure::{LotCode, Ph};
use crate::recipes::Stage;
use crate::standards::degree_hours::{
    Knot, PH_END, RuleSet, Segment, Stay, Unread, Verdict, Warmth, along, hours_left, warmth,
};

/// A batch that is, or was, left to ferment.
#[derive(Debug, Clone)]
pub struct Run {
    pub batch: BatchId,
    pub code: LotCode,
    pub product_name: String,
    pub stage: Stage,
    /// Whether its recipe is one that ferments.
    pub ferments: bool,
    /// When the mix was first stuffed, and by which entry.
    pub stuffed: Option<(OffsetDateTime, Seq)>,
    /// Readings of pH on the batch, its mix or a piece since it was stuffed, in order.
    pub phs: Vec<PhRead>,
    /// Where the pieces stood; pieces that went the same way together. One, as a rule.
    pub ways: Vec<Vec<Visit>>,
    /// Up to when it is reckoned: the end of the count, or now.
    pub until: OffsetDateTime,
}

/// A reading of pH.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PhRead {
    pub at: OffsetDateTime,
    pub seq: Seq,
    pub value: Ph,
    /// What it was taken on: the batch's code, or a piece's.
    pub name: String,
    pub instrument: String,
}

/// Some time that pieces stood in one place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Visit {
    pub place: Named<PlaceId>,
    pub from: OffsetDateTime,
    pub to: OffsetDateTime,
    /// The temperatures that were read there or right around it, some of them shortly before and after.
    pub temps: Vec<Temp>,
}

/// A temperature of a chamber.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Temp {
    pub at: OffsetDateTime,
    pub celsius: Decimal,
    /// The entry of a reading by hand; none for a logger's sample.
    pub seq: Option<Seq>,
    pub place: PlaceId,
}

/// The reading that ends the count: the first moment at which everything measured is at pH 5.3 or less; of several at that
/// moment the highest.
pub fn end_of(phs: &[PhRead]) -> Option<&PhRead> {
    phs.chunk_by(|a, b| a.at == b.at)
        .filter_map(|moment| moment.iter().max_by_key(|read| (read.value, read.seq)))
        .find(|highest| highest.value <= PH_END)
}

/// What a run adds up to by a rule set.
#[derive(Debug, Clone)]
pub struct Reckoned {
    pub segments: Vec<Segment>,
    pub unread: Vec<Unread>,
    /// None where no temperature is known at all.
    pub warmth: Option<Warmth>,
    /// None where nothing is known, or the printed table lists no temperature so high.
    pub verdict: Option<Verdict>,
    pub outcome: Outcome,
    /// The last temperature known, in the rule set's scale.
    pub present: Option<Decimal>,
    /// Which way of the pieces it was reckoned on: the one that comes closest to its limit.
    pub way: usize,
}

impl Run {
    pub fn end(&self) -> Option<&PhRead> {
        end_of(&self.phs)
    }

    /// A later reading above 5.3, where there is one: the pH does not rise again without a reason.
    pub fn rose(&self) -> Option<&PhRead> {
        let end = self.end()?;
        self.phs.iter().rev().find(|read| read.at > end.at && read.value > PH_END)
    }

    /// Adds it up by what the shop has adopted. Of several ways that its pieces went, the one nearest its limit counts.
    pub fn reckon(&self, by: &Adopted) -> Reckoned {
        let mut ways: Vec<Reckoned> = (0..self.ways.len()).map(|way| self.reckon_way(by, way)).collect();
        let mut unread: Vec<Unread> = ways.iter().flat_map(|way| way.unread.iter().copied()).collect();
        unread.sort_by_key(|gap| (gap.from, gap.to));
        unread.dedup();
        let closest = (0..ways.len()).max_by(|a, b| ways[*a].share().cmp(&ways[*b].share()));
        let Some(closest) = closest else { return Reckoned::nothing() };
        let mut worst = ways.swap_remove(closest);
        worst.outcome = outcome(worst.verdict.as_ref(), !unread.is_empty(), self.end().is_some());
        worst.unread = unread;
        worst
    }

    fn reckon_way(&self, by: &Adopted, way: usize) -> Reckoned {
        let set = by.rules.set();
        let visits = self.ways.get(way).map(Vec::as_slice).unwrap_or_default();
        let stays: Vec<Stay> = visits.iter().map(|visit| visit.stay(set)).collect();
        let (segments, unread) = along(&stays, by.gap());
        let warmth = warmth(&segments, set.base);
        let verdict = warmth.as_ref().and_then(|warmth| set.judge(by.method, by.edge, warmth));
        Reckoned {
            present: segments.last().map(|segment| segment.last),
            outcome: outcome(verdict.as_ref(), !unread.is_empty(), self.end().is_some()),
            segments,
            unread,
            warmth,
            verdict,
            way,
        }
    }

    /// What was read in each place on a way, for the book.
    pub fn read_here(&self, way: usize, gap: Duration) -> Vec<ReadHere> {
        let visits = self.ways.get(way).map(Vec::as_slice).unwrap_or_default();
        visits
            .iter()
            .map(|visit| {
                let used = || visit.temps.iter().filter(|temp| visit.uses(temp, gap));
                ReadHere {
                    place: visit.place.clone(),
                    from: visit.from,
                    to: visit.to,
                    readings: used().filter_map(|temp| temp.seq).collect(),
                    samples: used().filter(|temp| temp.seq.is_none()).count(),
                }
            })
            .collect()
    }

    /// Where the pieces of a way stood last.
    pub fn stands_in(&self, way: usize) -> Option<&Named<PlaceId>> {
        Some(&self.ways.get(way)?.last()?.place)
    }
}

impl Visit {
    fn stay(&self, set: &RuleSet) -> Stay {
        let knot = |temp: &Temp| Knot { at: temp.at, degrees: set.scale.of(temp.celsius.normalize()) };
        Stay { from: self.from, to: self.to, knots: self.temps.iter().map(knot).collect() }
    }

    /// Whether the temperature can have had a say in this visit.
    pub fn uses(&self, temp: &Temp, gap: Duration) -> bool {
        temp.at >= self.from - gap && temp.at <= self.to + gap
    }
}

impl Reckoned {
    fn nothing() -> Self {
        Self {
            segments: Vec::new(),
            unread: Vec::new(),
            warmth: None,
            verdict: None,
            outcome: Outcome::Unknown,
            present: None,
            way: 0,
        }
    }

    /// Hours left if the chamber stays as warm as it was last.
    pub fn hours_left(&self, by: &Adopted) -> Option<Decimal> {
        hours_left(by.rules.set(), by.method, self.warmth.as_ref()?, self.present?)
    }

    /// How much of the limit is used up; nothing where it is not known.
    fn share(&self) -> Option<Decimal> {
        self.verdict.as_ref().map(|verdict| verdict.figure / verdict.limit)
    }

    /// Hours in gaps.
    pub fn in_gaps(&self) -> Duration {
        self.segments.iter().filter(|segment| segment.gap).map(|segment| segment.to - segment.from).sum()
    }
}

fn outcome(verdict: Option<&Verdict>, unread: bool, ended: bool) -> Outcome {
    match verdict {
        Some(verdict) if verdict.over => Outcome::Over,
        Some(_) if unread => Outcome::Unknown,
        Some(_) if ended => Outcome::Met,
        Some(_) => Outcome::Within,
        None => Outcome::Unknown,
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::macros::datetime;
    use uuid::Uuid;

    use super::*;

    const STUFFED: OffsetDateTime = datetime!(2026-11-24 09:00 UTC);

    fn read(hours: i64, hundredths: u16, seq: i64) -> PhRead {
        PhRead {
            at: STUFFED + Duration::hours(hours),
            seq: Seq(seq),
            value: Ph::hundredths(hundredths),
            name: "26328-01".into(),
            instrument: String::new(),
        }
    }

    fn visit(hours: i64, celsius: Decimal) -> Visit {
        let place = PlaceId(Uuid::from_u128(1));
        Visit {
            place: Named::new(place, "cabinet"),
            from: STUFFED,
            to: STUFFED + Duration::hours(hours),
            temps: (0..=hours / 4)
                .map(|n| Temp { at: STUFFED + Duration::hours(4 * n), celsius, seq: Some(Seq(n)), place })
                .collect(),
        }
    }

    fn run(hours: i64, ways: Vec<Vec<Visit>>, phs: Vec<PhRead>) -> Run {
        Run {
            batch: BatchId(Uuid::from_u128(2)),
            code: LotCode::parse("26328-01").expect("a code"),
            product_name: "salami".into(),
            stage: Stage::Fermenting,
            ferments: true,
            stuffed: Some((STUFFED, Seq(1))),
            phs,
            ways,
            until: STUFFED + Duration::hours(hours),
        }
    }

    #[test]
    fn exactly_5_3_ends_the_count_and_5_31_does_not() {
        assert_eq!(end_of(&[read(40, 531, 1)]), None);
        assert_eq!(end_of(&[read(40, 531, 1), read(44, 530, 2)]).map(|end| end.seq), Some(Seq(2)));
    }

    #[test]
    fn of_two_pieces_measured_at_once_the_slower_one_counts() {
        assert_eq!(end_of(&[read(40, 525, 1), read(40, 545, 2)]), None);
        let later = [read(40, 525, 1), read(40, 545, 2), read(44, 520, 3), read(44, 529, 4)];
        assert_eq!(end_of(&later).map(|end| end.seq), Some(Seq(4)));
    }

    #[test]
    fn a_run_is_within_until_its_ph_is_there_and_over_when_the_limit_comes_first() {
        let canada = Adopted::canada();
        let going = run(40, vec![vec![visit(40, dec!(25.6))]], vec![]).reckon(&canada);
        assert_eq!((going.outcome, going.warmth.expect("warmth").degree_hours), (Outcome::Within, dec!(400)));
        let met = run(40, vec![vec![visit(40, dec!(25.6))]], vec![read(40, 530, 9)]).reckon(&canada);
        assert_eq!(met.outcome, Outcome::Met);
        let over = run(68, vec![vec![visit(68, dec!(25.6))]], vec![read(68, 520, 9)]).reckon(&canada);
        assert_eq!(over.outcome, Outcome::Over);
    }

    #[test]
    fn of_two_ways_the_one_nearest_its_limit_counts() {
        let both = run(40, vec![vec![visit(40, dec!(20.6))], vec![visit(40, dec!(25.6))]], vec![]);
        let reckoned = both.reckon(&Adopted::canada());
        assert_eq!((reckoned.way, reckoned.warmth.expect("warmth").degree_hours), (1, dec!(400)));
    }

    #[test]
    fn what_nobody_read_is_not_within() {
        let unread = Visit { temps: vec![], ..visit(40, dec!(25.6)) };
        let reckoned = run(40, vec![vec![unread]], vec![read(40, 510, 9)]).reckon(&Adopted::canada());
        assert_eq!((reckoned.outcome, reckoned.unread.len()), (Outcome::Unknown, 1));
        assert_eq!(run(40, vec![], vec![]).reckon(&Adopted::canada()).outcome, Outcome::Unknown);
    }

    #[test]
    fn a_ph_that_rose_again_is_named() {
        let rose = run(48, vec![], vec![read(40, 520, 1), read(46, 540, 2)]);
        assert_eq!(rose.rose().map(|read| read.seq), Some(Seq(2)));
        assert_eq!(run(48, vec![], vec![read(30, 540, 1), read(40, 520, 2)]).rose(), None);
    }
}
