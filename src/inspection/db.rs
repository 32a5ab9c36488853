//! SQL of the inspector's page: what there is, and how old the records of each class are.

use sqlx::{PgConnection, query, query_as};
use time::OffsetDateTime;

use super::entry::{BOUGHT_AND_SOLD, Class, REFRIGERATED, RetentionWritten};
use crate::book::{Project, Seq, Written};
use crate::error::Result;
use crate::ids::BatchId;
use crate::recipes::Stage;

impl Project for RetentionWritten {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO retention (class, months, reason, seq) VALUES ($1, $2, $3, $4)
             ON CONFLICT (class) DO UPDATE SET months = excluded.months, reason = excluded.reason, seq = excluded.seq",
            self.class as Class,
            i32::from(self.months),
            self.reason,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// What the shop said of a class.
#[derive(Debug, Clone)]
pub struct Said {
    pub class: Class,
    pub months: i32,
    pub reason: String,
}

pub async fn said(db: &mut PgConnection) -> Result<Vec<Said>> {
    let rows = query_as!(Said, r#"SELECT class AS "class: Class", months, reason FROM retention"#);
    Ok(rows.fetch_all(db).await?)
}

/// How many records a class has, and how many of them are older than a moment.
#[derive(Debug, Clone)]
pub struct Counted {
    pub class: Class,
    pub all: i64,
    pub past: i64,
    pub oldest: Option<OffsetDateTime>,
}

/// Every line of the book in its class, counted; `before` gives the moment of each class before which a record is past
/// its period.
pub async fn counted(db: &mut PgConnection, before: &[(Class, OffsetDateTime)]) -> Result<Vec<Counted>> {
    let (classes, moments): (Vec<String>, Vec<OffsetDateTime>) =
        before.iter().map(|(class, at)| (class.word().to_owned(), *at)).unzip();
    let refrigerated = REFRIGERATED.map(str::to_owned);
    let bought = BOUGHT_AND_SOLD.map(str::to_owned);
    let rows = query_as!(
        Counted,
        r#"WITH chilled AS (
               SELECT b.id, b.mix, EXISTS (SELECT 1 FROM product_family f JOIN family y ON y.id = f.family
                                           WHERE f.product = b.product AND y.shipped = ANY($3)) AS chilled
               FROM batch b
           ), subject AS (
               SELECT id AS subject, chilled FROM chilled UNION ALL SELECT mix, chilled FROM chilled
               UNION ALL SELECT p.lot, c.chilled FROM piece p JOIN chilled c ON c.id = p.batch
           ), marked AS (
               SELECT a.seq, bool_and(s.chilled) AS chilled
               FROM about a JOIN subject s ON s.subject = a.subject GROUP BY a.seq
           ), line AS (
               SELECT e.happened_at AS at,
                      CASE WHEN e.seq IN (SELECT s.seq FROM sanitation_line s) THEN 'sanitation' WHEN e.kind = ANY($4) THEN 'transactions'
                           WHEN m.chilled THEN 'refrigerated' ELSE 'preserved' END AS class
               FROM entry e LEFT JOIN marked m ON m.seq = e.seq
           )
           SELECT k.class AS "class!: Class", count(l.at) AS "all!", count(l.at) FILTER (WHERE l.at < k.before) AS "past!",
                  min(l.at) AS oldest
           FROM unnest($1::text[], $2::timestamptz[]) AS k(class, before) LEFT JOIN line l ON l.class = k.class
           GROUP BY k.class"#,
        &classes,
        &moments,
        &refrigerated,
        &bought
    );
    Ok(rows.fetch_all(db).await?)
}

/// What waits, and how much there is of each sort of record.
#[derive(Debug, Clone)]
pub struct Sums {
    pub lines: i64,
    pub deviations: i64,
    pub open_deviations: i64,
    pub holds: i64,
    pub checks: i64,
    pub calibrations: i64,
    pub reviews: i64,
    pub papers: i64,
}

pub async fn sums(db: &mut PgConnection) -> Result<Sums> {
    let sums = query_as!(
        Sums,
        r#"SELECT (SELECT count(*) FROM entry) AS "lines!",
                  (SELECT count(*) FROM deviation WHERE struck_by IS NULL) AS "deviations!",
                  (SELECT count(*) FROM deviation WHERE struck_by IS NULL AND closed_by IS NULL) AS "open_deviations!",
                  (SELECT count(*) FROM hold h JOIN lot l ON l.id = h.lot
                   WHERE h.lifted_by IS NULL AND l.grams > 0 AND l.struck_by IS NULL) AS "holds!",
                  (SELECT count(*) FROM reading r WHERE NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = r.seq)) AS "checks!",
                  (SELECT count(*) FROM calibration WHERE struck_by IS NULL) AS "calibrations!",
                  (SELECT count(*) FROM review WHERE struck_by IS NULL) AS "reviews!",
                  (SELECT count(*) FROM paper WHERE struck_by IS NULL) AS "papers!""#
    );
    Ok(sums.fetch_one(db).await?)
}

/// A batch as the page lists it.
#[derive(Debug, Clone)]
pub struct Listed {
    pub id: BatchId,
    pub code: String,
    pub product: String,
    pub stage: Stage,
    pub begun_at: OffsetDateTime,
    /// Deviations that concern it and are open.
    pub open: i64,
    /// Whether a review of its records stands: nothing has changed since.
    pub reviewed: bool,
}

/// The batches that are not released, and the latest of the others; the latest first.
pub async fn batches(db: &mut PgConnection, released: i64) -> Result<Vec<Listed>> {
    let rows = query_as!(
        Listed,
        r#"WITH shown AS (
               (SELECT * FROM batch WHERE struck_by IS NULL AND stage <> 'released')
               UNION ALL
               (SELECT * FROM batch WHERE struck_by IS NULL AND stage = 'released' ORDER BY begun_at DESC LIMIT $1))
           SELECT b.id AS "id!: BatchId", b.code AS "code!", i.name AS product, b.stage AS "stage!: Stage", b.begun_at AS "begun_at!",
                  (SELECT count(*) FROM deviation d WHERE d.struck_by IS NULL AND d.closed_by IS NULL
                   AND (d.batch = b.id OR EXISTS (
                        SELECT 1 FROM deviation_lot n WHERE n.deviation = d.id AND (n.lot = b.mix OR n.lot IN (
                            SELECT lot FROM piece p WHERE p.batch = b.id))))) AS "open!",
                  standing_review(b.id) IS NOT NULL AS "reviewed!"
           FROM shown b JOIN item i ON i.id = b.product ORDER BY b.begun_at DESC, b.seq DESC"#,
        released
    );
    Ok(rows.fetch_all(db).await?)
}
