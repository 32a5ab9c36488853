//! Which lines of the book concern a thing. The book keeps who speaks of what (`about`), what moved (`movement`) and where
//! things were put (`put`); a kind that is new is found by the same rows.

use std::collections::BTreeSet;

use sqlx::{PgConnection, query, query_scalar};
use time::{Duration, OffsetDateTime};
use uuid::Uuid;

use super::subject;
use crate::book::{self, Account, Movement, Seq, Side};
use crate::error::Result;
use crate::ids::{BatchId, LotId};
use crate::measure::{Grams, ShopZone};
use crate::packet::entry::Scope;
use crate::plan;
use crate::trace::{self, Direction};

/// The lines that a packet rests on.
#[derive(Debug, Clone)]
pub struct Picked {
    /// What it is of, in words: "batch 26301-01, loin, dry cured".
    pub name: String,
    /// What the cover says of it beyond its name.
    pub facts: Vec<(String, String)>,
    pub seqs: Vec<Seq>,
    /// The last line of the book, and its hash.
    pub upto: Seq,
    pub head: book::chain::Hash,
}

/// From here on this transaction sees the book as it stands now and writes nothing.
pub async fn snapshot(db: &mut PgConnection) -> Result<()> {
    query!("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY").execute(db).await?;
    Ok(())
}

/// All lines that concern it; nothing where there is no such thing.
pub async fn pick(db: &mut PgConnection, scope: Scope, zone: &ShopZone) -> Result<Option<Picked>> {
    let Some(last) = book::db::before(db, Seq(i64::MAX), 1).await?.into_iter().next() else {
        return Ok(None);
    };
    let mut seqs: BTreeSet<i64> = BTreeSet::new();
    let mut lots: Vec<Uuid> = Vec::new();
    let mut facts = Vec::new();
    let name = match scope {
        Scope::Batch(id) => {
            let Some(batch) = subject::batches(db, Some(id), 1).await?.into_iter().next() else {
                return Ok(None);
            };
            let own = subject::lots_of(db, id).await?;
            lots = line_of(db, Some(id), &own, &mut seqs).await?;
            if let Some(version) = plan::of_batch(db, id).await? {
                let name = format!("{}, version {}", version.document.name, version.version);
                facts.push(("Plan".into(), name));
            }
            facts.push(("Product".into(), batch.product.clone()));
            facts.push(("Recipe".into(), format!("{}, version {}", batch.recipe, batch.version)));
            let struck = if batch.struck { ", struck" } else { "" };
            format!("batch {}, {}{struck}", batch.code, batch.product)
        }
        Scope::Lot(id) => {
            let Some(lot) = subject::lot(db, id).await? else { return Ok(None) };
            lots = line_of(db, lot.batch, &[id], &mut seqs).await?;
            facts.push(("What it is".into(), lot.item.clone()));
            format!("lot {}, {}", lot.code, lot.item)
        }
        Scope::Place(place, from, to) => {
            let Some(name) = subject::place_name(db, place).await? else { return Ok(None) };
            let (begin, end) = (zone.start_of(from), zone.start_of(to.saturating_add(Duration::DAY)));
            seqs.extend(of_place(db, place.0, begin, end).await?);
            name
        }
        Scope::Days(from, to) => {
            let (begin, end) = (zone.start_of(from), zone.start_of(to.saturating_add(Duration::DAY)));
            seqs.extend(of_days(db, begin, end).await?);
            "the whole shop".into()
        }
    };
    let found: Vec<i64> = seqs.iter().copied().collect();
    seqs.extend(deviations(db, &found, &lots).await?);
    let found: Vec<i64> = seqs.iter().copied().collect();
    seqs.extend(behind(db, &found).await?);
    let found: Vec<i64> = seqs.iter().copied().collect();
    seqs.extend(strikes(db, &found).await?);
    let seqs = seqs.into_iter().map(Seq).collect();
    Ok(Some(Picked { name, facts, seqs, upto: last.at.seq, head: last.hash }))
}

/// The lines of a batch or of one lot: what speaks of it and of what became of it, what went into it back to the door, and
/// what was recorded of the places while it lay there. Gives every lot that it concerns.
async fn line_of(
    db: &mut PgConnection,
    batch: Option<BatchId>,
    own: &[LotId],
    seqs: &mut BTreeSet<i64>,
) -> Result<Vec<Uuid>> {
    let after = trace::lineage(db, own, Direction::Forward).await?.lots;
    let before = trace::lineage(db, own, Direction::Back).await?.lots;
    let own: Vec<Uuid> = own.iter().chain(&after).map(|lot| lot.0).collect();
    let before: Vec<Uuid> = before.iter().map(|lot| lot.0).filter(|lot| !own.contains(lot)).collect();
    let subjects: Vec<Uuid> = own.iter().copied().chain(batch.map(|batch| batch.0)).collect();
    let all: Vec<Uuid> = own.iter().chain(&before).copied().collect();
    seqs.extend(of_subjects(db, &subjects).await?);
    seqs.extend(went_in(db, &before, &all).await?);
    seqs.extend(while_there(db, &own, &before, &all, batch).await?);
    Ok(own)
}

/// Every line that speaks of one of these.
async fn of_subjects(db: &mut PgConnection, subjects: &[Uuid]) -> Result<Vec<i64>> {
    Ok(query_scalar!("SELECT DISTINCT seq FROM about WHERE subject = ANY($1)", subjects)
        .fetch_all(db)
        .await?)
}

/// What speaks of the lots that went in: the lines that moved grams along the way to it, those that moved nothing (readings,
/// holds, breakdowns opened), and the dockets that they came on. What became of the rest of such a lot is left out.
async fn went_in(db: &mut PgConnection, before: &[Uuid], all: &[Uuid]) -> Result<Vec<i64>> {
    let seqs = query_scalar!(
        r#"SELECT t.seq AS "seq!" FROM movement t
           WHERE t.lot = ANY($2) AND t.grams > 0
             AND EXISTS (SELECT 1 FROM movement f WHERE f.seq = t.seq AND f.grams < 0
                         AND (f.lot = ANY($1) OR f.account IN ('supplier', 'water', 'found')))
           UNION
           SELECT a.seq FROM about a
           WHERE a.subject = ANY($1) AND NOT EXISTS (SELECT 1 FROM movement m WHERE m.seq = a.seq)
           UNION
           SELECT d.seq FROM received r JOIN delivery d ON d.id = r.delivery WHERE r.lot = ANY($2)"#,
        before,
        all
    );
    Ok(seqs.fetch_all(db).await?)
}

/// What was recorded of the places where it lay, while it lay there: of the place, and of what that place is within. Meat
/// that went in counts until the last of it had; a dry store's sack of salt does not.
async fn while_there(
    db: &mut PgConnection,
    own: &[Uuid],
    before: &[Uuid],
    all: &[Uuid],
    batch: Option<BatchId>,
) -> Result<Vec<i64>> {
    let seqs = query_scalar!(
        r#"WITH RECURSIVE used AS (
               SELECT f.lot, max(e.happened_at) AS at
               FROM movement f JOIN entry e ON e.seq = f.seq
               WHERE f.lot = ANY($1::uuid[] || $2::uuid[]) AND f.grams < 0
                 AND (f.lot = ANY($1) OR EXISTS (SELECT 1 FROM movement t WHERE t.seq = f.seq AND t.grams > 0
                                                 AND t.lot = ANY($3)))
               GROUP BY f.lot
           ), lay AS (
               SELECT p.place, e.happened_at AS since,
                      least(lead(e.happened_at) OVER (PARTITION BY p.lot ORDER BY p.seq),
                            CASE WHEN l.grams = 0 OR l.id = ANY($2) THEN used.at END) AS until
               FROM put p JOIN entry e ON e.seq = p.seq JOIN lot l ON l.id = p.lot LEFT JOIN used ON used.lot = l.id
               WHERE p.lot = ANY($1::uuid[] || $2::uuid[]) AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = p.seq)
                 AND (p.lot = ANY($1) OR l.form NOT IN ('ingredient', 'casing'))
               UNION
               SELECT s.place, s.at, lead(s.at) OVER (ORDER BY s.seq) FROM batch_stage s
               WHERE s.batch = $4 AND s.struck_by IS NULL AND s.place IS NOT NULL
           ), stay AS (
               SELECT place, since, coalesce(until, 'infinity') AS until FROM lay
               UNION
               SELECT p.within, stay.since, stay.until FROM stay JOIN place p ON p.id = stay.place
               WHERE p.within IS NOT NULL
           )
           SELECT a.seq AS "seq!" FROM stay JOIN about a ON a.subject = stay.place JOIN entry e ON e.seq = a.seq
           WHERE e.happened_at >= stay.since AND e.happened_at <= stay.until
             AND NOT EXISTS (SELECT 1 FROM movement m WHERE m.seq = a.seq)
             AND NOT EXISTS (SELECT 1 FROM put o WHERE o.seq = a.seq)
           UNION
           SELECT i.seq FROM stay JOIN sample_import i ON i.place = stay.place
           WHERE i.first_at <= stay.until AND i.last_at >= stay.since"#,
        own,
        before,
        all,
        batch.map(|batch| batch.0)
    );
    Ok(seqs.fetch_all(db).await?)
}

/// What was recorded of a place, and of what is within it, and what was put there.
async fn of_place(
    db: &mut PgConnection,
    place: Uuid,
    from: OffsetDateTime,
    to: OffsetDateTime,
) -> Result<Vec<i64>> {
    let seqs = query_scalar!(
        r#"WITH RECURSIVE here AS (
               SELECT $1::uuid AS id UNION SELECT p.id FROM here JOIN place p ON p.within = here.id
           )
           SELECT a.seq AS "seq!" FROM here JOIN about a ON a.subject = here.id JOIN entry e ON e.seq = a.seq
           WHERE e.happened_at >= $2 AND e.happened_at < $3
           UNION
           SELECT u.seq FROM here JOIN put u ON u.place = here.id JOIN entry e ON e.seq = u.seq
           WHERE e.happened_at >= $2 AND e.happened_at < $3
           UNION
           SELECT i.seq FROM here JOIN sample_import i ON i.place = here.id WHERE i.first_at < $3 AND i.last_at >= $2"#,
        place,
        from,
        to
    );
    Ok(seqs.fetch_all(db).await?)
}

/// What was written in a span, without a gap, and what happened in it and was written later.
async fn of_days(db: &mut PgConnection, from: OffsetDateTime, to: OffsetDateTime) -> Result<Vec<i64>> {
    let seqs = query_scalar!(
        "SELECT seq FROM entry WHERE (recorded_at >= $1 AND recorded_at < $2) OR (happened_at >= $1 AND happened_at < $2)",
        from,
        to
    );
    Ok(seqs.fetch_all(db).await?)
}

/// The whole story of every deviation that one of these lines opened or that concerns one of these lots.
async fn deviations(db: &mut PgConnection, seqs: &[i64], lots: &[Uuid]) -> Result<Vec<i64>> {
    let seqs = query_scalar!(
        r#"SELECT DISTINCT a.seq FROM about a
           WHERE a.subject IN (SELECT d.id FROM deviation d WHERE d.seq = ANY($1)
                               UNION SELECT n.deviation FROM deviation_lot n WHERE n.lot = ANY($2))"#,
        seqs,
        lots
    );
    Ok(seqs.fetch_all(db).await?)
}

/// What stands behind these lines: the latest word on the suppliers, customers, places, instruments and limits that they
/// name, the recipe version, the plan and the family of their batches, and whatever was written of an instrument beside what was
/// measured with it.
async fn behind(db: &mut PgConnection, seqs: &[i64]) -> Result<Vec<i64>> {
    let seqs = query_scalar!(
        r#"WITH named AS (SELECT DISTINCT subject AS id FROM about WHERE seq = ANY($1))
           SELECT t.seq AS "seq!" FROM named JOIN supplier t USING (id)
           UNION SELECT t.seq FROM named JOIN customer t USING (id)
           UNION SELECT t.seq FROM named JOIN place t USING (id)
           UNION SELECT t.seq FROM named JOIN check_limit t USING (id)
           UNION SELECT t.seq FROM named JOIN instrument t USING (id)
           UNION SELECT a.seq FROM named JOIN instrument t USING (id) JOIN about a ON a.subject = t.id
                 JOIN entry e ON e.seq = a.seq
                 WHERE e.kind NOT IN ('reading.taken', 'check.recorded', 'piece.weighed')
           UNION SELECT v.seq FROM named JOIN batch b USING (id)
                 JOIN recipe_version v ON v.recipe = b.recipe AND v.version = b.version
           UNION SELECT f.seq FROM named JOIN batch b USING (id) JOIN product_family f ON f.product = b.product
           UNION SELECT y.seq FROM named JOIN batch b USING (id) JOIN product_family f ON f.product = b.product
                 JOIN family y ON y.id = f.family
           UNION SELECT plan_of_batch(b.id) FROM named JOIN batch b USING (id) WHERE plan_of_batch(b.id) IS NOT NULL"#,
        seqs
    );
    Ok(seqs.fetch_all(db).await?)
}

/// The lines that strike these, and those that these strike.
async fn strikes(db: &mut PgConnection, seqs: &[i64]) -> Result<Vec<i64>> {
    let seqs = query_scalar!(
        r#"SELECT by_seq AS "seq!" FROM strike WHERE seq = ANY($1) UNION SELECT seq FROM strike WHERE by_seq = ANY($1)"#,
        seqs
    );
    Ok(seqs.fetch_all(db).await?)
}

/// What these lines moved, in the order in which it was hashed.
pub async fn movements(db: &mut PgConnection, seqs: &[Seq]) -> Result<Vec<(Seq, Movement)>> {
    let seqs: Vec<i64> = seqs.iter().map(|seq| seq.0).collect();
    let rows = query!(
        r#"SELECT seq AS "seq: Seq", lot AS "lot: LotId", account AS "account: Account", party, grams AS "grams: Grams"
           FROM movement WHERE seq = ANY($1) ORDER BY seq, n"#,
        &seqs
    );
    let rows = rows.fetch_all(db).await?.into_iter().map(|row| {
        let side = match (row.lot, row.account) {
            (Some(lot), _) => Side::Lot(lot),
            (None, Some(account)) => Side::Account(account, row.party),
            (None, None) => return Err(anyhow::anyhow!("a movement of entry {} has no side", row.seq).into()),
        };
        Ok((row.seq, Movement { side, grams: row.grams }))
    });
    rows.collect()
}

/// Which of these lines are records of sanitation.
pub async fn sanitation(db: &mut PgConnection, seqs: &[Seq]) -> Result<BTreeSet<Seq>> {
    let seqs: Vec<i64> = seqs.iter().map(|seq| seq.0).collect();
    let lines = query_scalar!(r#"SELECT seq AS "seq!: Seq" FROM sanitation_line WHERE seq = ANY($1)"#, &seqs);
    Ok(lines.fetch_all(db).await?.into_iter().collect())
}
