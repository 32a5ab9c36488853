//! `/batches/{id}/sheet`: the cure sheet, on A4 or Letter.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;

use super::numbers;
use super::tables::{self, IngredientRow, MeatRow, PieceRow};
use crate::batches::db::{self, StageRow, Stuffing, TakenMeat};
use crate::batches::entry::{self, Actual, Standing};
use crate::book;
use crate::error::{Error, Result};
use crate::ids::{BatchId, LotId};
use crate::limits::HeldRow;
use crate::measure::{LotCode, UnitSystem, day_year};
use crate::receiving::{self, Origin};
use crate::recipes::{NITRITE, Stage, lasts};
use crate::web::parts::{Fact, Figure};
use crate::web::{App, Area, Frame, Me, Path, Query, ledger, page, qr};

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Which {
    /// "a4" or "letter"; empty is the usual one of the shop's system.
    paper: String,
}

/// What cold is for. Temperatures: USDA Farmers' Bulletin on curing pork (36 to 40 °F); common practice elsewhere.
const COLD: &str = "Keep meat and cure cold: 2 to 4 °C (36 to 40 °F) while it cures, and out of the cold no longer than \
                    the work takes. A cure that gets warm, or meat that smells or feels wrong, is put on hold and \
                    somebody who may decide is asked.";

struct StepRow {
    stage: &'static str,
    lasts: String,
    planned: String,
    was: String,
    place: String,
    initials: String,
}

struct StuffRow {
    pieces: String,
    casing: String,
    loss: String,
    initials: String,
}

#[allow(clippy::struct_excessive_bools, reason = "what the template asks is yes or no")]
#[derive(Template)]
#[template(path = "batches/cure_sheet.html")]
struct SheetPage {
    frame: Frame,
    id: BatchId,
    paper: &'static str,
    other_paper: &'static str,
    qr: String,
    code: String,
    product: String,
    shop: Vec<String>,
    facts: Vec<Fact>,
    figures: Vec<Figure>,
    reckoned: Vec<Fact>,
    held: Vec<HeldRow>,
    unknown: bool,
    whole: bool,
    meat: Vec<MeatRow>,
    ingredients: Vec<IngredientRow>,
    stuffings: Vec<StuffRow>,
    ground_open: bool,
    pieces: Vec<PieceRow>,
    steps: Vec<StepRow>,
    nitrite: &'static str,
    cold: &'static str,
    printed: String,
    not_for_sale: bool,
}

/// GET `/batches/{id}/sheet`
pub async fn page(
    State(app): State<App>,
    me: Me,
    Path(id): Path<BatchId>,
    Query(which): Query<Which>,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let batch = db::standing(&mut conn, id).await?.ok_or(Error::NotFound)?;
    let weighed = db::ingredients(&mut conn, id).await?;
    let meat = db::meat(&mut conn, id).await?;
    let origins = origins(&mut conn, &meat).await?;
    let stages = db::stages(&mut conn, id).await?;
    let stuffings = db::stuffings(&mut conn, id).await?;
    let actual = entry::actual(&batch, batch.laid_on);
    let held = numbers::held(&batch, &actual);
    let (paper, other_paper) = papers(&which.paper, me.shop.system);
    let said = |taken: &TakenMeat| origins.get(&taken.lot).cloned().unwrap_or_default();
    let page = SheetPage {
        frame: Frame::new(&app, &me, Area::Batches),
        id,
        paper,
        other_paper,
        qr: qr::svg(&qr::tag_address(&app.site.address, &batch.code))?,
        code: batch.code.to_string(),
        product: batch.product.name.clone(),
        shop: shop(&me),
        facts: facts(&me, &batch),
        figures: numbers::figures(&me.shop, &batch, &actual),
        reckoned: numbers::reckoned(&actual),
        held,
        unknown: actual == Actual::Unknown,
        whole: batch.kind.is_whole_muscle(),
        meat: tables::meat_rows(&me.shop, &batch, &meat, said),
        ingredients: tables::ingredient_rows(&me.shop, &batch, &weighed, false),
        ground_open: !batch.kind.is_whole_muscle() && stuffings.is_empty(),
        stuffings: stuffings.iter().map(|row| stuff_row(&me, row)).collect(),
        pieces: tables::piece_rows(&me.shop, &batch),
        steps: steps(&me, &batch, &stages),
        nitrite: NITRITE,
        cold: COLD,
        printed: moment(&me, me.now),
        not_for_sale: batch.stage != Stage::Released,
    };
    page::show(StatusCode::OK, &page)
}

/// The paper asked for, and the other one.
fn papers(asked: &str, system: UnitSystem) -> (&'static str, &'static str) {
    let letter = match asked {
        "letter" => true,
        "a4" => false,
        _ => system == UnitSystem::Us,
    };
    if letter { ("letter", "a4") } else { ("a4", "letter") }
}

fn moment(me: &Me, at: time::OffsetDateTime) -> String {
    format!("{} {}", day_year(me.shop.date(at)), ledger::time(me, at))
}

fn shop(me: &Me) -> Vec<String> {
    let lines = std::iter::once(me.shop.name.clone());
    let address = me.shop.address.lines().map(ToOwned::to_owned);
    lines.chain(address).chain([me.shop.number.clone()]).filter(|line| !line.trim().is_empty()).collect()
}

fn facts(me: &Me, batch: &Standing) -> Vec<Fact> {
    let place = batch.place.as_ref().map_or_else(String::new, |place| place.name.clone());
    vec![
        Fact::new("Recipe", format!("{}, version {}", batch.recipe.name, batch.version)),
        Fact::new("Kind", batch.kind.word()),
        Fact::new("Begun", moment(me, batch.begun_at)),
        Fact::new("Stands", format!("{}, {place}", batch.stage.word())),
    ]
}

/// Where each lot of meat came through the door, by the lot: a cut carries the code of what it was cut from.
async fn origins(conn: &mut PgConnection, meat: &[TakenMeat]) -> Result<BTreeMap<LotId, String>> {
    let mut roots: BTreeMap<LotId, LotId> = BTreeMap::new();
    for taken in meat {
        if let std::collections::btree_map::Entry::Vacant(slot) = roots.entry(taken.lot) {
            slot.insert(root(conn, taken.lot, &taken.code).await?);
        }
    }
    let sources: Vec<LotId> = roots.values().copied().collect();
    let found = receiving::origins(conn, &sources).await?;
    let said = roots.into_iter().filter_map(|(lot, root)| {
        let origin = found.iter().find(|origin| origin.lot == root)?;
        Some((lot, came_from(origin)))
    });
    Ok(said.collect())
}

async fn root(conn: &mut PgConnection, lot: LotId, code: &LotCode) -> Result<LotId> {
    if code.is_root() {
        return Ok(lot);
    }
    Ok(book::db::lot_by_code(conn, &code.root()).await?.map_or(lot, |root| root.id))
}

/// "Hazelrigg Farm, ear tag UK 123, Large Black"
fn came_from(origin: &Origin) -> String {
    let tag = if origin.ear_tag.is_empty() { String::new() } else { format!("ear tag {}", origin.ear_tag) };
    let slaughter = if origin.slaughter_lot.is_empty() {
        String::new()
    } else {
        format!("slaughter lot {}", origin.slaughter_lot)
    };
    let docket = if origin.docket.is_empty() { String::new() } else { format!("docket {}", origin.docket) };
    let parts = [origin.supplier_name.clone(), docket, tag, slaughter, origin.breed.clone()];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(", ")
}

fn stuff_row(me: &Me, row: &Stuffing) -> StuffRow {
    let casing = match (&row.casing_name, row.casing_code) {
        (Some(name), Some(code)) => format!("{name} {code}"),
        _ => "no casing".into(),
    };
    let diameter = row.diameter_mm.map_or_else(String::new, |mm| format!(", {mm} mm"));
    StuffRow {
        pieces: format!("{} pieces, {}", row.pieces, me.shop.weight(row.grams)),
        casing: format!("{casing}{diameter}"),
        loss: if row.found.is_positive() {
            format!("gain {}", me.shop.weight(row.found))
        } else {
            me.shop.weight(row.loss)
        },
        initials: row.initials.clone().unwrap_or_default(),
    }
}

/// The steps of the recipe: planned from the last one that was signed, and when each really was.
fn steps(me: &Me, batch: &Standing, stages: &[StageRow]) -> Vec<StepRow> {
    let mut left: Vec<&StageRow> = stages.iter().filter(|row| row.stage != Stage::Released).collect();
    let mut begins = Some(batch.begun_at);
    let mut rows = Vec::new();
    for step in &batch.steps {
        let found = left.iter().position(|row| row.stage == step.stage).map(|at| left.remove(at));
        let starts = found.map_or(begins, |row| Some(row.at));
        rows.push(StepRow {
            stage: step.stage.word(),
            lasts: lasts(step.hours),
            planned: begins.map(|at| moment(me, at)).unwrap_or_default(),
            was: found.map(|row| moment(me, row.at)).unwrap_or_default(),
            place: found.and_then(|row| row.place_name.clone()).unwrap_or_default(),
            initials: found.and_then(|row| row.initials.clone()).unwrap_or_default(),
        });
        begins = starts.map(|at| at + time::Duration::hours(i64::from(step.hours)));
    }
    rows.extend(left.into_iter().map(|row| StepRow {
        stage: row.stage.word(),
        lasts: "not planned".into(),
        planned: String::new(),
        was: moment(me, row.at),
        place: row.place_name.clone().unwrap_or_default(),
        initials: row.initials.clone().unwrap_or_default(),
    }));
    rows
}
