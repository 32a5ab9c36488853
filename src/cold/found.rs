//! Whether a batch had its time and its cold of cure.

use std::collections::BTreeSet;

use rust_decimal::Decimal;
use sqlx::PgConnection;

use super::db::{self, Curing, Measured, PlaceLimit, Stay, Warmed};
use super::entry::Excursion;
use crate::book::Seq;
use crate::deviations::{self, Closing};
use crate::error::{Error, Result};
use crate::evidence::Found;
use crate::ids::{BatchId, Named};
use crate::measure::Celsius;
use crate::recipes::Stage;
use crate::standards::cold::{Log, Sample, Side};
use crate::standards::{cut_off, found_temperature};

const MAY: &str = "Somebody who may decide says in its deviation what becomes of the pieces, with the shop's process authority; the \
    excursion stays in the book.";

/// All that the criterion is held against.
struct Cured {
    planned: i64,
    curings: Vec<Curing>,
    limits: Vec<PlaceLimit>,
    measured: Vec<Measured>,
    decided: Decided,
}

/// Whether the recipe's hours of curing passed in the temperatures that the shop's limits allow. What is colder than the least
/// does not count as time of cure; a time warmer than the most is an excursion and is named. Where its deviation was decided and
/// the hold lifted, that decision stands for it.
pub async fn cold_found(db: &mut PgConnection, batch: BatchId) -> Result<Found> {
    let cured = cured(db, batch).await?.ok_or(Error::NotFound)?;
    if cured.planned == 0 && cured.curings.is_empty() {
        return Ok(Found::met("the recipe asks for no curing", Vec::new()));
    }
    if cured.curings.is_empty() {
        return Ok(Found::not_yet("It was not put to cure yet."));
    }
    if cured.measured.len() < cured.curings.len() {
        return Ok(Found::not_yet("A stage of curing names no place."));
    }
    Ok(judge(cured.planned, &cured.curings, &cured.limits, &cured.measured, &cured.decided))
}

/// What a batch's cure was, and what is recorded of its places; nothing for a batch that is not there. Nothing is measured where
/// a stage names no place.
async fn cured(db: &mut PgConnection, batch: BatchId) -> Result<Option<Cured>> {
    let Some(planned) = db::planned_hours(db, batch).await? else { return Ok(None) };
    let curings = db::curings(db, batch).await?;
    let stay = |curing: &Curing| Some(Stay { place: curing.place?, from: curing.from, to: curing.to });
    let stays: Vec<Stay> = curings.iter().map(stay).collect::<Option<_>>().unwrap_or_default();
    let places: Vec<_> = stays.iter().map(|stay| stay.place).collect();
    let limits = db::limits(db, &places, Some((batch, Stage::Curing))).await?;
    let measured = db::measured(db, &stays).await?;
    // Mostly nothing was too warm, and there is nothing to decide.
    let too_warm = stays.iter().zip(&measured).any(|(stay, measured)| {
        let most = limits.iter().find(|limit| limit.place == stay.place).and_then(|limit| limit.most);
        most.is_some_and(|most| measured.log.samples().iter().any(|sample| sample.value > most))
    });
    let decided = if too_warm { decided(db, batch).await? } else { Decided::default() };
    Ok(Some(Cured { planned, curings, limits, measured, decided }))
}

async fn decided(db: &mut PgConnection, batch: BatchId) -> Result<Decided> {
    let warmed = db::warmed(db, batch).await?;
    let ids: Vec<_> = warmed.iter().map(|one| one.deviation).collect();
    let closings = deviations::closings(db, &ids).await?;
    Ok(Decided { warmed, closings })
}

/// What of a batch's cure was above the limit and has no deviation in which it can be decided.
pub async fn undecided(db: &mut PgConnection, batch: BatchId) -> Result<Vec<Excursion>> {
    let cured = cured(db, batch).await?.ok_or(Error::NotFound)?;
    let stays = cured.curings.iter().zip(&cured.measured);
    Ok(stays
        .filter_map(|(curing, measured)| cured.decided.open_for(curing, measured, &cured.limits))
        .collect())
}

/// The deviations of temperature that concern the batch, and how they were decided.
#[derive(Debug, Default)]
struct Decided {
    warmed: Vec<Warmed>,
    closings: Vec<Closing>,
}

impl Decided {
    /// The deviations of a stay.
    fn of<'a>(&'a self, curing: &'a Curing) -> impl Iterator<Item = &'a Warmed> {
        self.warmed.iter().filter(|one| {
            curing.place.is_some_and(|place| one.places.contains(&place))
                && one.at >= curing.from
                && curing.to.is_none_or(|to| one.at <= to)
        })
    }

    fn closing(&self, one: &Warmed) -> Option<&Closing> {
        self.closings.iter().find(|closing| closing.deviation == one.deviation)
    }

    /// What was above the limit in this stay since the last decision on it; nothing where a deviation of it is still open.
    fn open_for(&self, curing: &Curing, measured: &Measured, limits: &[PlaceLimit]) -> Option<Excursion> {
        let place = Named::new(curing.place?, curing.place_name.clone()?);
        let most = limits.iter().find(|limit| limit.place == place.id)?.most?;
        let mut last = None;
        for one in self.of(curing) {
            last = last.max(Some(self.closing(one)?.last()));
        }
        let log = &measured.log;
        let speaks = |sample: &&Sample| sample.value > most && last.is_none_or(|last| sample.at > last);
        let above: Vec<&Sample> = log.samples().iter().filter(speaks).collect();
        Some(Excursion {
            place,
            most,
            warmest: above.iter().map(|sample| sample.value).max()?,
            from: above.first()?.at,
            until: above.last()?.at,
            minutes: log.beyond(Side::Above, most)?.minutes,
        })
    }

    /// The decisions that let go what was too warm in this stay: every deviation of its place is decided, of at least one of them
    /// the hold was lifted, and nothing was above the limit after the last of them.
    fn on(&self, curing: &Curing, log: &Log, most: Celsius) -> Option<Vec<(Vec<Seq>, String)>> {
        let mut decisions = Vec::new();
        let mut last = None;
        for one in self.of(curing) {
            let closing = self.closing(one)?;
            last = last.max(Some(closing.last()));
            decisions.extend(closing.let_go().map(|words| (closing.by(), words)));
        }
        let last = last?;
        let again = log.samples().iter().any(|sample| sample.at > last && sample.value > most);
        (!again && !decisions.is_empty()).then_some(decisions)
    }
}

fn judge(
    planned: i64,
    curings: &[Curing],
    limits: &[PlaceLimit],
    measured: &[Measured],
    decided: &Decided,
) -> Found {
    let mut by: BTreeSet<Seq> = BTreeSet::new();
    let mut counted = Decimal::ZERO;
    let mut over = Vec::new();
    let mut let_go = Vec::new();
    let mut missing = Vec::new();
    for (curing, measured) in curings.iter().zip(measured) {
        let place = curing.place_name.as_deref().unwrap_or_default();
        by.extend([Some(curing.seq), curing.ended].into_iter().flatten());
        by.extend(&measured.by);
        let limit = limits.iter().find(|limit| Some(limit.place) == curing.place);
        let Some((limit, most)) = limit.and_then(|limit| Some((limit, limit.most?))) else {
            missing.push(format!("no limit of temperature is in force for {place}"));
            continue;
        };
        let log = &measured.log;
        let Some(warm) = log.beyond(Side::Above, most) else {
            missing.push(format!("no temperature of {place} was read while it cured there"));
            continue;
        };
        if !warm.minutes.is_zero() {
            let warmest = log.warmest().map(|sample| found_temperature(sample.value)).unwrap_or_default();
            let was = format!(
                "{place} was above {} for {} min, up to {warmest}",
                found_temperature(most),
                cut_off(warm.minutes, 1)
            );
            match decided.on(curing, log, most) {
                None => over.push(was),
                Some(decisions) => {
                    counted += warm.minutes;
                    by.extend(decisions.iter().flat_map(|(lines, _)| lines));
                    let words: Vec<String> = decisions.into_iter().map(|(_, words)| words).collect();
                    let_go.push(format!("; {was}; {}", words.join("; ")));
                }
            }
        }
        let cold = limit.least.and_then(|least| log.beyond(Side::Below, least));
        counted += log.minutes() - warm.minutes - cold.map_or(Decimal::ZERO, |cold| cold.minutes);
        if let Some(gap) = log.longest_gap() {
            missing.push(format!("no reading of {place} for {}", gap.words()));
        }
    }
    let by: Vec<Seq> = by.into_iter().collect();
    if !over.is_empty() {
        return Found::failed(over.join("; "), MAY, by);
    }
    let hours = counted / Decimal::from(60);
    if curings.iter().any(|curing| curing.to.is_none()) {
        missing.push("it is still curing".into());
    }
    if hours < Decimal::from(planned) {
        missing.push(format!(
            "{} h of cure within the limits are recorded, the recipe plans {planned} h",
            cut_off(hours, 1)
        ));
    }
    if missing.is_empty() {
        let how = if let_go.is_empty() { ", within the limits".into() } else { let_go.concat() };
        Found::met(format!("{} h of {planned} h planned{how}", cut_off(hours, 1)), by)
    } else {
        Found::not_yet(format!("{}.", missing.join("; ")))
    }
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;
    use time::{Duration, OffsetDateTime};
    use uuid::Uuid;

    use super::*;
    use crate::deviations::ByHand;
    use crate::ids::{DeviationId, PlaceId};

    const START: OffsetDateTime = datetime!(2026-11-02 08:00 UTC);
    const FRIDGE: PlaceId = PlaceId(Uuid::from_u128(1));

    fn curing(hours: i64, open: bool) -> Curing {
        let to = (!open).then(|| START + Duration::hours(hours));
        let ended = to.map(|_| Seq(9));
        Curing { seq: Seq(5), from: START, to, ended, place: Some(FRIDGE), place_name: Some("fridge".into()) }
    }

    fn limit() -> PlaceLimit {
        let (least, most) = (Some(Celsius::whole(2)), Some(Celsius::whole(4)));
        PlaceLimit { place: FRIDGE, least, most, names: "Fridges".into(), sources: "plan".into() }
    }

    fn read(hours: i64, samples: &[(i64, i32)]) -> Measured {
        let samples = samples
            .iter()
            .map(|(hour, hundredths)| Sample {
                at: START + Duration::hours(*hour),
                value: Celsius::hundredths(*hundredths),
            })
            .collect();
        let log = Log::new(START, START + Duration::hours(hours), samples, Duration::hours(24));
        Measured { log, by: vec![Seq(6)] }
    }

    #[test]
    fn the_planned_hours_within_the_limits_are_met_to_the_hour() {
        let steady = [(0, 400), (24, 400), (48, 200)];
        let found = judge(48, &[curing(48, false)], &[limit()], &[read(48, &steady)], &Decided::default());
        assert_eq!(
            found,
            Found::met("48 h of 48 h planned, within the limits", vec![Seq(5), Seq(6), Seq(9)])
        );
        let Found::NotYet { missing } =
            judge(49, &[curing(48, false)], &[limit()], &[read(48, &steady)], &Decided::default())
        else {
            panic!("met too early")
        };
        assert_eq!(missing, "48 h of cure within the limits are recorded, the recipe plans 49 h.");
    }

    #[test]
    fn a_hundredth_too_warm_is_an_excursion_and_a_gap_is_named() {
        let warm = judge(
            24,
            &[curing(24, false)],
            &[limit()],
            &[read(24, &[(0, 400), (24, 401)])],
            &Decided::default(),
        );
        let Found::Failed { what, .. } = warm else { panic!("not failed") };
        assert!(what.starts_with("fridge was above 39.2 °F (4.0 °C) for 1440 min"), "{what}");
        let gap = judge(
            50,
            &[curing(50, false)],
            &[limit()],
            &[read(50, &[(0, 300), (24, 300), (50, 300)])],
            &Decided::default(),
        );
        assert_eq!(gap, Found::not_yet("no reading of fridge for 26 h."));
    }

    #[test]
    fn what_was_colder_does_not_count_and_what_lasts_is_not_over() {
        let cold = judge(
            24,
            &[curing(24, false)],
            &[limit()],
            &[read(24, &[(0, 100), (24, 300)])],
            &Decided::default(),
        );
        assert_eq!(
            cold,
            Found::not_yet("12 h of cure within the limits are recorded, the recipe plans 24 h.")
        );
        let open = judge(
            24,
            &[curing(24, true)],
            &[limit()],
            &[read(24, &[(0, 300), (24, 300)])],
            &Decided::default(),
        );
        assert_eq!(open, Found::not_yet("it is still curing."));
        let none = judge(24, &[curing(24, false)], &[], &[read(24, &[(0, 300)])], &Decided::default());
        assert!(!none.is_met());
        let unread = judge(24, &[curing(24, false)], &[limit()], &[read(24, &[])], &Decided::default());
        assert!(
            matches!(unread, Found::NotYet { missing } if missing.contains("no temperature of fridge was read"))
        );
    }

    fn decided(closed_after: i64, lifted: &[&str]) -> Decided {
        let deviation = DeviationId(Uuid::from_u128(4));
        let closing = Closing {
            deviation,
            seq: Seq(8),
            at: START + Duration::hours(closed_after),
            initials: "WT".into(),
            words: "the core was cold".into(),
            lifted: lifted.iter().map(|code| (*code).to_owned()).collect(),
            by_hand: vec![],
        };
        let warmed = Warmed { deviation, places: vec![FRIDGE], at: START + Duration::hours(12) };
        Decided { warmed: vec![warmed], closings: vec![closing] }
    }

    #[test]
    fn an_excursion_whose_hold_was_lifted_is_met_by_that_decision_as_long_as_it_stays_within_the_limits_after_it()
     {
        let samples = [(0, 300), (11, 400), (12, 500), (13, 400), (25, 300)];
        let of = |planned: i64, decided: &Decided| {
            judge(planned, &[curing(25, false)], &[limit()], &[read(25, &samples)], decided)
        };
        let Found::Met { figure, by } = of(25, &decided(20, &["26328-01.1"])) else { panic!("not met") };
        assert_eq!(
            figure,
            "25 h of 25 h planned; fridge was above 39.2 °F (4.0 °C) for 120 min, up to 41.0 °F (5.0 °C); \
             hold lifted by WT, line 8, of 26328-01.1: the core was cold"
        );
        assert!(by.contains(&Seq(8)));
        assert!(matches!(of(26, &decided(20, &["26328-01.1"])), Found::NotYet { .. }));
        // Nothing let go, nothing decided yet, or too warm again after it was decided.
        assert!(matches!(of(23, &decided(20, &[])), Found::Failed { .. }));
        let open = Decided { closings: vec![], ..decided(20, &["26328-01.1"]) };
        assert!(matches!(of(23, &open), Found::Failed { .. }));
        assert!(matches!(of(23, &decided(11, &["26328-01.1"])), Found::Failed { .. }));
        let elsewhere = Warmed { places: vec![], ..decided(20, &[]).warmed.remove(0) };
        let elsewhere = Decided { warmed: vec![elsewhere], ..decided(20, &["26328-01.1"]) };
        assert!(matches!(of(23, &elsewhere), Found::Failed { .. }));
    }

    #[test]
    fn what_was_too_warm_and_that_no_deviation_speaks_of_is_named_until_one_does() {
        let samples = [(0, 300), (11, 400), (12, 500), (13, 620), (14, 400), (25, 300)];
        let of = |decided: &Decided| decided.open_for(&curing(25, false), &read(25, &samples), &[limit()]);
        let found = of(&Decided::default()).expect("nothing speaks of it");
        assert_eq!((found.from, found.until), (START + Duration::hours(12), START + Duration::hours(13)));
        assert_eq!((found.most, found.warmest), (Celsius::whole(4), Celsius::hundredths(620)));
        // Its deviation is open, or decided, whichever way.
        assert_eq!(of(&Decided { closings: vec![], ..decided(20, &[]) }), None);
        assert_eq!(of(&decided(20, &[])), None);
        // Decided before the second reading above the limit: that one is left.
        let later = of(&decided(12, &["26328-01.1"])).expect("too warm again");
        assert_eq!(later.from, START + Duration::hours(13));
        let cold = read(25, &[(0, 300), (25, 400)]);
        assert_eq!(Decided::default().open_for(&curing(25, false), &cold, &[limit()]), None);
    }

    #[test]
    fn what_was_kept_and_let_go_by_hand_later_is_met_by_that() {
        let samples = [(0, 300), (11, 400), (12, 500), (13, 400), (25, 300)];
        let mut kept = decided(20, &[]);
        kept.closings[0].by_hand.push(ByHand {
            seq: Seq(12),
            at: START + Duration::hours(60),
            initials: "RE".into(),
            words: "the process authority wrote".into(),
            code: "26328-01.1".into(),
        });
        let found = judge(25, &[curing(25, false)], &[limit()], &[read(25, &samples)], &kept);
        let Found::Met { figure, by } = found else { panic!("not met: {found:?}") };
        assert!(
            figure.ends_with("hold lifted by RE, line 12, of 26328-01.1: the process authority wrote"),
            "{figure}"
        );
        assert!(by.contains(&Seq(8)) && by.contains(&Seq(12)));
    }
}
