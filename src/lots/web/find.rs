//! `/find` and `/t/{code}`: a code that was typed or scanned leads to the page of what carries it.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;

use super::super::db;
use crate::book;
use crate::error::{Errors, Refusal, Result};
use crate::ids::LotId;
use crate::measure::LotCode;
use crate::web::{App, Area, Frame, Me, Path, Query, page};

/// How much of what was typed is shown again, in characters.
const SHOWN: usize = 60;

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    code: String,
}

#[derive(Template)]
#[template(path = "lots/find.html")]
struct FindPage {
    frame: Frame,
    title: &'static str,
    code: String,
    errors: Errors,
    trace: String,
}

/// GET `/find?code=`
pub async fn page(With(app): With<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    look(&app, &me, &asked.code).await
}

/// GET `/t/{code}`: the address in a tag's QR code.
pub async fn tag(With(app): With<App>, me: Me, Path(code): Path<String>) -> Result<Response> {
    look(&app, &me, &code).await
}

async fn look(app: &App, me: &Me, text: &str) -> Result<Response> {
    if text.trim().is_empty() {
        return draw(app, me, StatusCode::OK, "", Errors::default());
    }
    let mut conn = app.db().await?;
    let lot = match (id_of_address(text), LotCode::parse(text)) {
        (Some(id), _) => book::db::lot(&mut conn, id).await?,
        (None, Ok(code)) => book::db::lot_by_code(&mut conn, &code).await?,
        (None, Err(why)) => return not_found(app, me, text, why.to_string()),
    };
    let Some(lot) = lot else {
        return not_found(app, me, text, "No tag of this shop carries this code.".to_owned());
    };
    match db::batch_of_mix(&mut conn, lot.id).await? {
        Some(batch) => page::goto(&batch.path()),
        None => page::goto(&lot.id.path()),
    }
}

/// The lot in the address of its own page, which is what a browser's address bar holds.
fn id_of_address(text: &str) -> Option<LotId> {
    let (_, rest) = text.trim().split_once("/lots/")?;
    rest.split(['/', '?', '#']).next()?.parse().ok()
}

fn not_found(app: &App, me: &Me, text: &str, why: String) -> Result<Response> {
    let code: String = text.trim().chars().take(SHOWN).collect();
    draw(app, me, StatusCode::NOT_FOUND, &code, Refusal::at("code", why).into())
}

fn draw(app: &App, me: &Me, status: StatusCode, code: &str, errors: Errors) -> Result<Response> {
    let query = serde_html_form::to_string([("code", code)]).unwrap_or_default();
    let page = FindPage {
        frame: Frame::new(app, me, Area::Elsewhere),
        title: if errors.is_empty() { "Find by code" } else { "No such code" },
        code: code.to_owned(),
        errors,
        trace: format!("/trace?{query}"),
    };
    page::show(status, &page)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_address_of_a_lots_page_names_the_lot() {
        let id = "0192f0aa-0000-7000-8000-000000000001";
        assert_eq!(id_of_address(&format!("https://book.example/lots/{id}/count")), id.parse().ok());
        assert_eq!(id_of_address("https://book.example/t/26329-02"), None);
        assert_eq!(id_of_address("https://book.example/lots/26329-02"), None);
    }
}
