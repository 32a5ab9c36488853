//! What the pen writes.

use rust_decimal::Decimal;
use sqlx::{PgConnection, query, query_scalar};
use uuid::Uuid;

use crate::book::chain::{BEFORE_ALL, Hash};
use crate::book::effects::{Effects, NewLot, Side};
use crate::book::entry::{Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::measure::LotCode;

/// The advisory lock that is the pen. Any number would do; this one is "flitch" in ASCII.
const PEN: i64 = 0x0000_666c_6974_6368;

/// Waits until nobody else writes, and keeps the pen until the transaction ends.
pub async fn take_the_pen(db: &mut PgConnection) -> Result<()> {
    query!("SELECT pg_advisory_xact_lock($1)", PEN).execute(db).await?;
    Ok(())
}

/// The last entry, or the place before the first.
pub async fn head(db: &mut PgConnection) -> Result<(Seq, Hash)> {
    let row = query!(r#"SELECT seq AS "seq: Seq", hash FROM entry ORDER BY seq DESC LIMIT 1"#)
        .fetch_optional(db)
        .await?;
    match row {
        Some(row) => {
            let hash = Hash::try_from(row.hash.as_slice()).map_err(anyhow::Error::from)?;
            Ok((row.seq, hash))
        }
        None => Ok((Seq(0), BEFORE_ALL)),
    }
}

/// The digest of what was signed on this form before.
pub async fn sent(db: &mut PgConnection, id: Uuid) -> Result<Option<Hash>> {
    let digest = query_scalar!("SELECT digest FROM sent WHERE id = $1", id).fetch_optional(db).await?;
    Ok(digest.map(|d| Hash::try_from(d.as_slice())).transpose().map_err(anyhow::Error::from)?)
}

pub async fn remember_sent(db: &mut PgConnection, id: Uuid, digest: &Hash) -> Result<()> {
    query!("INSERT INTO sent (id, digest) VALUES ($1, $2)", id, digest.as_slice()).execute(db).await?;
    Ok(())
}

/// Writes the row of the entry.
pub async fn append(
    db: &mut PgConnection,
    at: &Written,
    kind: &str,
    body: &str,
    prev: &Hash,
    hash: &Hash,
) -> Result<()> {
    query!(
        "INSERT INTO entry (seq, id, kind, happened_at, recorded_at, person, body, prev_hash, hash)
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        at.seq as Seq,
        at.id,
        kind,
        at.happened_at,
        at.recorded_at,
        at.person.0,
        body,
        prev.as_slice(),
        hash.as_slice()
    )
    .execute(db)
    .await
    .on_constraint(
        "entry_id_key",
        "",
        "This form was signed already. The page now shows what the book holds.",
    )?;
    Ok(())
}

/// Writes everything that an entry does to the book's own tables.
pub async fn project(db: &mut PgConnection, at: &Written, effects: &Effects) -> Result<()> {
    open(db, at, &effects.opens).await?;
    put(db, at, effects).await?;
    speak(db, at, effects).await?;
    shift(db, at, effects).await?;
    hold(db, at, effects).await?;
    sign(db, at, effects).await
}

async fn open(db: &mut PgConnection, at: &Written, lots: &[NewLot]) -> Result<()> {
    if lots.is_empty() {
        return Ok(());
    }
    let ids: Vec<Uuid> = lots.iter().map(|lot| lot.id.0).collect();
    let codes: Vec<String> = lots.iter().map(|lot| lot.code.to_string()).collect();
    let days: Vec<String> = lots.iter().map(|lot| lot.code.day()).collect();
    let numbers: Vec<i32> = lots.iter().map(|lot| i32::from(lot.code.number())).collect();
    let pieces: Vec<Option<i32>> = lots.iter().map(|lot| lot.code.piece_number().map(i32::from)).collect();
    let forms: Vec<String> = lots.iter().map(|lot| lot.form.word().to_owned()).collect();
    let items: Vec<Uuid> = lots.iter().map(|lot| lot.item.id.0).collect();
    let names: Vec<String> = lots.iter().map(|lot| lot.item.name.clone()).collect();
    let places: Vec<Option<Uuid>> = lots.iter().map(|lot| lot.place.map(|place| place.0)).collect();
    query!(
        "WITH opened AS (
             INSERT INTO lot (id, code, code_day, code_number, code_piece, form, item, item_name, place, opened_at, seq)
             SELECT u.*, $10, $11
             FROM unnest($1::uuid[], $2::text[], $3::text[], $4::integer[], $5::integer[], $6::text[], $7::uuid[],
                         $8::text[], $9::uuid[]) AS u
             RETURNING id, place)
         INSERT INTO put (lot, seq, place) SELECT id, $11, place FROM opened WHERE place IS NOT NULL",
        &ids,
        &codes,
        &days,
        &numbers,
        &pieces as &[Option<i32>],
        &forms,
        &items,
        &names,
        &places as &[Option<Uuid>],
        at.happened_at,
        at.seq as Seq
    )
    .execute(db)
    .await
    .on_constraint("lot_code_key", "code", "This code is on another tag.")?;
    Ok(())
}

async fn put(db: &mut PgConnection, at: &Written, effects: &Effects) -> Result<()> {
    if effects.puts.is_empty() {
        return Ok(());
    }
    let lots: Vec<Uuid> = effects.puts.iter().map(|(lot, _)| lot.0).collect();
    let places: Vec<Uuid> = effects.puts.iter().map(|(_, place)| place.0).collect();
    query!(
        "WITH p AS (INSERT INTO put (lot, seq, place) SELECT u.lot, $3, u.place
                    FROM unnest($1::uuid[], $2::uuid[]) AS u(lot, place)
                    ON CONFLICT (lot, seq) DO UPDATE SET place = excluded.place RETURNING lot, place)
         UPDATE lot SET place = p.place FROM p WHERE lot.id = p.lot",
        &lots,
        &places,
        at.seq as Seq
    )
    .execute(db)
    .await?;
    Ok(())
}

async fn speak(db: &mut PgConnection, at: &Written, effects: &Effects) -> Result<()> {
    let subjects: Vec<Uuid> = effects.about.iter().map(|(subject, _)| *subject).collect();
    let roles: Vec<String> = effects.about.iter().map(|(_, role)| role.word().to_owned()).collect();
    query!(
        "INSERT INTO about (subject, seq, role)
         SELECT u.subject, $3, u.role FROM unnest($1::uuid[], $2::text[]) AS u(subject, role)",
        &subjects,
        &roles,
        at.seq as Seq
    )
    .execute(db)
    .await?;
    Ok(())
}

async fn shift(db: &mut PgConnection, at: &Written, effects: &Effects) -> Result<()> {
    if effects.movements.is_empty() {
        return Ok(());
    }
    let mut lots: Vec<Option<Uuid>> = Vec::new();
    let mut accounts: Vec<Option<String>> = Vec::new();
    let mut parties: Vec<Option<Uuid>> = Vec::new();
    let mut grams: Vec<Decimal> = Vec::new();
    for movement in &effects.movements {
        let (lot, account, party) = match movement.side {
            Side::Lot(lot) => (Some(lot.0), None, None),
            Side::Account(account, party) => (None, Some(account.word().to_owned()), party),
        };
        lots.push(lot);
        accounts.push(account);
        parties.push(party);
        grams.push(movement.grams.decimal());
    }
    query!(
        "INSERT INTO movement (seq, n, lot, account, party, grams)
         SELECT $1, u.n, u.lot, u.account, u.party, u.grams
         FROM unnest($2::uuid[], $3::text[], $4::uuid[], $5::numeric[])
              WITH ORDINALITY AS u(lot, account, party, grams, n)",
        at.seq as Seq,
        &lots as &[Option<Uuid>],
        &accounts as &[Option<String>],
        &parties as &[Option<Uuid>],
        &grams
    )
    .execute(db)
    .await
    .on_constraint(
        "lot_not_below_zero",
        "weight",
        "There is less of it than that. Look at what the lot still holds.",
    )?;
    Ok(())
}

async fn hold(db: &mut PgConnection, at: &Written, effects: &Effects) -> Result<()> {
    if !effects.holds.is_empty() {
        let lots: Vec<Uuid> = effects.holds.iter().map(|(lot, _)| lot.0).collect();
        let reasons: Vec<String> = effects.holds.iter().map(|(_, reason)| reason.clone()).collect();
        query!(
            "INSERT INTO hold (lot, seq, reason)
             SELECT u.lot, $3, u.reason FROM unnest($1::uuid[], $2::text[]) AS u(lot, reason)",
            &lots,
            &reasons,
            at.seq as Seq
        )
        .execute(&mut *db)
        .await?;
    }
    if effects.lifts.is_empty() {
        return Ok(());
    }
    let lifted: Vec<Uuid> = effects.lifts.iter().map(|(lot, _)| lot.0).collect();
    let of: Vec<Option<i64>> = effects.lifts.iter().map(|(_, by)| by.map(|seq| seq.0)).collect();
    query!(
        "UPDATE hold SET lifted_by = $3 FROM unnest($1::uuid[], $2::bigint[]) AS u(lot, of)
         WHERE hold.lot = u.lot AND (u.of IS NULL OR hold.seq = u.of) AND lifted_by IS NULL AND seq < $3",
        &lifted,
        &of as &[Option<i64>],
        at.seq as Seq
    )
    .execute(db)
    .await?;
    Ok(())
}

async fn sign(db: &mut PgConnection, at: &Written, effects: &Effects) -> Result<()> {
    let Some((person, name, initials)) = &effects.signer else { return Ok(()) };
    query!(
        "INSERT INTO signer (id, name, initials, seq) VALUES ($1, $2, $3, $4)
         ON CONFLICT (id) DO UPDATE SET name = excluded.name, initials = excluded.initials, seq = excluded.seq",
        person.0,
        name,
        initials,
        at.seq as Seq
    )
    .execute(db)
    .await?;
    Ok(())
}

/// Takes back what an entry did to the book's own tables, movements apart: those the strike carries itself.
pub async fn strike(db: &mut PgConnection, old: &Written, by: &Written, reason: &str) -> Result<()> {
    let (old, by) = (old.seq, by.seq);
    query!("INSERT INTO strike (seq, by_seq, reason) VALUES ($1, $2, $3)", old as Seq, by as Seq, reason)
        .execute(&mut *db)
        .await?;
    query!("UPDATE lot SET struck_by = $2 WHERE seq = $1", old as Seq, by as Seq).execute(&mut *db).await?;
    query!("UPDATE hold SET lifted_by = $2 WHERE seq = $1 AND lifted_by IS NULL", old as Seq, by as Seq)
        .execute(&mut *db)
        .await?;
    // A hold that the struck entry had lifted is open again, unless what laid it was struck in the meantime.
    query!(
        "UPDATE hold SET lifted_by = (SELECT s.by_seq FROM strike s WHERE s.seq = hold.seq)
         WHERE lifted_by = $1 AND seq <> $1",
        old as Seq
    )
    .execute(&mut *db)
    .await?;
    query!(
        "UPDATE lot SET place = (SELECT p.place FROM put p WHERE p.lot = lot.id
                                 AND NOT EXISTS (SELECT 1 FROM strike s WHERE s.seq = p.seq)
                                 ORDER BY p.seq DESC LIMIT 1)
         WHERE struck_by IS NULL AND id IN (SELECT p.lot FROM put p WHERE p.seq = $1)",
        old as Seq
    )
    .execute(db)
    .await?;
    Ok(())
}

/// The next free number of a day.
pub async fn next_code(db: &mut PgConnection, day: time::Date) -> Result<LotCode> {
    let first = LotCode::first(day, 1).map_err(anyhow::Error::from)?;
    let last = query_scalar!("SELECT max(code_number) FROM lot WHERE code_day = $1", first.day())
        .fetch_one(db)
        .await?
        .unwrap_or(0);
    let next = u16::try_from(last + 1).map_err(anyhow::Error::from)?;
    Ok(LotCode::first(day, next).map_err(anyhow::Error::from)?)
}

/// The number that the next piece under this code's root takes.
pub async fn next_piece(db: &mut PgConnection, code: &LotCode) -> Result<u16> {
    let last = query_scalar!(
        "SELECT max(code_piece) FROM lot WHERE code_day = $1 AND code_number = $2",
        code.day(),
        i32::from(code.number())
    )
    .fetch_one(db)
    .await?
    .unwrap_or(0);
    Ok(u16::try_from(last + 1).map_err(anyhow::Error::from)?)
}
