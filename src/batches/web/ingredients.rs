//! POST `/batches/{id}/ingredients`: an ingredient weighed against its target.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;
use sqlx::PgConnection;
use time::OffsetDateTime;
use uuid::Uuid;

use super::batch::{self, Filled};
use super::meat::keep_chosen;
use crate::batches::db;
use crate::batches::entry::{self, IngredientWeighed, LineStanding, Standing, Verdict};
use crate::book::{self, Lot, Pen};
use crate::deviations::entry::DeviationFound;
use crate::deviations::{self, Opened, Subject};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, DeviationId, LotId, Named, derived};
use crate::measure::{ExactGrams, Grams};
use crate::receiving;
use crate::recipes::{self, OnHand, Role};
use crate::rights::needs::Cure;
use crate::standards::limits::Alkali;
use crate::web::parts::Choice;
use crate::web::{App, Form, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct WeighForm {
    line: String,
    lot: String,
    weight: String,
    weight_unit: String,
    /// "yes" when more of it follows from another lot.
    more: String,
    reason: String,
    when: String,
}

struct Typed {
    line: u16,
    lot: Option<LotId>,
    weight: ExactGrams,
    more: bool,
    reason: String,
    when: Option<OffsetDateTime>,
}

impl WeighForm {
    /// The line that it is for; 0, which no line is, where that cannot be read.
    pub fn number(&self) -> u16 {
        self.line.trim().parse().unwrap_or_default()
    }

    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let line = read.value("line", &self.line, "Choose the ingredient.");
        let lot = read.maybe("lot", &self.lot, "Choose the lot that it comes from.");
        let weight = read.exact_small_weight("weight", &self.weight, &self.weight_unit);
        let reason = read.line_or_empty("reason", &self.reason);
        let when = read.when(&self.when);
        read.finish(|| {
            Some(Typed {
                line: line?,
                lot: lot?,
                weight: weight?,
                more: self.more == "yes",
                reason: reason?,
                when: when?,
            })
        })
    }
}

#[derive(Template)]
#[template(path = "batches/ingredient.html")]
struct Sheet<'a> {
    id: BatchId,
    form_id: Uuid,
    form: WeighForm,
    errors: &'a Errors,
    name: String,
    cure: bool,
    water: bool,
    target: String,
    other: String,
    tolerance: String,
    weighed: String,
    lots: Vec<Choice>,
}

/// POST `/batches/{id}/ingredients`
pub async fn weigh(
    State(app): State<App>,
    me: Signer<Cure>,
    Path(id): Path<BatchId>,
    form: Form<WeighForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => batch::again(&app, &me, id, Filled::Weigh(form.fields), errors).await,
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<WeighForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let batch = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let line = batch.line(typed.line).cloned();
    let line = line.ok_or_else(|| Refusal::at("line", "The recipe has no such ingredient."))?;
    let lot = match typed.lot {
        Some(lot) => {
            let lot = book::db::lot(&mut pen, lot).await?;
            Some(lot.ok_or_else(|| Refusal::at("lot", "There is no such lot."))?)
        }
        None => None,
    };
    let strength = match &lot {
        Some(lot) => receiving::strength(&mut pen, lot.id).await?,
        None => None,
    };
    let weighed = IngredientWeighed {
        batch: id,
        mix: batch.mix.id,
        line: line.n,
        role: line.line.role,
        item: line.line.item.clone(),
        lot: lot.as_ref().map(Lot::named),
        weight: typed.weight.grams(),
        exact: typed.weight.beside(),
        target: line.target,
        tolerance: line.line.tolerance,
        more_follows: typed.more,
        verdict: Verdict::Within,
        reason: typed.reason,
        nitrite: strength.map(|one| one.nitrite),
        nitrate: strength.map(|one| one.nitrate),
        nitrite_salt: strength.map(|one| one.nitrite_salt).filter(|salt| *salt == Alkali::Potassium),
        nitrate_salt: strength.map(|one| one.nitrate_salt).filter(|salt| *salt == Alkali::Potassium),
        deviation: None,
    };
    let (division, say) = (me.shop.small_division, me.shop.say());
    let tried = weighed.clone();
    match entry::weigh(weighed, &batch, lot.as_ref(), division, pen.next().id, &say) {
        Ok(weighed) => {
            pen.append(weighed).await?;
            pen.commit().await
        }
        Err(mut refusal) => {
            if let Some(what) = entry::refused_cure(&tried, &batch, lot.as_ref(), &refusal, &say) {
                note_refused(pen, &batch, tried.line, what).await?;
                refusal.message.push_str(NOTED);
            }
            Err(refusal.into())
        }
    }
}

/// What is said beside the refusal.
const NOTED: &str = " It stands among the deviations now, to be answered before the batch is let go.";

/// A cure that was refused at the scale is a deviation of its batch: one for each line of the recipe, as long as that is open. Nothing
/// of it went in, so it holds no lot; the batch is not let go before it is answered.
async fn note_refused(mut pen: Pen, batch: &Standing, line: u16, what: String) -> Result<()> {
    let first = DeviationId(derived(batch.batch.0, "refused cure", usize::from(line)));
    let deviation = match deviations::deviation(&mut pen, first).await? {
        None => first,
        Some(known) if known.closed || known.struck => DeviationId::made_by(pen.next().id),
        Some(_) => return Ok(()),
    };
    let subject = Subject::Batch(Named::new(batch.batch, batch.code.to_string()));
    let opened = Opened { deviation, what, lots: Vec::new() };
    pen.append(DeviationFound { subject, unforeseen: false, opened }).await?;
    pen.commit().await
}

/// The sheet for one ingredient, empty or as it was refused; nothing for a line that is none.
pub async fn sheet(
    me: &Me,
    conn: &mut PgConnection,
    batch: &Standing,
    n: u16,
    form: Option<WeighForm>,
    errors: Errors,
) -> Result<String> {
    let Some(line) = batch.ingredients().find(|line| line.n == n) else { return Ok(String::new()) };
    let on_hand = recipes::on_hand(conn, &[line.line.item.id]).await?;
    let usable: Vec<&OnHand> = on_hand.iter().filter(|lot| !lot.held).collect();
    let form = form.unwrap_or_else(|| fresh(me, line, &usable));
    let mut lots = usable.iter().map(|lot| choice(me, line.line.role, lot)).collect();
    keep_chosen(&mut lots, &form.lot);
    let rest = line.target - line.weighed;
    let (target, other) = rest.both(me.shop.system);
    let sheet = Sheet {
        id: batch.batch,
        form_id: fresh_id(),
        form,
        errors: &errors,
        name: line.line.item.name.clone(),
        cure: line.line.role == Role::Cure && errors.of("reason").is_none(),
        water: line.line.role == Role::Water,
        target: if rest.is_negative() { me.shop.weight(Grams::ZERO) } else { target },
        other: if rest.is_negative() { String::new() } else { other },
        tolerance: format!("{}\u{a0}%", line.line.tolerance),
        weighed: if line.weighed.is_zero() { String::new() } else { me.shop.weight(line.weighed) },
        lots,
    };
    Ok(sheet.render().map_err(anyhow::Error::from)?)
}

/// What keeps shortest is used first.
fn fresh(me: &Me, line: &LineStanding, usable: &[&OnHand]) -> WeighForm {
    WeighForm {
        line: line.n.to_string(),
        lot: if line.line.role == Role::Water {
            String::new()
        } else {
            let can_go_in = |lot: &&&OnHand| line.line.role != Role::Cure || lot.strength.is_some();
            let first = usable.iter().find(can_go_in).or(usable.first());
            first.map(|lot| lot.lot.to_string()).unwrap_or_default()
        },
        weight_unit: me.shop.small_unit().symbol().to_owned(),
        ..WeighForm::default()
    }
}

fn choice(me: &Me, role: Role, lot: &OnHand) -> Choice {
    let strength = match lot.strength {
        Some(one) => format!(", {}", recipes::said(one)),
        None if role == Role::Cure => ", no strength recorded".into(),
        None => String::new(),
    };
    let keeps = lot.best_before.map_or_else(String::new, |day| {
        let past = if day < me.today() { ", which is past" } else { "" };
        format!(", best before {}{past}", crate::measure::day_year(day))
    });
    Choice::new(lot.lot, lot.code.to_string()).note(format!("{}{strength}{keeps}", me.shop.weight(lot.grams)))
}
