//! The chain: each entry carries the SHA-256 of its own canonical form, which contains the hash of the one before.
//!
//! Canonical form: RFC 8785 (JSON Canonicalization Scheme). Weights are written as strings with two decimals and
//! times as RFC 3339 in UTC with six, so that no reader has to agree with us about floats.

use serde::Serialize;
use sha2::{Digest, Sha256};
use time::OffsetDateTime;
use time::macros::format_description;
use uuid::Uuid;

use super::effects::{Movement, Side};
use super::entry::Written;
use crate::error::Result;

/// SHA-256 (FIPS 180-4).
pub type Hash = [u8; 32];

/// What stands before the first entry.
pub const BEFORE_ALL: Hash = [0; 32];

#[derive(Serialize)]
struct Canonical<'a> {
    seq: String,
    id: Uuid,
    kind: &'a str,
    happened_at: String,
    recorded_at: String,
    person: Uuid,
    body: &'a str,
    movements: Vec<[String; 3]>,
    prev: String,
}

/// Writes a body in its canonical form.
pub fn canonical_body<T: Serialize>(body: &T) -> Result<String> {
    let bytes = serde_json_canonicalizer::to_vec(body).map_err(anyhow::Error::from)?;
    Ok(String::from_utf8(bytes).map_err(anyhow::Error::from)?)
}

/// The hash of an entry.
pub fn hash(at: &Written, kind: &str, body: &str, movements: &[Movement], prev: &Hash) -> Result<Hash> {
    Ok(Sha256::digest(form(at, kind, body, movements, prev)?).into())
}

/// The canonical form of an entry: the text that is hashed, which is JSON.
pub fn form(at: &Written, kind: &str, body: &str, movements: &[Movement], prev: &Hash) -> Result<String> {
    let canonical = Canonical {
        seq: at.seq.to_string(),
        id: at.id,
        kind,
        happened_at: instant(at.happened_at)?,
        recorded_at: instant(at.recorded_at)?,
        person: at.person.0,
        body,
        movements: movements.iter().map(line).collect(),
        prev: hex(prev),
    };
    canonical_body(&canonical)
}

/// Lower-case hexadecimal.
pub fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// Cuts a moment to what PostgreSQL keeps: microseconds.
pub fn to_microseconds(at: OffsetDateTime) -> OffsetDateTime {
    let spare = i64::from(at.nanosecond() % 1000);
    at.to_offset(time::UtcOffset::UTC) - time::Duration::nanoseconds(spare)
}

fn instant(at: OffsetDateTime) -> Result<String> {
    let format = format_description!("[year]-[month]-[day]T[hour]:[minute]:[second].[subsecond digits:6]Z");
    Ok(at.to_offset(time::UtcOffset::UTC).format(format).map_err(anyhow::Error::from)?)
}

fn line(movement: &Movement) -> [String; 3] {
    let grams = format!("{:.2}", movement.grams.decimal());
    match movement.side {
        Side::Lot(lot) => ["lot".into(), lot.to_string(), grams],
        Side::Account(account, party) => {
            [account.word().into(), party.map(|p| p.to_string()).unwrap_or_default(), grams]
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::effects::{Account, Effects};
    use crate::book::entry::Seq;
    use crate::ids::{LotId, PersonId};
    use crate::measure::Grams;
    use time::macros::datetime;

    fn written() -> Written {
        Written {
            seq: Seq(1),
            id: Uuid::from_u128(1),
            person: PersonId(Uuid::from_u128(2)),
            happened_at: datetime!(2026-11-24 09:42 UTC),
            recorded_at: datetime!(2026-11-24 09:42:01.5 UTC),
        }
    }

    fn movements(grams: i64) -> Vec<Movement> {
        let lot = LotId(Uuid::from_u128(3));
        Effects::none()
            .take(lot, Grams::whole(grams))
            .account(Account::Drying, None, Grams::whole(grams))
            .movements
    }

    #[test]
    fn the_form_that_is_hashed_is_written_down_here_so_that_others_can_check_a_book() {
        // SHA-256 of the line below, made with coreutils' sha256sum.
        let expected = concat!(
            r#"{"body":"{}","happened_at":"2026-11-24T09:42:00.000000Z","id":"00000000-0000-0000-0000-000000000001","#,
            r#""kind":"piece.weighed","movements":[["lot","00000000-0000-0000-0000-000000000003","-112.00"],"#,
            r#"["drying","","112.00"]],"person":"00000000-0000-0000-0000-000000000002","#,
            r#""prev":"0000000000000000000000000000000000000000000000000000000000000000","#,
            r#""recorded_at":"2026-11-24T09:42:01.500000Z","seq":"1"}"#
        );
        let by_hand: Hash = Sha256::digest(expected).into();
        let ours = hash(&written(), "piece.weighed", "{}", &movements(112), &BEFORE_ALL).expect("hashes");
        assert_eq!(hex(&ours), hex(&by_hand));
    }

    #[test]
    fn a_gram_more_in_a_movement_is_another_hash() {
        let one = hash(&written(), "piece.weighed", "{}", &movements(112), &BEFORE_ALL).expect("hashes");
        let other = hash(&written(), "piece.weighed", "{}", &movements(113), &BEFORE_ALL).expect("hashes");
        assert_ne!(one, other);
    }

    #[test]
    fn sha_256_gives_the_published_digest_of_abc() {
        // FIPS 180-4, example "abc" (NIST CSRC examples for SHA-256).
        let digest = Sha256::digest("abc");
        assert_eq!(hex(&digest), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn bodies_are_written_with_sorted_keys_as_rfc_8785_asks() {
        #[derive(Serialize)]
        struct Body {
            weight: &'static str,
            cut: &'static str,
        }
        let text = canonical_body(&Body { weight: "3180.00", cut: "collar" }).expect("canonical");
        assert_eq!(text, r#"{"cut":"collar","weight":"3180.00"}"#);
    }
}
