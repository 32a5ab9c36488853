//! `/yields/table.csv`: the comparison as a table for a spreadsheet.

use axum::extract::State;
use axum::response::Response;

use super::{Filter, ask};
use crate::error::Result;
use crate::web::csv::Csv;
use crate::web::{App, Me, Query, page};

/// GET `/yields/table.csv`
pub async fn download(State(app): State<App>, me: Me, Query(filter): Query<Filter>) -> Result<Response> {
    let compared = ask(&mut *app.db().await?, &me, filter).await?;
    let cost = format!("cost ({} per kg)", me.shop.currency);
    let mut csv = Csv::new(&[
        compared.by.word(),
        "sources",
        "taken in (g)",
        "weight (g)",
        "share of the source as taken on the block (%)",
        "cutting loss of the source as taken on the block (%)",
        "found by weighing again (g)",
        &cost,
    ]);
    for row in &compared.rows {
        csv.row(&[
            row.name.clone(),
            row.sources.to_string(),
            row.taken_in.to_string(),
            row.weight.to_string(),
            row.share.to_string(),
            known(row.loss.as_ref()),
            known(row.found.as_ref()),
            known(row.per_kg.as_ref()),
        ]);
    }
    let name = format!("yields-{}-{}-{}.csv", compared.by.word(), compared.filter.from, compared.filter.to);
    page::file(&name, "text/csv; charset=utf-8", csv.into_bytes())
}

/// An empty cell where there is no figure: unknown is not zero.
fn known(figure: Option<&impl ToString>) -> String {
    figure.map(ToString::to_string).unwrap_or_default()
}
