//! `/release/families/{id}`: what a family asks and where each figure comes from; changing it.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::views::{self, LoosenedRow};
use crate::book;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::FamilyId;
use crate::measure::Percent;
use crate::release::db;
use crate::release::entry::family::{self as rule, Grounds, Shipped, shipped};
use crate::release::entry::{Asks, Criterion, FamilyWritten, Rule};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Signer, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 20;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct FamilyForm {
    name: String,
    /// The rules that have no figure; one with a figure is asked where its figure is given.
    asks: Vec<String>,
    ph: String,
    loss: String,
    water_activity: String,
    /// Empty: each piece.
    water_activity_pieces: String,
    shelf_stable_pieces: String,
    moisture_to_protein: String,
    reason: String,
    document: String,
}

impl FamilyForm {
    fn of(family: &FamilyWritten) -> Self {
        let mut form = Self { name: family.name.clone(), ..Self::default() };
        let sample = |pieces: &Option<u8>| pieces.map(|n| n.to_string()).unwrap_or_default();
        for criterion in &family.criteria {
            if !has_figure(criterion.rule.asks()) {
                form.asks.push(criterion.rule.asks().field().to_owned());
            }
            match &criterion.rule {
                Rule::PhAtMost { most } => form.ph = most.to_string(),
                Rule::LossAtLeast { least } => form.loss = least.to_string(),
                Rule::WaterActivityAtMost { most, pieces } => {
                    form.water_activity = most.to_string();
                    form.water_activity_pieces = sample(pieces);
                }
                Rule::ShelfStable { pieces } => form.shelf_stable_pieces = sample(pieces),
                Rule::MoistureToProteinAtMost { most } => form.moisture_to_protein = most.to_string(),
                _ => {}
            }
        }
        form
    }

    /// The rules that are asked, in the order of the list, each with the source that it has or the shop's own document.
    fn read(&self, me: &Me, now: &FamilyWritten, from: &Shipped) -> Result<(FamilyWritten, Grounds), Errors> {
        let mut read = Reader::new(&me.shop);
        let name = read.line("name", &self.name, "Give the family a name.");
        let reason = read.line_or_empty("reason", &self.reason);
        let document = read.line_or_empty("document", &self.document);
        let asked: Vec<Asks> = Asks::ALL.into_iter().filter(|asks| self.is_asked(*asks)).collect();
        for (field, sample, asks) in [
            ("water_activity_pieces", &self.water_activity_pieces, Asks::WaterActivity),
            ("shelf_stable_pieces", &self.shelf_stable_pieces, Asks::ShelfStable),
        ] {
            if !sample.trim().is_empty() && !self.is_asked(asks) {
                read.refuse(
                    field,
                    "What is to be measured on these pieces is not asked. Ask it, or leave this empty.",
                );
            }
        }
        let rules: Vec<Option<Rule>> = asked.iter().map(|asks| self.rule(*asks, &mut read)).collect();
        let (name, reason, document, rules) = read.finish(|| {
            Some((name?, reason?, document?, rules.into_iter().collect::<Option<Vec<Rule>>>()?))
        })?;
        let own = || {
            if document.is_empty() {
                "The shop's own figure".to_owned()
            } else {
                format!("The shop's own: {document}")
            }
        };
        let source = |rule: &Rule| {
            let known = now.criteria.iter().chain(&from.criteria).find(|known| known.rule == *rule);
            known.map_or_else(own, |known| known.source.clone())
        };
        let criteria = rules.into_iter().map(|rule| Criterion { source: source(&rule), rule }).collect();
        let family = FamilyWritten {
            family: now.family,
            name,
            shipped: now.shipped.clone(),
            criteria,
            loosened: vec![],
        };
        Ok((family, Grounds { reason, document }))
    }

    fn is_asked(&self, asks: Asks) -> bool {
        let figure = match asks {
            Asks::Ph => &self.ph,
            Asks::Loss => &self.loss,
            Asks::WaterActivity => &self.water_activity,
            Asks::MoistureToProtein => &self.moisture_to_protein,
            _ => return self.asks.iter().any(|one| one == asks.field()),
        };
        !figure.trim().is_empty()
    }

    fn rule(&self, asks: Asks, read: &mut Reader<'_>) -> Option<Rule> {
        Some(match asks {
            Asks::Ph => Rule::PhAtMost { most: read.ph("ph", &self.ph)? },
            Asks::Loss => Rule::LossAtLeast { least: loss(read, &self.loss)? },
            Asks::WaterActivity => Rule::WaterActivityAtMost {
                most: read.water_activity("water_activity", &self.water_activity)?,
                pieces: sample(read, "water_activity_pieces", &self.water_activity_pieces)?,
            },
            Asks::ShelfStable => {
                Rule::ShelfStable { pieces: sample(read, "shelf_stable_pieces", &self.shelf_stable_pieces)? }
            }
            Asks::MoistureToProtein => Rule::MoistureToProteinAtMost {
                most: read.ratio("moisture_to_protein", &self.moisture_to_protein)?,
            },
            Asks::Cure => Rule::CureWithinLimits,
            Asks::Cold => Rule::TimeAndColdOfCure,
            Asks::Fermentation => Rule::FermentedInTime,
            Asks::Parasites => Rule::ParasitesControlled,
            Asks::Deviations => Rule::NoOpenDeviation,
            Asks::Holds => Rule::NothingOnHold,
            Asks::Ccps => Rule::CcpsRecorded,
            Asks::Review => Rule::RecordsReviewed,
        })
    }
}

/// Whether the rule is asked by giving its figure.
fn has_figure(asks: Asks) -> bool {
    matches!(asks, Asks::Ph | Asks::Loss | Asks::WaterActivity | Asks::MoistureToProtein)
}

fn loss(read: &mut Reader<'_>, text: &str) -> Option<Percent> {
    let least = read.percent("loss", text)?;
    if least <= Percent::ZERO || least >= Percent::HUNDRED {
        read.refuse("loss", "A loss lies between nothing and the whole.");
        return None;
    }
    Some(least)
}

/// So many pieces; empty: each.
fn sample(read: &mut Reader<'_>, field: &'static str, text: &str) -> Option<Option<u8>> {
    let many = "Give a number of pieces, or leave it empty for each piece.";
    let pieces = read.maybe::<u8>(field, text, many)?;
    if pieces == Some(0) {
        read.refuse(field, many);
        return None;
    }
    Some(pieces)
}

struct CriterionRow {
    what: String,
    how: &'static str,
    source: String,
}

#[derive(Template)]
#[template(path = "release/family.html")]
struct FamilyPage {
    frame: Frame,
    id: FamilyId,
    name: String,
    words: String,
    version: String,
    criteria: Vec<CriterionRow>,
    loosened: Vec<LoosenedRow>,
    products: Vec<Choice>,
    form_id: Uuid,
    form: FamilyForm,
    errors: Errors,
    choices: Vec<Choice>,
    lines: Vec<Line>,
    may_keep: bool,
    who_decides: &'static str,
}

/// GET `/release/families/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<FamilyId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, None, Errors::default()).await
}

/// POST `/release/families/{id}`
pub async fn write(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<FamilyId>,
    form: Form<FamilyForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

/// The family as the shop has it, or as it is shipped while the shop has not written it; how often it was written.
async fn known(conn: &mut sqlx::PgConnection, id: FamilyId) -> Result<(FamilyWritten, u32, Shipped)> {
    let all = shipped()?;
    let own = db::family(conn, id).await?;
    let key = own.as_ref().map(|(family, _)| family.shipped.clone());
    let from = all.into_iter().find(|one| key.as_ref().map_or(one.id() == id, |key| one.key == *key));
    let from = from.ok_or(Error::NotFound)?;
    let (family, version) = own.unwrap_or_else(|| (from.taken_up(), 0));
    Ok((family, version, from))
}

async fn sign(app: &App, me: &Me, id: FamilyId, form: &Form<FamilyForm>) -> Result<()> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let (now, _, from) = known(&mut pen, id).await?;
    let (family, grounds) = form.read(me, &now, &from)?;
    if family == (FamilyWritten { loosened: vec![], ..now.clone() }) {
        return Err(Refusal::of("Nothing is changed.").into());
    }
    pen.append(rule::write(family, &from, Some(&now), &grounds)?).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: FamilyId,
    form: Option<FamilyForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let (family, version, from) = known(&mut conn, id).await?;
    let products = db::products(&mut conn).await?;
    let entries = book::db::about(&mut conn, id.0, LINES).await?;
    let criterion = |one: &Criterion| CriterionRow {
        what: one.rule.words(),
        how: one.rule.asks().how(),
        source: one.source.clone(),
    };
    let inside = products.into_iter().filter(|one| one.family.as_ref().is_some_and(|family| family.id == id));
    let page = FamilyPage {
        frame: Frame::new(app, me, Area::Setup),
        id,
        name: family.name.clone(),
        words: from.words,
        version: match version {
            0 => "shipped with the program, no product in it yet".into(),
            version => format!("version {version}, begun from the shipped family {}", from.name),
        },
        criteria: family.criteria.iter().map(criterion).collect(),
        loosened: views::loosened(&family),
        products: inside.map(|one| Choice::new(one.product.id.path(), one.product.name)).collect(),
        form_id: fresh_id(),
        form: form.unwrap_or_else(|| FamilyForm::of(&family)),
        errors,
        choices: Asks::ALL
            .into_iter()
            .filter(|asks| !has_figure(*asks))
            .map(|asks| Choice::new(asks.field(), asks.name()))
            .collect(),
        lines: ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?,
        may_keep: me.may(Right::Keep),
        who_decides: super::WHO_DECIDES,
    };
    page::show(status, &page)
}
