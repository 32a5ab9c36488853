//! Which checks of the plans are due, late and missed now, and what is written of those that were missed.

use time::{Date, Duration, OffsetDateTime, Time};
use uuid::Uuid;

use super::db::{self, Asked, Made, Subjected};
use super::entry::due::{Gap, Stand, before_work, once, periodic};
use super::entry::{Asks, CheckMissed, Every, PlannedCheck, Sort};
use crate::book::Pen;
use crate::checks::{self, entry::Applies};
use crate::deviations::{On, Opened};
use crate::error::Result;
use crate::ids::{DeviationId, LotId, Named, PlannedCheckId};
use crate::web::{Afterwards, Me, Shop, Touched, ledger};

/// How far back gaps are looked for. What is older was written when the check was made again.
const BACK: Duration = Duration::days(120);

/// A check of one thing, and how it stands.
#[derive(Debug, Clone)]
pub struct Due {
    pub check: PlannedCheck,
    /// Its number, where it is a critical control point.
    pub ccp: Option<usize>,
    /// The plan or programme that asks for it.
    pub plan: String,
    pub on: Subjected,
    pub stand: Stand,
    /// At the end of a stage: it is due when the batch goes on.
    pub at_end: bool,
}

impl Due {
    pub fn is_late(&self, now: OffsetDateTime) -> bool {
        !self.at_end && self.stand.due_at < now
    }

    /// The address on which it is recorded.
    pub fn path(&self) -> String {
        let on = self.on.subject.on();
        match &self.check.asks {
            Asks::Measured { quantity, .. } => {
                let end = if self.at_end { "&end=yes" } else { "" };
                format!("{}&quantity={}{end}", on.record_path(), quantity.word().replace(' ', "+"))
            }
            _ => format!("/plan/answer?check={}&on={}", self.check.id, on.id()),
        }
    }
}

/// Everything that is asked for now, what presses most first.
pub async fn due(conn: &mut sqlx::PgConnection, shop: &Shop, now: OffsetDateTime) -> Result<Vec<Due>> {
    of(conn, shop, now, None).await
}

/// What is asked for now of one subject, or of all.
pub async fn of(
    conn: &mut sqlx::PgConnection,
    shop: &Shop,
    now: OffsetDateTime,
    only: Option<Uuid>,
) -> Result<Vec<Due>> {
    let subjects = db::subjects(conn, only).await?;
    let mut all = stands(conn, shop, now, only, &subjects).await?;
    all.sort_by(|a, b| {
        (a.at_end, a.stand.due_at, &a.check.name).cmp(&(b.at_end, b.stand.due_at, &b.check.name))
    });
    Ok(all)
}

/// How the checks of these subjects stand.
async fn stands(
    conn: &mut sqlx::PgConnection,
    shop: &Shop,
    now: OffsetDateTime,
    only: Option<Uuid>,
    subjects: &[Subjected],
) -> Result<Vec<Due>> {
    if subjects.is_empty() {
        return Ok(Vec::new());
    }
    let versions: Vec<_> = subjects.iter().filter_map(|one| one.version).collect();
    let asked = db::asked(conn, &versions).await?;
    if asked.is_empty() {
        return Ok(Vec::new());
    }
    let made = db::made(conn, now - BACK, only).await?;
    let of_work =
        asked.iter().flat_map(|one| &one.document.checks).any(|check| matches!(check.every, Every::Work(_)));
    let hours = if of_work { db::work_days(conn, now - BACK).await? } else { vec![] };
    let mut days: Vec<Date> = hours.into_iter().map(|hour| shop.date(hour)).collect();
    days.dedup();
    let mut all: Vec<Due> = Vec::new();
    for asked in &asked {
        for check in &asked.document.checks {
            let on = subjects.iter().filter(|one| concerns(asked, check, one));
            all.extend(on.filter_map(|one| stand(asked, check, one, &made, &days, shop, now)));
        }
    }
    Ok(all)
}

/// Places are checked by the versions that stand, batches by the one that they were begun under, or by a programme.
fn concerns(asked: &Asked, check: &PlannedCheck, on: &Subjected) -> bool {
    let own = if asked.document.sort == Sort::Programme || on.stage.is_none() {
        asked.stands
    } else {
        on.version == Some((asked.plan, asked.version))
    };
    own && match &check.of {
        Applies::Place(place) => on.subject.on() == On::Place(place.id),
        Applies::Kind(kind) => on.kind == Some(*kind),
        Applies::Stage(stage) | Applies::End(stage) => on.stage == Some(*stage),
        Applies::Form(_) => false,
    }
}

fn stand(
    asked: &Asked,
    check: &PlannedCheck,
    on: &Subjected,
    made: &Made,
    days: &[Date],
    shop: &Shop,
    now: OffsetDateTime,
) -> Option<Due> {
    let id = on.subject.on().id();
    let first = asked.since.iter().find(|(known, _)| *known == check.id).map(|(_, at)| *at)?;
    let since = first.max(on.since).max(now - BACK);
    // What was asked for in a stage that the batch has left is over when it left.
    let now = on.until.map_or(now, |until| until.min(now));
    if now < since {
        return None;
    }
    let times: Vec<OffsetDateTime> = match &check.asks {
        Asks::Measured { quantity, .. } => made
            .read
            .iter()
            .filter(|(of, read, _)| *of == id && read == quantity)
            .map(|(_, _, at)| *at)
            .collect(),
        Asks::Answered { .. } => made
            .answered
            .iter()
            .filter(|(planned, of, _)| *planned == check.id && *of == id)
            .map(|(_, _, at)| *at)
            .collect(),
        Asks::Reckoned { .. } => return None,
    };
    let noted =
        made.noted.iter().find(|(planned, of, _)| *planned == check.id && *of == id).map(|(_, _, at)| *at);
    let at_end = matches!(check.of, Applies::End(_));
    let stand = match check.every {
        Every::Hours(hours) => periodic(Duration::hours(i64::from(hours)), since, &times, noted, now),
        Every::Days(days) => periodic(Duration::days(i64::from(days)), since, &times, noted, now),
        Every::Work(hour) => {
            let asked_from = shop.date(noted.map_or(since, |noted| noted.max(since)));
            let fresh = days.iter().copied().filter(|day| *day > asked_from && *day <= shop.date(now));
            let fresh: Vec<Date> = fresh.collect();
            let on_days: Vec<Date> = times.iter().map(|at| shop.date(*at)).collect();
            let opens = Time::from_hms(hour, 0, 0).unwrap_or(Time::MIDNIGHT);
            let due_at =
                |day: Date| shop.zone.instant(day.with_time(opens)).unwrap_or(shop.zone.start_of(day));
            let ends = |day: Date| shop.zone.start_of(day + Duration::days(1));
            before_work(&fresh, &on_days, shop.date(now), due_at, ends)
        }
        // Once: nothing more is asked for when it was made in this stage.
        Every::Batch => once(on.since, on.until, &times, noted)?,
    };
    Some(Due {
        check: check.clone(),
        ccp: asked.document.ccp_number(check.id),
        plan: asked.document.name.clone(),
        on: on.clone(),
        stand,
        at_end,
    })
}

/// The check of a signed plan that has this name.
pub async fn check_named(conn: &mut sqlx::PgConnection, name: &str) -> Result<Option<PlannedCheckId>> {
    let standing = db::standing(conn).await?;
    let mut checks = standing.iter().flat_map(|version| &version.document.checks);
    Ok(checks.find(|check| check.name == name).map(|check| check.id))
}

/// After a reading of a place or a stage of a batch: what was missed before is written, and opens its deviation.
pub fn after<'a>(pen: &'a mut Pen, me: &'a Me, touched: Touched) -> Afterwards<'a> {
    Box::pin(async move {
        match touched {
            Touched::Place(place) => note(pen, me, Some(place.0), false).await.map(drop),
            Touched::Batch(batch) => note(pen, me, Some(batch.0), false).await.map(drop),
            Touched::Lot(_) | Touched::Struck(_) => Ok(()),
        }
    })
}

/// Writes what was missed: of one subject or of all; with `open`, gaps that still go on as well. How many lines it wrote.
pub async fn note(pen: &mut Pen, me: &Me, only: Option<Uuid>, open: bool) -> Result<usize> {
    let now = pen.next().recorded_at;
    let mut subjects = db::subjects(pen, only).await?;
    subjects.extend(db::left(pen, now - BACK, only).await?);
    let due = stands(pen, &me.shop, now, only, &subjects).await?;
    let mut written = 0;
    for one in &due {
        let over = |gap: &&Gap| open || gap.over || one.on.until.is_some();
        for gap in one.stand.missed.iter().filter(over) {
            let lots = concerned(pen, one.on.subject.on(), gap).await?;
            let entry = pen.next().id;
            let times = if gap.times == 1 { "once".to_owned() } else { format!("{} times", gap.times) };
            let what = format!(
                "{}, {}: missed {times} between {} and {}",
                one.check.name,
                one.on.subject.name(),
                ledger::moment(me, gap.from),
                ledger::moment(me, gap.until)
            );
            let opened = Opened { deviation: DeviationId::made_by(entry), what, lots };
            pen.append(CheckMissed {
                check: one.check.named(),
                subject: one.on.subject.clone(),
                from: gap.from,
                until: gap.until,
                times: gap.times,
                opened,
            })
            .await?;
            written += 1;
        }
    }
    Ok(written)
}

/// What lay in a place at the beginning and at the end of a gap, or everything of a batch.
async fn concerned(pen: &mut Pen, on: On, gap: &Gap) -> Result<Vec<Named<LotId>>> {
    match on {
        On::Batch(batch) => checks::lots_of_batch(pen, batch).await,
        On::Place(place) => {
            let mut lots = checks::lots_of_place(pen, place, gap.from).await?;
            for lot in checks::lots_of_place(pen, place, gap.until).await? {
                if lots.iter().all(|known| known.id != lot.id) {
                    lots.push(lot);
                }
            }
            Ok(lots)
        }
        On::Lot(_) => Ok(Vec::new()),
    }
}
