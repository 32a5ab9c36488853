//! POST `/batches/{id}/pieces`: the mix made into pieces that together weigh what it weighed, less what was lost.

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
use crate::batches::entry::{self, Casing, MixStuffed, Standing, StuffedPiece, share_out};
use crate::book::{self, Pen};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{BatchId, ItemId, LotId, Named, PlaceId};
use crate::measure::{Grams, positive_weight};
use crate::recipes::{self, Role};
use crate::rights::needs::Cure;
use crate::setup;
use crate::web::parts::Choice;
use crate::web::{App, Form, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct StuffForm {
    count: String,
    /// One a line; empty where all weigh the same.
    weights: String,
    casing: String,
    casing_weight: String,
    casing_weight_unit: String,
    diameter: String,
    loss: String,
    loss_unit: String,
    /// "yes" when nothing more of this mix is stuffed.
    all: String,
    place: String,
    reason: String,
    when: String,
}

/// The most characters of the list of weights.
const LONGEST_LIST: usize = 20_000;

struct Typed {
    count: usize,
    /// Empty where all weigh the same.
    weights: Vec<Grams>,
    casing: Option<LotId>,
    casing_weight: Grams,
    diameter_mm: Option<u16>,
    loss: Option<Grams>,
    all: bool,
    place: PlaceId,
    reason: String,
    when: Option<OffsetDateTime>,
}

impl StuffForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let weights = self.read_weights(&mut read, shop);
        let count = match (&weights, self.count.trim()) {
            (Some(list), "") if !list.is_empty() => Some(list.len()),
            (_, text) => read.count("count", text, 1, 999).map(usize::from),
        };
        if let (Some(list), Some(count)) = (&weights, count)
            && !list.is_empty()
            && list.len() != count
        {
            read.refuse("weights", format!("{} weights are listed for {count} pieces.", list.len()));
        }
        let casing = read.maybe("casing", &self.casing, "Choose the casing, or none.");
        let casing_weight =
            maybe_small(&mut read, "casing_weight", &self.casing_weight, &self.casing_weight_unit);
        if casing == Some(None) && casing_weight.flatten().is_some_and(Grams::is_positive) {
            read.refuse("casing", "Choose the casing that was weighed.");
        }
        let diameter = match self.diameter.trim() {
            "" => Some(None),
            text => read.count("diameter", text, 5, 400).map(Some),
        };
        let loss = maybe_small(&mut read, "loss", &self.loss, &self.loss_unit);
        let place = read.value("place", &self.place, "Choose where the pieces go.");
        let reason = read.line_or_empty("reason", &self.reason);
        let when = read.when(&self.when);
        read.finish(|| {
            Some(Typed {
                count: count?,
                weights: weights?,
                casing: casing?,
                casing_weight: casing_weight?.unwrap_or(Grams::ZERO),
                diameter_mm: diameter?,
                loss: loss?,
                all: self.all == "yes",
                place: place?,
                reason: reason?,
                when: when?,
            })
        })
    }

    /// One weight a line; blank lines are left out.
    fn read_weights(&self, read: &mut Reader<'_>, shop: &Shop) -> Option<Vec<Grams>> {
        if self.weights.len() > LONGEST_LIST {
            read.refuse("weights", "This list is too long.");
            return None;
        }
        let mut all = Vec::new();
        for (n, line) in (1..).zip(self.weights.lines()).filter(|(_, line)| !line.trim().is_empty()) {
            match positive_weight(line, shop.small_unit()) {
                Ok(weight) => all.push(weight),
                Err(why) => {
                    read.refuse("weights", format!("Line {n}: {why}"));
                    return None;
                }
            }
        }
        Some(all)
    }
}

/// A small weight that may be nothing.
#[allow(clippy::option_option, reason = "as the reader has it: not read, or left open, or a value")]
fn maybe_small(read: &mut Reader<'_>, field: &'static str, text: &str, unit: &str) -> Option<Option<Grams>> {
    match text.trim() {
        "" => Some(None),
        "0" => Some(Some(Grams::ZERO)),
        text => read.small_weight(field, text, unit).map(Some),
    }
}

#[derive(Template)]
#[template(path = "batches/stuff.html")]
struct Sheet<'a> {
    id: BatchId,
    form_id: Uuid,
    form: StuffForm,
    errors: &'a Errors,
    mix: String,
    hint: String,
    casings: Vec<Choice>,
    places: Vec<Choice>,
}

/// POST `/batches/{id}/pieces`
pub async fn stuff(
    State(app): State<App>,
    me: Signer<Cure>,
    Path(id): Path<BatchId>,
    form: Form<StuffForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => batch::again(&app, &me, id, Filled::Stuff(form.fields), errors).await,
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: BatchId, form: &Form<StuffForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, typed.when)?).await? else { return Ok(()) };
    let batch = db::standing(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let place = setup::place(&mut pen, typed.place).await?;
    let place = place.ok_or_else(|| Refusal::at("place", "There is no such place."))?;
    let casing = casing(&mut pen, me, &typed).await?;
    let (weights, loss, found) = shared(&typed, batch.mix.grams)?;
    let stuffed = MixStuffed {
        batch: id,
        mix: batch.mix.id,
        product: batch.product.clone(),
        pieces: pieces(&mut pen, &batch, &weights).await?,
        casing,
        diameter_mm: typed.diameter_mm,
        loss,
        found,
        reason: typed.reason,
        place: place.named(),
        target_loss: batch.target_loss,
        weigh_every: batch.weigh_every,
    };
    pen.append(entry::stuff(stuffed, &batch, me.shop.small_division, &me.shop.say())?).await?;
    pen.commit().await
}

/// The weight of each piece, what was lost, and what was found. Of a list of weights the rest is the loss when nothing
/// more is stuffed, or a gain; without a list the pieces share what the loss leaves.
fn shared(typed: &Typed, mix: Grams) -> Result<(Vec<Grams>, Grams, Grams), Refusal> {
    let there = mix + typed.casing_weight;
    let typed_loss = typed.loss.unwrap_or(Grams::ZERO);
    if typed.weights.is_empty() {
        if typed_loss >= there {
            return Err(Refusal::at("loss", "Nothing would be left for the pieces."));
        }
        let weights = share_out(there - typed_loss, &vec![Grams::whole(1); typed.count]);
        if weights.iter().any(|weight| !weight.is_positive()) {
            return Err(Refusal::at("count", "There is too little of the mix for so many pieces."));
        }
        return Ok((weights, typed_loss, Grams::ZERO));
    }
    let rest = there - typed.weights.iter().sum::<Grams>() - typed_loss;
    let (loss, found) = match (typed.all, rest.is_negative()) {
        (_, true) => (typed_loss, -rest),
        (true, false) => (typed_loss + rest, Grams::ZERO),
        (false, false) => (typed_loss, Grams::ZERO),
    };
    Ok((typed.weights.clone(), loss, found))
}

async fn casing(pen: &mut Pen, me: &Me, typed: &Typed) -> Result<Option<Casing>> {
    let Some(id) = typed.casing else { return Ok(None) };
    let lot =
        book::db::lot(pen, id).await?.ok_or_else(|| Refusal::at("casing", "There is no such casing."))?;
    lot.usable("casing")?;
    if lot.form != book::Form::Casing {
        let message = format!("{} is a {}, not a casing.", lot.code, lot.form.word());
        return Err(Refusal::at("casing", message).into());
    }
    lot.holds(typed.casing_weight, "casing_weight", |grams| me.shop.weight(grams))?;
    let named = Named::new(lot.id, format!("{} {}", lot.item_name, lot.code));
    Ok(Some(Casing { lot: named, weight: typed.casing_weight }))
}

async fn pieces(pen: &mut Pen, batch: &Standing, weights: &[Grams]) -> Result<Vec<StuffedPiece>> {
    let first = pen.next_piece(&batch.code).await?;
    let id = pen.next().id;
    let mut pieces = Vec::with_capacity(weights.len());
    for (n, weight) in (first..).zip(weights) {
        let code = batch.code.piece(n).map_err(|why| Refusal::at("count", why.to_string()))?;
        pieces.push(StuffedPiece { lot: LotId::nth(id, usize::from(n)), code, weight: *weight });
    }
    Ok(pieces)
}

/// The sheet, empty or as it was refused.
pub async fn sheet(
    me: &Me,
    conn: &mut PgConnection,
    batch: &Standing,
    form: Option<StuffForm>,
    errors: Errors,
) -> Result<String> {
    let items: Vec<ItemId> = casing_items(conn, batch).await?;
    let on_hand = recipes::on_hand(conn, &items).await?;
    let usable: Vec<_> = on_hand.iter().filter(|lot| !lot.held).collect();
    let places = setup::places(conn).await?;
    let form = form.unwrap_or_else(|| {
        let unit = me.shop.small_unit().symbol().to_owned();
        StuffForm {
            casing: usable.first().map(|lot| lot.lot.to_string()).unwrap_or_default(),
            casing_weight_unit: unit.clone(),
            loss_unit: unit,
            all: "yes".into(),
            place: batch.place.as_ref().map(|place| place.id.to_string()).unwrap_or_default(),
            ..StuffForm::default()
        }
    });
    let choice =
        |lot: &&recipes::OnHand| Choice::new(lot.lot, lot.code.to_string()).note(me.shop.weight(lot.grams));
    let mut casings = usable.iter().map(choice).collect();
    keep_chosen(&mut casings, &form.casing);
    let sheet = Sheet {
        id: batch.batch,
        form_id: fresh_id(),
        form,
        errors: &errors,
        mix: me.shop.weight(batch.mix.grams),
        hint: format!(
            "One a line, in {} unless it says otherwise. Empty where all weigh the same: they then share the mix. What a \
             list leaves over is the loss.",
            me.shop.small_unit().symbol()
        ),
        casings,
        places: places.iter().map(|place| Choice::new(place.id, place.name.clone())).collect(),
    };
    Ok(sheet.render().map_err(anyhow::Error::from)?)
}

/// The casings that the recipe names; every casing of the shop where it names none.
async fn casing_items(conn: &mut PgConnection, batch: &Standing) -> Result<Vec<ItemId>> {
    let named: Vec<ItemId> = batch
        .lines
        .iter()
        .filter(|line| line.line.role == Role::Casing)
        .map(|line| line.line.item.id)
        .collect();
    if !named.is_empty() {
        return Ok(named);
    }
    let all = setup::items(conn, &[book::Form::Casing]).await?;
    Ok(all.into_iter().map(|item| item.id).collect())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rust_decimal::Decimal;

    use super::*;

    fn typed(count: usize, weights: Vec<Grams>, loss: Option<Grams>, all: bool) -> Typed {
        Typed {
            count,
            weights,
            casing: None,
            casing_weight: Grams::ZERO,
            diameter_mm: None,
            loss,
            all,
            place: PlaceId(Uuid::from_u128(1)),
            reason: String::new(),
            when: None,
        }
    }

    #[test]
    fn what_a_list_of_weights_leaves_is_the_loss_and_what_it_exceeds_is_a_gain() {
        let list = vec![Grams::whole(500), Grams::whole(480)];
        let (_, loss, found) =
            shared(&typed(2, list.clone(), None, true), Grams::whole(1000)).expect("shared");
        assert_eq!((loss, found), (Grams::whole(20), Grams::ZERO));
        let (_, loss, found) =
            shared(&typed(2, list.clone(), None, true), Grams::whole(970)).expect("shared");
        assert_eq!((loss, found), (Grams::ZERO, Grams::whole(10)));
        let (_, loss, found) = shared(&typed(2, list, None, false), Grams::whole(1500)).expect("shared");
        assert_eq!((loss, found), (Grams::ZERO, Grams::ZERO), "the rest stays in the mix");
    }

    proptest! {
        #[test]
        fn equal_pieces_and_the_loss_together_weigh_the_mix(
            mix in 1_000_i64..5_000_000, count in 1_usize..99, loss in 0_i64..900,
        ) {
            let mix = Grams::new(Decimal::new(mix, 2));
            let loss = Grams::new(Decimal::new(loss, 2));
            let (weights, lost, found) = shared(&typed(count, vec![], Some(loss), true), mix).expect("shared");
            prop_assert_eq!(weights.iter().sum::<Grams>() + lost, mix);
            prop_assert!(found.is_zero());
            let (least, most) = (weights.iter().min(), weights.iter().max());
            prop_assert!(least.zip(most).is_some_and(|(a, b)| (*b - *a).decimal() <= Decimal::new(1, 2)));
        }
    }
}
