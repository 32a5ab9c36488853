//! `/dispatch/export.csv`: every line that left in a span of days, as a file.

use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use time::{Date, Duration};

use super::super::db::{self, Sent};
use super::one_line;
use crate::error::Result;
use crate::measure::{WeightUnit, input_day, parse_day};
use crate::web::csv::Csv;
use crate::web::{App, Me, Query, ledger, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Span {
    from: String,
    to: String,
}

impl Span {
    /// The days that were asked for; what cannot be read is the last thirty days.
    fn days(&self, today: Date) -> (Date, Date) {
        let to = parse_day(&self.to).unwrap_or(today);
        let from = parse_day(&self.from).unwrap_or(to - Duration::days(30));
        (from.min(to), to.max(from))
    }
}

const HEADS: [&str; 15] = [
    "date",
    "time",
    "docket",
    "dispatched by",
    "address of dispatcher",
    "consignor",
    "received by",
    "address of receiver",
    "consignee",
    "lot",
    "description",
    "weight kg",
    "price per kg",
    "currency",
    "struck",
];

/// GET `/dispatch/export.csv?from=…&to=…`
pub async fn file(State(app): State<App>, me: Me, Query(span): Query<Span>) -> Result<Response> {
    let (from, to) = span.days(me.today());
    let begin = me.shop.zone.start_of(from);
    let end = me.shop.zone.start_of(to.saturating_add(Duration::DAY));
    let lines = db::sent(&mut *app.db().await?, begin, end, None, i64::MAX).await?;
    let mut csv = Csv::new(&HEADS);
    for line in &lines {
        csv.row(&row(&me, line));
    }
    let name = format!("dispatch-{}-to-{}.csv", input_day(from), input_day(to));
    page::file(&name, "text/csv; charset=utf-8", csv.into_bytes())
}

fn row(me: &Me, line: &Sent) -> [String; 15] {
    [
        input_day(me.shop.date(line.happened_at)),
        ledger::time(me, line.happened_at),
        line.reference.clone(),
        line.from.name.clone(),
        one_line(&line.from.address),
        one_line(&line.consignor),
        if line.counter { "over the counter".into() } else { line.to.name.clone() },
        one_line(&line.to.address),
        one_line(&line.consignee),
        line.code.to_string(),
        line.description.clone(),
        line.grams.in_unit(WeightUnit::Kilogram).normalize().to_string(),
        line.price.map(|price| price.to_string()).unwrap_or_default(),
        line.price.map(|_| me.shop.currency.code().to_owned()).unwrap_or_default(),
        if line.struck { "struck".into() } else { String::new() },
    ]
}
