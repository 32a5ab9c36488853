//! The pages of yields: a file a page, and the filter that they share.

pub mod index;
pub mod table;

use serde::{Deserialize, Serialize};
use sqlx::PgConnection;
use time::{Date, Duration};

use super::compare::{By, Row, compare};
use super::db::{self, Sort};
use crate::costs;
use crate::error::{Errors, Refusal, Result};
use crate::ids::{ItemId, LotId};
use crate::measure::{input_day, parse_day};
use crate::web::Me;

/// How far back the comparison looks when it is not told.
const SPAN: Duration = Duration::days(90);

/// The word for "sources of every sort".
const ALL: &str = "all";

/// What stands behind the question mark.
#[derive(Debug, Default, Clone, Deserialize, Serialize)]
#[serde(default)]
pub struct Filter {
    from: String,
    to: String,
    by: String,
    source: String,
}

/// A comparison as it was asked for.
struct Compared {
    filter: Filter,
    errors: Errors,
    by: By,
    sorts: Vec<Sort>,
    rows: Vec<Row>,
    sources: usize,
}

/// A span of the shop's days, both within it; what cannot be read is said and the usual span taken.
fn span(me: &Me, filter: &Filter, errors: &mut Errors) -> (Date, Date) {
    let usual = (me.today() - SPAN, me.today());
    let mut day = |field: &'static str, text: &str, usual: Date| {
        if text.trim().is_empty() {
            return usual;
        }
        parse_day(text).unwrap_or_else(|why| {
            errors.push(Refusal::at(field, why.to_string()));
            usual
        })
    };
    let (from, to) = (day("from", &filter.from, usual.0), day("to", &filter.to, usual.1));
    if from > to {
        errors.push(Refusal::at("to", "The last day lies before the first."));
        return usual;
    }
    (from, to)
}

async fn ask(db: &mut PgConnection, me: &Me, asked: Filter) -> Result<Compared> {
    let mut errors = Errors::default();
    let (from, to) = span(me, &asked, &mut errors);
    let sorts = db::sorts(db).await?;
    let by: By = asked.by.parse().unwrap_or_default();
    // Shares of a carcass and of a loin say nothing side by side: one sort of source, unless all are asked for.
    let picked = asked.source.parse::<ItemId>().ok().filter(|id| sorts.iter().any(|sort| sort.item == *id));
    let item = picked.or_else(|| sorts.first().map(|sort| sort.item)).filter(|_| asked.source != ALL);
    let zone = &me.shop.zone;
    let end = to.next_day().unwrap_or(to);
    let broken = db::broken(db, zone.start_of(from), zone.start_of(end), item).await?;
    let cuts = db::cuts(db, &broken).await?;
    let lots: Vec<LotId> = cuts.iter().filter_map(|cut| cut.lot).collect();
    let costs = costs::cost_of(db, &lots).await?;
    let filter = Filter {
        from: input_day(from),
        to: input_day(to),
        by: by.word().into(),
        source: item.map_or_else(|| ALL.into(), |item| item.to_string()),
    };
    Ok(Compared {
        filter,
        errors,
        by,
        sorts,
        rows: compare(by, &broken, &cuts, &costs),
        sources: broken.len(),
    })
}
