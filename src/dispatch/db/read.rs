//! What the pages and the rules of dispatch read.

use sqlx::{PgConnection, query, query_as, query_scalar};
use time::{Date, OffsetDateTime};
use uuid::Uuid;

use crate::book::{self, Form, Seq};
use crate::dispatch::entry::Leaving;
use crate::dispatch::entry::docket::Party;
use crate::error::Result;
use crate::ids::{CustomerId, DispatchId, LotId};
use crate::measure::{Grams, LotCode, PricePerKg};

/// A customer in the list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Customer {
    pub id: CustomerId,
    pub name: String,
    pub address: String,
    pub consignee: String,
    pub contact: String,
    pub retired: bool,
}

/// All customers, those in use first, by name.
pub async fn customers(db: &mut PgConnection) -> Result<Vec<Customer>> {
    let rows = query_as!(
        Customer,
        r#"SELECT id AS "id: CustomerId", name, address, consignee, contact, retired
           FROM customer ORDER BY retired, lower(name)"#
    );
    Ok(rows.fetch_all(db).await?)
}

/// One customer, retired or not.
pub async fn customer(db: &mut PgConnection, id: CustomerId) -> Result<Option<Customer>> {
    let row = query_as!(
        Customer,
        r#"SELECT id AS "id: CustomerId", name, address, consignee, contact, retired FROM customer WHERE id = $1"#,
        id.0
    );
    Ok(row.fetch_optional(db).await?)
}

/// The lots with these ids and what stands in the way of each, in the order asked for. Unknown ids are left out.
pub async fn leaving(db: &mut PgConnection, ids: &[LotId]) -> Result<Vec<Leaving>> {
    let lots = book::db::lots(db, ids).await?;
    let wanted: Vec<Uuid> = lots.iter().map(|lot| lot.id.0).collect();
    let known = query!(
        r#"SELECT l.id AS "id!: LotId", coalesce(nullif(i.label_name, ''), l.item_name) AS "description!",
                  for_sale(l.id) AS "for_sale!", held_behind(l.id) AS held_behind
           FROM lot l LEFT JOIN item i ON i.id = l.item WHERE l.id = ANY($1)"#,
        &wanted
    )
    .fetch_all(db)
    .await?;
    let one = |id: &LotId| {
        let lot = lots.iter().find(|lot| lot.id == *id)?.clone();
        let row = known.iter().find(|row| row.id == *id)?;
        let (description, held_behind) = (row.description.clone(), row.held_behind.clone());
        Some(Leaving { lot, description, for_sale: row.for_sale, held_behind })
    };
    Ok(ids.iter().filter_map(one).collect())
}

/// The lot with this code, as [`leaving`].
pub async fn leaving_of(db: &mut PgConnection, code: &LotCode) -> Result<Option<Leaving>> {
    let Some(lot) = book::db::lot_by_code(db, code).await? else { return Ok(None) };
    Ok(leaving(db, &[lot.id]).await?.pop())
}

/// The code of the lot on hold that a pack was packed from: it holds the pack as well.
pub async fn held_behind(db: &mut PgConnection, lot: LotId) -> Result<Option<String>> {
    Ok(query_scalar!("SELECT held_behind($1)", lot.0).fetch_one(db).await?)
}

/// What can be packed: pieces that are released, and what of raw meat lies there, none of it on hold.
pub async fn packable(db: &mut PgConnection, limit: i64) -> Result<Vec<Row>> {
    let rows = query_as!(
        Row,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.form AS "form: Form",
                  l.grams AS "grams: Grams"
           FROM lot l
           WHERE l.grams > 0 AND l.struck_by IS NULL
             AND l.form IN ('primal', 'cut', 'trim', 'bone', 'fat', 'offal', 'piece')
             AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL) AND for_sale(l.id)
           ORDER BY l.form <> 'piece', l.code_day, l.code_number, l.code_piece LIMIT $1"#,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// What can leave as it is: packs, then whole pieces that are released.
pub async fn ready(db: &mut PgConnection, limit: i64) -> Result<Vec<Row>> {
    let rows = query_as!(
        Row,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.form AS "form: Form",
                  l.grams AS "grams: Grams"
           FROM lot l
           WHERE l.grams > 0 AND l.struck_by IS NULL AND l.form IN ('pack', 'piece')
             AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL) AND for_sale(l.id)
             AND held_behind(l.id) IS NULL
           ORDER BY l.form <> 'pack', l.code_day, l.code_number, l.code_piece LIMIT $1"#,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// A lot in a list to choose from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub form: Form,
    pub grams: Grams,
}

/// The next number of a docket on the day of this code: `D26329-01`. A struck docket keeps its number.
pub async fn next_reference(db: &mut PgConnection, day: Date) -> Result<String> {
    let day = LotCode::first(day, 1).map_err(anyhow::Error::from)?.day();
    let prefix = format!("D{day}-");
    let before = query_scalar!(
        r#"SELECT count(*) AS "count!" FROM dispatch WHERE starts_with(reference, $1)"#,
        prefix
    )
    .fetch_one(db)
    .await?;
    Ok(format!("{prefix}{:02}", before + 1))
}

/// One line that left, for lists and files.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sent {
    pub dispatch: DispatchId,
    pub reference: String,
    pub happened_at: OffsetDateTime,
    pub from: Party,
    pub consignor: String,
    pub to: Party,
    pub consignee: String,
    pub counter: bool,
    pub struck: bool,
    pub lot: LotId,
    pub code: LotCode,
    pub description: String,
    pub grams: Grams,
    pub price: Option<PricePerKg>,
}

macro_rules! sent {
    ($which:literal, $($arg:expr),*) => {
        query!(
            r#"SELECT d.id AS "id: DispatchId", d.reference, d.happened_at, d.from_name, d.from_address, d.consignor,
                      d.to_name, d.to_address, d.consignee, d.customer IS NULL AS "counter!",
                      d.struck_by IS NOT NULL AS "struck!", n.lot AS "lot: LotId", l.code AS "code: LotCode",
                      n.description, n.grams AS "grams: Grams", n.price AS "price: PricePerKg"
               FROM (SELECT * FROM dispatch "# + $which + r#") d
               JOIN dispatch_line n ON n.dispatch = d.id JOIN lot l ON l.id = n.lot
               ORDER BY d.happened_at DESC, d.seq DESC, n.n"#,
            $($arg),*
        )
        .map(|row| Sent {
            dispatch: row.id,
            reference: row.reference,
            happened_at: row.happened_at,
            from: Party { name: row.from_name, address: row.from_address },
            consignor: row.consignor,
            to: Party { name: row.to_name, address: row.to_address },
            consignee: row.consignee,
            counter: row.counter,
            struck: row.struck,
            lot: row.lot,
            code: row.code,
            description: row.description,
            grams: row.grams,
            price: row.price,
        })
    };
}

/// Every line dispatched from one moment up to another, the latest docket first; of one customer where one is given.
/// At most `limit` dockets.
pub async fn sent(
    db: &mut PgConnection,
    from: OffsetDateTime,
    to: OffsetDateTime,
    customer: Option<CustomerId>,
    limit: i64,
) -> Result<Vec<Sent>> {
    let rows = sent!(
        "WHERE happened_at >= $1 AND happened_at < $2 AND ($3::uuid IS NULL OR customer = $3)
         ORDER BY happened_at DESC, seq DESC LIMIT $4",
        from,
        to,
        customer.map(|customer| customer.0),
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// One docket, its lines, and the entry that signed it.
pub struct Docket {
    pub seq: Seq,
    pub lines: Vec<Sent>,
}

/// A docket; also one that was struck.
pub async fn docket(db: &mut PgConnection, id: DispatchId) -> Result<Option<Docket>> {
    let seq = query_scalar!(r#"SELECT seq AS "seq: Seq" FROM dispatch WHERE id = $1"#, id.0)
        .fetch_optional(&mut *db)
        .await?;
    let Some(seq) = seq else { return Ok(None) };
    let lines = sent!("WHERE id = $1", id.0).fetch_all(db).await?;
    Ok(Some(Docket { seq, lines }))
}

/// A lot that was thrown away.
pub struct Discarded {
    pub seq: Seq,
    pub happened_at: OffsetDateTime,
    pub lot: LotId,
    pub code: LotCode,
    pub item_name: String,
    pub grams: Grams,
    pub reason: String,
    pub struck: bool,
}

/// What was thrown away, the latest first.
pub async fn discards(db: &mut PgConnection, limit: i64) -> Result<Vec<Discarded>> {
    let rows = query_as!(
        Discarded,
        r#"SELECT d.seq AS "seq: Seq", e.happened_at, d.lot AS "lot: LotId", l.code AS "code: LotCode", l.item_name,
                  d.grams AS "grams: Grams", d.reason, d.struck_by IS NOT NULL AS "struck!"
           FROM discard d JOIN entry e ON e.seq = d.seq JOIN lot l ON l.id = d.lot
           ORDER BY d.seq DESC, l.code_day, l.code_number, l.code_piece LIMIT $1"#,
        limit
    );
    Ok(rows.fetch_all(db).await?)
}

/// What a pack's label says of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Packed {
    pub lot: LotId,
    pub source: LotId,
    pub packed_at: OffsetDateTime,
    pub use_by: Option<Date>,
    pub date_word: String,
    pub keep: String,
    pub origin: String,
    pub handling: bool,
}

/// The packs among these lots that stand.
pub async fn packed(db: &mut PgConnection, lots: &[LotId]) -> Result<Vec<Packed>> {
    let lots: Vec<Uuid> = lots.iter().map(|lot| lot.0).collect();
    let rows = query_as!(
        Packed,
        r#"SELECT lot AS "lot: LotId", source AS "source: LotId", packed_at, use_by, date_word, keep, origin, handling
           FROM pack WHERE lot = ANY($1) AND struck_by IS NULL"#,
        &lots
    );
    Ok(rows.fetch_all(db).await?)
}

/// The packs of one signing.
pub struct Packing {
    pub seq: Seq,
    pub source: LotId,
    pub source_code: LotCode,
    pub packs: Vec<Row>,
}

/// What the entry with this id packed.
pub async fn packing(db: &mut PgConnection, entry: Uuid) -> Result<Option<Packing>> {
    let head = query!(
        r#"SELECT DISTINCT k.seq AS "seq: Seq", k.source AS "source: LotId", s.code AS "code: LotCode"
           FROM pack k JOIN entry e ON e.seq = k.seq JOIN lot s ON s.id = k.source WHERE e.id = $1"#,
        entry
    )
    .fetch_optional(&mut *db)
    .await?;
    let Some(head) = head else { return Ok(None) };
    let packs = query_as!(
        Row,
        r#"SELECT l.id AS "lot: LotId", l.code AS "code: LotCode", l.item_name, l.form AS "form: Form",
                  l.grams AS "grams: Grams"
           FROM pack k JOIN lot l ON l.id = k.lot WHERE k.seq = $1
           ORDER BY l.code_day, l.code_number, l.code_piece"#,
        head.seq as Seq
    );
    let packs = packs.fetch_all(db).await?;
    Ok(Some(Packing { seq: head.seq, source: head.source, source_code: head.code, packs }))
}
