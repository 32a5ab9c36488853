//! `/dispatch/dockets/{id}`: the note that travels with the goods. It holds the eight facts of Regulation (EU) No
//! 931/2011, art. 3(1).

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db::{self, Sent};
use super::one_line;
use crate::book;
use crate::error::{Error, Result};
use crate::ids::DispatchId;
use crate::measure::{Grams, Money};
use crate::rights::Right;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Fact, Line};
use crate::web::{App, Area, Frame, Me, Path, page};

struct Row {
    href: String,
    code: String,
    description: String,
    weight: String,
    other: String,
    price: String,
    amount: String,
}

#[derive(Template)]
#[template(path = "dispatch/docket.html")]
struct DocketPage {
    frame: Frame,
    reference: String,
    struck: bool,
    facts: Vec<Fact>,
    rows: Vec<Row>,
    priced: bool,
    weight: String,
    amount: String,
    lines: Vec<Line>,
}

/// GET `/dispatch/dockets/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<DispatchId>) -> Result<Response> {
    let mut conn = app.db().await?;
    let docket = db::docket(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let first = docket.lines.first().ok_or(Error::NotFound)?;
    let entry = book::db::read_entry(&mut conn, docket.seq).await?.ok_or(Error::NotFound)?;
    let style = Style { days: true, strike: me.may(Right::Dispatch), ..Style::default() };
    let weight: Grams = docket.lines.iter().map(|line| line.grams).sum();
    let page = DocketPage {
        frame: Frame::new(&app, &me, Area::Dispatch),
        reference: first.reference.clone(),
        struck: first.struck,
        facts: facts(&me, first),
        rows: docket.lines.iter().map(|line| row(&me, line)).collect(),
        priced: docket.lines.iter().any(|line| line.price.is_some()),
        weight: me.shop.weight(weight),
        amount: me.shop.money(Money::new(docket.lines.iter().filter_map(amount).map(Money::decimal).sum())),
        lines: ledger::lines(&app.book.kinds, &me, &[entry], style)?,
    };
    page::show(StatusCode::OK, &page)
}

fn facts(me: &Me, first: &Sent) -> Vec<Fact> {
    let party = |name: &str, address: &str| format!("{name}, {}", one_line(address));
    let mut facts = vec![
        Fact::new("Docket", first.reference.clone()),
        Fact::new(
            "Date of dispatch",
            format!(
                "{} {}",
                crate::measure::day_year(me.shop.date(first.happened_at)),
                ledger::time(me, first.happened_at)
            ),
        ),
        Fact::new("Dispatched by", party(&first.from.name, &first.from.address)),
    ];
    if !first.consignor.is_empty() {
        facts.push(Fact::new("Owner before (consignor)", one_line(&first.consignor)));
    }
    if first.counter {
        facts.push(Fact::new("Received by", "over the counter, by whoever eats it"));
    } else {
        facts.push(Fact::new("Received by", party(&first.to.name, &first.to.address)));
    }
    if !first.consignee.is_empty() {
        facts.push(Fact::new("Owner from here (consignee)", one_line(&first.consignee)));
    }
    facts
}

fn amount(line: &Sent) -> Option<Money> {
    line.price.map(|price| price.cost(line.grams))
}

fn row(me: &Me, line: &Sent) -> Row {
    let (weight, other) = line.grams.both(me.shop.system);
    Row {
        href: line.lot.path(),
        code: line.code.to_string(),
        description: line.description.clone(),
        weight,
        other,
        price: line
            .price
            .map(|price| price.text(&me.shop.currency, me.shop.weight_unit()))
            .unwrap_or_default(),
        amount: amount(line).map(|money| me.shop.money(money)).unwrap_or_default(),
    }
}
