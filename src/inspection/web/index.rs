//! `/inspection`: the page on which an inspector begins.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db::{self, Listed, Sums};
use crate::error::{Errors, Result};
use crate::web::parts::State as Mark;
use crate::web::{App, Area, Frame, Me, ledger, page};

/// How many released batches the page still lists.
const RELEASED: i64 = 12;

struct Row {
    href: String,
    release: String,
    code: String,
    product: String,
    stage: &'static str,
    begun: String,
    state: Mark,
}

struct Tile {
    href: &'static str,
    name: &'static str,
    big: String,
    words: String,
}

#[derive(Template)]
#[template(path = "inspection/index.html")]
struct IndexPage {
    frame: Frame,
    code: String,
    errors: Errors,
    rows: Vec<Row>,
    tiles: Vec<Tile>,
}

/// GET `/inspection`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let mut conn = app.db().await?;
    let batches = db::batches(&mut conn, RELEASED).await?;
    let sums = db::sums(&mut conn).await?;
    let page = IndexPage {
        frame: Frame::new(&app, &me, Area::Elsewhere),
        code: String::new(),
        errors: Errors::default(),
        rows: batches.iter().map(|batch| row(&me, batch)).collect(),
        tiles: tiles(&sums),
    };
    page::show(StatusCode::OK, &page)
}

fn row(me: &Me, batch: &Listed) -> Row {
    Row {
        href: batch.id.path(),
        release: format!("/release/{}", batch.id),
        code: batch.code.clone(),
        product: batch.product.clone(),
        stage: batch.stage.word(),
        begun: ledger::day(me, batch.begun_at),
        state: match (batch.open, batch.reviewed) {
            (0, true) => Mark::new("met", "records reviewed, no deviation open"),
            (0, false) => Mark::new("wait", "not reviewed yet, no deviation open"),
            (1, _) => Mark::new("out", "1 deviation open"),
            (n, _) => Mark::new("out", format!("{n} deviations open")),
        },
    }
}

fn tiles(sums: &Sums) -> Vec<Tile> {
    let tile =
        |href, name, big: i64, words: &str| Tile { href, name, big: big.to_string(), words: words.into() };
    let open = match sums.open_deviations {
        0 => "None is open.".to_owned(),
        1 => "1 is open.".to_owned(),
        n => format!("{n} are open."),
    };
    vec![
        tile(
            "/checks/records",
            "Checks and readings",
            sums.checks,
            "Values with their limit, time, instrument and initials.",
        ),
        tile("/checks/deviations", "Deviations", sums.deviations, &open),
        tile("/checks/holds", "On hold", sums.holds, "Lots that may not be used or sold, and why."),
        tile(
            "/calibration",
            "Calibration",
            sums.calibrations,
            "Each instrument's last one, as found and as left.",
        ),
        tile(
            "/batches",
            "Reviews",
            sums.reviews,
            "Batches whose records were looked over and signed; each batch's page leads to its own.",
        ),
        tile(
            "/attachments",
            "Papers",
            sums.papers,
            "Letters of guarantee, certificates, laboratory results.",
        ),
        tile(
            "/entries",
            "The book",
            sums.lines,
            "Every line in its order, with its hash; struck lines stay.",
        ),
    ]
}
