//! Signing one line of a docket: what was typed, what the book knows, the shop's answer.

use sqlx::PgConnection;
use time::OffsetDateTime;

use super::super::db::{self, Delivery, Supplier};
use super::super::entry::{self, Answer, Answered, Brought, Checked, Door, LotReceived, LotRefused};
use super::line_form::{LineForm, Typed};
use crate::book::{Form as LotForm, Pen};
use crate::error::{Error, Refusal, Result};
use crate::ids::{DeliveryId, ItemId, LotId, PlaceId};
use crate::rights::Right;
use crate::setup::{self, Item};
use crate::web::{App, Form, Me};

/// What comes through the door. A mix, a piece and a pack are made here.
pub const AT_THE_DOOR: [LotForm; 10] = [
    LotForm::Carcass,
    LotForm::Side,
    LotForm::Primal,
    LotForm::Cut,
    LotForm::Trim,
    LotForm::Bone,
    LotForm::Fat,
    LotForm::Offal,
    LotForm::Ingredient,
    LotForm::Casing,
];

/// Signs one line of the docket; what it was a line of.
pub async fn sign(app: &App, me: &Me, id: DeliveryId, form: &Form<LineForm>) -> Result<ItemId> {
    let (delivery, item) = {
        let mut conn = app.db().await?;
        let delivery = db::delivery(&mut conn, id).await?.ok_or(Error::NotFound)?;
        (delivery, at_the_door(&mut conn, &form.item).await?)
    };
    let item = item.ok_or_else(|| Refusal::at("item", "Choose what comes next from the list."))?;
    let typed = form.read(&item, &me.shop)?;
    let when = came_at(me, &delivery);
    let Some(mut pen) = app.book.pen(me.stamp_at(&form.once, when)?).await? else { return Ok(item.id) };
    // Asked again under the pen: it may have been struck since.
    let delivery = db::delivery(&mut pen, id).await?.ok_or(Error::NotFound)?;
    if delivery.struck {
        return Err(Refusal::of("This delivery was struck. Take it in anew.").into());
    }
    write(&mut pen, me, &delivery, typed).await?;
    pen.commit().await?;
    Ok(item.id)
}

/// A docket that is written up on a later day: its lines happened when it came.
fn came_at(me: &Me, delivery: &Delivery) -> Option<OffsetDateTime> {
    (me.shop.date(delivery.happened_at) != me.today()).then_some(delivery.happened_at)
}

/// The thing that a form or an address names, if it can come through the door.
pub async fn at_the_door(db: &mut PgConnection, item: &str) -> Result<Option<Item>> {
    let Ok(id) = item.parse() else { return Ok(None) };
    Ok(setup::item(db, id).await?.filter(|item| AT_THE_DOOR.contains(&item.form)))
}

async fn write(pen: &mut Pen, me: &Me, delivery: &Delivery, typed: Typed) -> Result<()> {
    let Typed { brought, place, answer, reason } = typed;
    let say = me.shop.say();
    let day = me.shop.date(delivery.happened_at);
    let supplier = db::supplier(pen, delivery.supplier).await?.ok_or(Error::NotFound)?;
    let checks = db::checks(pen, me.shop.system).await?;
    let door = Door {
        day,
        docket: &delivery.docket,
        approved_until: supplier.approved_until,
        cure_before: db::last_strength(pen, brought.item.id).await?.is_some(),
        checks: &checks,
    };
    entry::plausible(&brought, day, &reason)?;
    let failed = entry::failed(&brought, &door);
    let answered = entry::answer(answer, reason, failed, me.may(Right::Cure), &say)?;
    if answer == Answer::Refused {
        pen.append(refused(delivery, &supplier, brought, answered)).await?;
    } else {
        let received = received(pen, delivery, &supplier, brought, place, answered, day).await?;
        pen.append(received).await?;
    }
    Ok(())
}

async fn received(
    pen: &mut Pen,
    delivery: &Delivery,
    supplier: &Supplier,
    brought: Brought,
    place: Option<PlaceId>,
    answered: Answered,
    day: time::Date,
) -> Result<LotReceived> {
    let place = match place {
        Some(place) => setup::place(pen, place).await?,
        None => None,
    };
    let place = place.ok_or_else(|| Refusal::at("place", "There is no such place."))?;
    let held = (answered.answer == Answer::OnHold).then(|| answered.reason.clone());
    let note = if held.is_some() { String::new() } else { answered.reason };
    let checked = Checked { failed: answered.failed, note };
    Ok(LotReceived {
        delivery: delivery.id,
        supplier: supplier.named(),
        lot: LotId::made_by(pen.next().id),
        code: pen.next_code(day).await?,
        item: brought.item,
        form: brought.form,
        weight: brought.weight,
        place: place.named(),
        temperature: brought.temperature,
        price: brought.price,
        animal: brought.animal,
        goods: brought.goods,
        held,
        checked: (checked != Checked::default()).then_some(checked),
    })
}

fn refused(delivery: &Delivery, supplier: &Supplier, brought: Brought, answered: Answered) -> LotRefused {
    LotRefused {
        delivery: delivery.id,
        supplier: supplier.named(),
        item: brought.item,
        form: brought.form,
        weight: brought.weight,
        temperature: brought.temperature,
        price: brought.price,
        animal: brought.animal,
        goods: brought.goods,
        failed: answered.failed,
        reason: answered.reason,
    }
}
