//! `/yields`: cuts, sources, suppliers, breeds and cutters side by side.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;

use super::super::compare::{By, Row};
use super::{ALL, Compared, Filter, ask};
use crate::error::{Errors, Result};
use crate::measure::Percent;
use crate::web::parts::{Chart, Choice, Column, Tick};
use crate::web::{App, Area, Frame, Me, Query, Shop, page};

/// How many columns a chart holds so that each can still be told from its neighbour on a phone.
const COLUMNS: usize = 14;

/// From how many columns on a phone has room for every second number only.
const CLOSE: usize = 8;

struct TableRow {
    nr: usize,
    name: String,
    href: String,
    sources: usize,
    taken_in: String,
    weight: String,
    share: String,
    loss: String,
    found: String,
    per_kg: String,
}

#[derive(Template)]
#[template(path = "yields/index.html")]
struct YieldsPage {
    frame: Frame,
    filter: Filter,
    errors: Errors,
    bys: Vec<Choice>,
    sources: Vec<Choice>,
    by: &'static str,
    of_cuts: bool,
    rows: Vec<TableRow>,
    chart: Chart,
    caption: String,
    csv: String,
    any: bool,
}

/// GET `/yields`
pub async fn page(State(app): State<App>, me: Me, Query(filter): Query<Filter>) -> Result<Response> {
    let compared = ask(&mut *app.db().await?, &me, filter).await?;
    let query = serde_html_form::to_string(&compared.filter).map_err(anyhow::Error::from)?;
    let all = Choice::new(ALL, "every sort of source");
    let page = YieldsPage {
        frame: Frame::new(&app, &me, Area::Yields),
        bys: By::ALL.iter().map(|by| Choice::new(by.word(), by.word())).collect(),
        sources: compared
            .sorts
            .iter()
            .map(|sort| Choice::new(sort.item, sort.name.clone()))
            .chain([all])
            .collect(),
        by: compared.by.word(),
        of_cuts: compared.by == By::Cut,
        rows: (1..).zip(&compared.rows).map(|(nr, row)| table_row(&me.shop, nr, row)).collect(),
        chart: chart(compared.by, &compared.rows),
        caption: caption(&compared),
        csv: format!("/yields/table.csv?{query}"),
        any: !compared.sorts.is_empty(),
        filter: compared.filter,
        errors: compared.errors,
    };
    page::show(StatusCode::OK, &page)
}

fn table_row(shop: &Shop, nr: usize, row: &Row) -> TableRow {
    TableRow {
        nr,
        name: row.name.clone(),
        href: row.breakdown.map(|id| id.path()).unwrap_or_default(),
        sources: row.sources,
        taken_in: shop.weight(row.taken_in),
        weight: shop.weight(row.weight),
        share: row.share.text(),
        loss: row.loss.map(|loss| loss.text_places(2)).unwrap_or_default(),
        found: row.found.filter(|found| !found.is_zero()).map(|found| shop.weight(found)).unwrap_or_default(),
        per_kg: row
            .per_kg
            .map_or_else(|| "not known".into(), |price| price.text(&shop.currency, shop.weight_unit())),
    }
}

fn caption(compared: &Compared) -> String {
    let sources =
        if compared.sources == 1 { "1 source".to_owned() } else { format!("{} sources", compared.sources) };
    let left_out = compared.rows.len().saturating_sub(COLUMNS);
    let rest = if left_out == 0 {
        String::new()
    } else {
        format!(" The first {COLUMNS}; {left_out} more are in the table.")
    };
    format!(
        "Per cent of the source as taken on the block, by weight over {sources}. The numbers are those of the table.{rest}"
    )
}

/// One column a line: what was kept, of the source as taken on the block.
fn chart(by: By, rows: &[Row]) -> Chart {
    let rows = &rows[..rows.len().min(COLUMNS)];
    let most = rows.iter().map(|row| row.share.decimal()).max().unwrap_or_default();
    let top = (most / Decimal::TEN).ceil().max(Decimal::ONE) * Decimal::TEN;
    let across =
        |places: usize| Decimal::from(places) * Decimal::ONE_HUNDRED / Decimal::from(rows.len().max(1));
    let slot = across(1);
    let said: Vec<String> = rows.iter().map(|row| format!("{} {}", row.name, row.share.text())).collect();
    let column = |(nr, row): (usize, &Row)| {
        let height = row.share.decimal() * Decimal::ONE_HUNDRED / top;
        Column {
            x: place(across(nr) + slot / Decimal::from(5)),
            width: place(slot * Decimal::from(3) / Decimal::from(5)),
            y: place(Decimal::ONE_HUNDRED - height),
            height: place(height),
            title: format!("{} {}", row.name, row.share.text()),
            ..Column::default()
        }
    };
    let tick = |nr: usize| Tick {
        at: place(across(nr) + slot / Decimal::TWO),
        name: (nr + 1).to_string(),
        lesser: rows.len() > CLOSE && nr % 2 == 1,
    };
    let line = |quarter: u32| Tick {
        at: place(Decimal::ONE_HUNDRED - Decimal::from(quarter * 25)),
        name: Percent::new(top * Decimal::from(quarter) / Decimal::from(4)).text(),
        lesser: false,
    };
    Chart {
        label: format!("Yield by {}: {}", by.word(), said.join(", ")),
        ys: (0..=4).map(line).collect(),
        xs: (0..rows.len()).map(tick).collect(),
        columns: rows.iter().enumerate().map(column).collect(),
        ..Chart::default()
    }
}

fn place(at: Decimal) -> String {
    at.round_dp(2).normalize().to_string()
}
