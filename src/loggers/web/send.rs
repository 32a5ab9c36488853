//! `/loggers/samples`: where devices send to, each with its token, as CSV or as JSON.

use axum::body::Bytes;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Response};
use rust_decimal::Decimal;
use serde::Deserialize;
use serde_json::{Value as Json, json};
use sha2::{Digest, Sha256};
use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

use super::super::columns::Columns;
use super::super::db::{self, Sender};
use super::super::entry::Sample;
use super::super::sheet::letters;
use super::super::take::{self, Brought, Taken};
use super::super::understood::{Understood, measured, settle};
use super::reading;
use crate::book::Stamp;
use crate::book::chain::Hash;
use crate::checks::Quantity;
use crate::error::{Error, Refusal, Result};
use crate::ids::{Named, derived};
use crate::web::{App, Touched, failure, sends_for};

/// POST `/loggers/samples`
pub async fn take(State(app): State<App>, headers: HeaderMap, body: Bytes) -> Response {
    let Some(token) = token(&headers) else {
        return answer(
            StatusCode::UNAUTHORIZED,
            &json!({"error": "Send the token of a logger: Authorization: Bearer …"}),
        );
    };
    match write(&app, &token, &headers, &body).await {
        Ok(Some(taken)) => answer(
            StatusCode::OK,
            &json!({
                "written": taken.written,
                "skipped": taken.skipped,
                "entry": taken.import.map(|(_, seq)| seq.0),
                "deviations": taken.deviations.len(),
            }),
        ),
        Ok(None) => {
            answer(StatusCode::UNAUTHORIZED, &json!({"error": "No logger that sends here has this token."}))
        }
        Err(Error::Form(errors)) => {
            let said: Vec<&str> = errors.iter().map(|refusal| refusal.message.as_str()).collect();
            answer(StatusCode::UNPROCESSABLE_ENTITY, &json!({"error": said.join(" ")}))
        }
        Err(why) => {
            let number = failure::request_id(&headers);
            tracing::error!(number, "samples could not be taken: {why:#}");
            answer(StatusCode::INTERNAL_SERVER_ERROR, &json!({"error": "Nothing was written."}))
        }
    }
}

fn answer(status: StatusCode, body: &Json) -> Response {
    (status, [(header::CONTENT_TYPE, "application/json")], body.to_string()).into_response()
}

fn token(headers: &HeaderMap) -> Option<Hash> {
    let said = headers.get(header::AUTHORIZATION)?.to_str().ok()?;
    let (scheme, token) = said.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| Sha256::digest(token.trim()).into())
}

/// Writes what was sent; `None` where no device has this token.
async fn write(app: &App, token: &Hash, headers: &HeaderMap, body: &Bytes) -> Result<Option<Taken>> {
    let mut conn = app.db().await?;
    let Some(sender) = db::device_of(&mut conn, token).await? else { return Ok(None) };
    let kind = headers.get(header::CONTENT_TYPE).and_then(|value| value.to_str().ok()).unwrap_or_default();
    let understood = if kind.starts_with("application/json") {
        of_json(body)?
    } else {
        let text = letters(body);
        let known = db::columns_of(&mut conn, &reading::header(&text)?).await?;
        of_csv(&text, known.and_then(|text| serde_json::from_str(&text).ok()), &sender)?
    };
    drop(conn);
    if understood.samples.is_empty() {
        return Err(Refusal::of("There is no sample in it.").into());
    }
    // The same text sent again is the same entry, so that a device may send until it is answered.
    let digest: Hash = Sha256::digest(body).into();
    let id = derived(sender.logger.0, &crate::book::chain::hex(&digest), 0);
    let stamp = Stamp { id, digest, person: sender.person, happened_at: None };
    let count = understood.samples.len();
    let Some(mut pen) = app.book.pen(stamp).await? else {
        return Ok(Some(Taken { skipped: count, ..Taken::default() }));
    };
    let brought = Brought {
        place: Named::new(sender.place, sender.place_name),
        source: sender.name.clone(),
        logger: Some(Named::new(sender.logger, sender.name)),
        samples: understood.samples,
        blank: understood.blank,
    };
    let place = brought.place.id;
    let taken = take::take(&mut pen, brought, sender.system).await?;
    if taken.import.is_some() {
        // What the samples decide is judged now, and not when somebody next reads the place by hand.
        let me = sends_for(&mut pen, sender.person, app.book.clock.now()).await?.ok_or(Error::Forbidden)?;
        app.after(&mut pen, &me, Touched::Place(place)).await?;
        pen.commit().await?;
    }
    Ok(Some(taken))
}

fn of_csv(text: &str, known: Option<Columns>, sender: &Sender) -> Result<Understood> {
    let read = reading::read(text, None, |_| known, &sender.zone, sender.system)?;
    if !read.sure {
        return Err(Refusal::of(
            "Its dates can be read with the day or the month first. Send the year first, or import one such file by hand.",
        )
        .into());
    }
    Ok(read.understood?)
}

/// What a device sends as JSON: moments in RFC 3339, temperatures in °C or °F, humidities in %RH.
#[derive(Debug, Deserialize)]
struct Sent {
    samples: Vec<SentSample>,
}

#[derive(Debug, Deserialize)]
struct SentSample {
    at: String,
    #[serde(default)]
    temperature: Option<serde_json::Number>,
    #[serde(default)]
    temperature_f: Option<serde_json::Number>,
    #[serde(default)]
    humidity: Option<serde_json::Number>,
}

fn of_json(body: &[u8]) -> Result<Understood> {
    let sent: Sent = serde_json::from_slice(body)
        .map_err(|why| Refusal::of(format!("This is no list of samples: {why}.")))?;
    let mut all = Understood::default();
    for (n, one) in (1..).zip(sent.samples) {
        let wrong = |what: String| Refusal::of(format!("Sample {n}: {what}"));
        let at = OffsetDateTime::parse(&one.at, &Rfc3339)
            .map_err(|_| wrong(format!("{} is no time of RFC 3339.", one.at)))?;
        let at = at.to_offset(time::UtcOffset::UTC).replace_nanosecond(0).map_err(anyhow::Error::from)?;
        for (quantity, fahrenheit, figure) in [
            (Quantity::Temperature, false, one.temperature),
            (Quantity::Temperature, true, one.temperature_f),
            (Quantity::Humidity, false, one.humidity),
        ] {
            let Some(figure) = figure else { continue };
            let figure = Decimal::from_str_exact(&figure.to_string())
                .map_err(|_| wrong(format!("{figure} has too many figures.")))?;
            let value = measured(quantity, figure, fahrenheit).map_err(wrong)?;
            all.samples.push(Sample { at, value });
        }
    }
    all.again = settle(&mut all.samples)?;
    Ok(all)
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::macros::datetime;

    use super::*;

    #[test]
    fn samples_are_read_from_json() {
        let body = br#"{"samples":[{"at":"2026-11-25T08:20:00+01:00","temperature":12.4,"humidity":78},
                                   {"at":"2026-11-25T07:25:00Z","temperature_f":41}]}"#;
        let all = of_json(body).expect("read").samples;
        assert_eq!(all.len(), 3);
        assert_eq!((all[0].at, all[0].value.decimal()), (datetime!(2026-11-25 07:20 UTC), dec!(78)));
        assert_eq!(all[2].value.decimal(), dec!(5));
    }

    #[test]
    fn what_is_no_list_of_samples_is_refused() {
        assert!(of_json(b"{}").is_err());
        assert!(of_json(br#"{"samples":[{"at":"yesterday","temperature":1}]}"#).is_err());
        assert!(of_json(br#"{"samples":[{"at":"2026-11-25T07:20:00Z","humidity":140}]}"#).is_err());
    }

    #[test]
    fn only_a_bearer_token_is_one() {
        let of = |text: &str| {
            let mut headers = HeaderMap::new();
            headers.insert(header::AUTHORIZATION, text.parse().expect("a header"));
            token(&headers)
        };
        assert_eq!(of("Bearer abc"), of("bearer abc"));
        assert!(of("Bearer abc").is_some() && of("Basic abc").is_none() && of("abc").is_none());
    }
}
