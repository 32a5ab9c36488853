//! `/fermenting`: the batches whose count goes on, with what is left.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;

use super::super::db;
use super::super::entry::{Adopted, Outcome, against, figure};
use super::super::run::Run;
use super::{DECIDES, state, temperature};
use crate::error::Result;
use crate::standards::degree_hours::Rules;
use crate::web::parts::State;
use crate::web::{App, Area, Frame, Me, ledger, page};

struct Row {
    href: String,
    code: String,
    product: String,
    place: String,
    since: String,
    /// One for the adopted rule set, or for each.
    figures: Vec<Reckoned>,
}

struct Reckoned {
    name: &'static str,
    figure: String,
    left: String,
    present: String,
    state: State,
    left_hours: Option<Decimal>,
}

#[derive(Template)]
#[template(path = "fermenting/index.html")]
struct IndexPage {
    frame: Frame,
    rows: Vec<Row>,
    adopted: String,
    decides: &'static str,
}

/// GET `/fermenting`
pub async fn page(With(app): With<App>, me: Me) -> Result<Response> {
    let mut conn = app.db().await?;
    let adopted = db::adopted(&mut conn).await?.map(|written| written.adopted);
    let counting = db::counting(&mut conn).await?;
    let runs = db::runs(&mut conn, &counting, me.now).await?;
    let by = adopted.map_or_else(|| Rules::ALL.map(Adopted::as_published).to_vec(), |by| vec![by]);
    let mut rows: Vec<Row> = runs.iter().map(|run| row(&me, run, &by)).collect();
    // What presses most stands first; what nothing is known of, after it.
    rows.sort_by_key(|row| {
        let left = row.figures.iter().filter_map(|one| one.left_hours).min();
        (left.is_none(), left, row.code.clone())
    });
    let page = IndexPage {
        frame: Frame::new(&app, &me, Area::Batches),
        rows,
        adopted: adopted.map(|by| by.words()).unwrap_or_default(),
        decides: DECIDES,
    };
    page::show(StatusCode::OK, &page)
}

fn row(me: &Me, run: &Run, by: &[Adopted]) -> Row {
    let mut place = String::new();
    let figures = by.iter().map(|by| {
        let reckoned = run.reckon(by);
        place = run.stands_in(reckoned.way).map(|place| place.name.clone()).unwrap_or_default();
        let over = reckoned.outcome == Outcome::Over;
        let left = if over { Some(Decimal::ZERO) } else { reckoned.hours_left(by) };
        let scale = by.rules.set().scale;
        Reckoned {
            name: by.rules.set().name,
            figure: reckoned.verdict.as_ref().map_or_else(
                || "–".to_owned(),
                |verdict| {
                    format!(
                        "{} of {}\u{a0}{}",
                        against(verdict.figure, verdict.limit),
                        figure(verdict.limit),
                        by.unit()
                    )
                },
            ),
            left: match left {
                Some(left) => format!("{}\u{a0}h", figure(left.round_dp(1))),
                None if reckoned.present.is_some() => "nothing counted".to_owned(),
                None => "–".to_owned(),
            },
            present: reckoned.present.map(|degrees| temperature(me, scale, degrees)).unwrap_or_default(),
            state: state(reckoned.outcome),
            left_hours: left,
        }
    });
    let figures = figures.collect();
    Row {
        href: format!("/fermenting/{}", run.batch),
        code: run.code.to_string(),
        product: run.product_name.clone(),
        place,
        since: run.stuffed.map(|(at, _)| ledger::moment(me, at)).unwrap_or_default(),
        figures,
    }
}
