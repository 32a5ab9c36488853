//! `/labels`: choose what is labelled and on what; then the labels as they print.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;

use super::super::db;
use super::super::entry::{LabelSizeWritten, Uses};
use super::views::{self, Label, Subject};
use crate::book::{self, Lot};
use crate::dispatch;
use crate::error::{Errors, Refusal, Result};
use crate::ids::{BatchId, LotId};
use crate::measure::{LotCode, UnitSystem};
use crate::web::parts::Choice;
use crate::web::{App, Area, Frame, Me, Query, page};

/// The most labels of one page.
const MOST: usize = 200;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    /// Codes with commas between them.
    lots: String,
    size: String,
    kind: String,
    /// How many places of the first sheet are used already.
    skip: String,
}

#[derive(Template)]
#[template(path = "labels/choose.html")]
struct ChoosePage {
    frame: Frame,
    asked: Asked,
    errors: Errors,
    kinds: Vec<Choice>,
    sizes: Vec<Choice>,
}

#[derive(Template)]
#[template(path = "labels/print.html")]
struct PrintPage {
    frame: Frame,
    asked: Asked,
    sizes: Vec<Choice>,
    /// Whether it is a sheet, of which places may be used already.
    sheet: bool,
    title: &'static str,
    style: String,
    /// Sheets of labels, or single ones.
    leaves: Vec<Vec<Label>>,
    /// Why some are not there.
    missing: Vec<String>,
}

/// GET `/labels?lots=CODE,CODE&kind=tag|pack&size=…`
pub async fn page(State(app): State<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    let mut conn = app.db().await?;
    let sizes: Vec<LabelSizeWritten> =
        db::sizes(&mut conn).await?.into_iter().filter(|size| !size.retired).collect();
    let lots = match named(&mut conn, &asked.lots).await? {
        Ok(lots) if lots.is_empty() => return choose(&app, &me, &sizes, asked, Errors::default()),
        Ok(lots) => lots,
        Err(errors) => return choose(&app, &me, &sizes, asked, errors),
    };
    let kind = asked.kind.parse().unwrap_or(Uses::Tag);
    let Some(size) = sized(&sizes, &asked.size, kind, me.shop.system) else {
        let refusal = Refusal::at("size", "No size is kept for this. Add one under Setup, Labels.");
        return choose(&app, &me, &sizes, asked, refusal.into());
    };
    let (labels, missing) = labels(&mut conn, &app, &me, &lots, kind, size).await?;
    let skip = asked.skip.trim().parse::<usize>().unwrap_or(0).min(size.a_page().saturating_sub(1));
    let title = if kind == Uses::Pack { "Pack labels" } else { "Tags" };
    let page = PrintPage {
        frame: Frame::new(&app, &me, Area::Dispatch),
        sizes: choices(&sizes, kind),
        sheet: size.sheet.is_some(),
        title,
        style: format!("/labels/sizes/{}.css", size.size),
        leaves: leaves(labels, size.a_page(), skip),
        missing,
        asked: Asked { size: size.size.to_string(), kind: kind.word().into(), ..asked },
    };
    page::show(StatusCode::OK, &page)
}

/// The lots of these codes, in the order in which they were named.
async fn named(db: &mut PgConnection, text: &str) -> Result<Result<Vec<Lot>, Errors>> {
    let mut lots: Vec<Lot> = Vec::new();
    let mut errors = Errors::default();
    let mut codes: Vec<LotCode> = Vec::new();
    for code in text.split([',', ';']).filter(|code| !code.trim().is_empty()).take(MOST) {
        match code.parse() {
            Ok(code) => codes.push(code),
            Err(why) => errors.push(Refusal::at("lots", format!("{}: {why}", code.trim()))),
        }
    }
    let known = db::by_codes(db, &codes).await?;
    let known = book::db::lots(db, &known).await?;
    for code in codes {
        match known.iter().find(|lot| lot.code == code) {
            Some(lot) => lots.push(lot.clone()),
            None => errors.push(Refusal::at("lots", format!("No lot has the code {code}."))),
        }
    }
    Ok(if errors.is_empty() { Ok(lots) } else { Err(errors) })
}

/// The size that was asked for, or the first that fits the kind and the shop's units.
fn sized<'a>(
    sizes: &'a [LabelSizeWritten],
    asked: &str,
    kind: Uses,
    system: UnitSystem,
) -> Option<&'a LabelSizeWritten> {
    let asked = asked.parse().ok();
    let of_kind = || sizes.iter().filter(|size| size.uses.covers(kind));
    let usual = |size: &&LabelSizeWritten| {
        (size.unit == crate::measure::LengthUnit::Inch) == (system == UnitSystem::Us)
    };
    sizes
        .iter()
        .find(|size| Some(size.size) == asked)
        .or_else(|| of_kind().find(usual))
        .or_else(|| of_kind().next())
}

async fn labels(
    db: &mut PgConnection,
    app: &App,
    me: &Me,
    lots: &[Lot],
    kind: Uses,
    size: &LabelSizeWritten,
) -> Result<(Vec<Label>, Vec<String>)> {
    let ids: Vec<LotId> = lots.iter().map(|lot| lot.id).collect();
    let told = db::told(db, &ids).await?;
    let packed = dispatch::packed(db, &ids).await?;
    let batches: Vec<BatchId> = told.iter().filter_map(|told| told.batch).collect();
    let used = views::by_batch(db::used(db, &batches).await?);
    let (mut labels, mut missing) = (Vec::new(), Vec::new());
    for lot in lots {
        let Some(told) = told.iter().find(|told| told.lot == lot.id) else { continue };
        let packed = packed.iter().find(|packed| packed.lot == lot.id);
        let used = told.batch.and_then(|batch| used.get(&batch)).map_or(&[][..], Vec::as_slice);
        let of = Subject { lot, told, packed, used };
        let site = &app.site.address;
        let label = match kind {
            Uses::Pack => views::pack(me, site, &of, size)?.map(Label::Pack),
            Uses::Tag | Uses::Both => views::tag(me, site, &of)?.map(Label::Tag),
        };
        match label {
            Ok(label) => labels.push(label),
            Err(why) => missing.push(why),
        }
    }
    Ok((labels, missing))
}

/// The labels page by page, after the places that are used already.
fn leaves(labels: Vec<Label>, a_page: usize, skip: usize) -> Vec<Vec<Label>> {
    if labels.is_empty() {
        return Vec::new();
    }
    let mut leaves: Vec<Vec<Label>> = vec![(0..skip).map(|_| Label::Blank).collect()];
    for label in labels {
        match leaves.last_mut() {
            Some(leaf) if leaf.len() < a_page => leaf.push(label),
            _ => leaves.push(vec![label]),
        }
    }
    leaves
}

fn choices(sizes: &[LabelSizeWritten], kind: Uses) -> Vec<Choice> {
    let sizes = sizes.iter().filter(|size| size.uses.covers(kind));
    sizes.map(|size| Choice::new(size.size, size.name.clone())).collect()
}

fn choose(app: &App, me: &Me, sizes: &[LabelSizeWritten], asked: Asked, errors: Errors) -> Result<Response> {
    let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let kind = if asked.kind.is_empty() { "tag".into() } else { asked.kind };
    let page = ChoosePage {
        frame: Frame::new(app, me, Area::Dispatch),
        asked: Asked { kind, ..asked },
        errors,
        kinds: vec![
            Choice::new("tag", "Tag").note("for what lies and hangs here"),
            Choice::new("pack", "Pack label").note("for what is sold"),
        ],
        sizes: choices(sizes, Uses::Both),
    };
    page::show(status, &page)
}
