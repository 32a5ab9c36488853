//! `/lots/{id}/count`: stating what is there of a lot.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, LotCounted};
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::LotId;
use crate::measure::{Grams, parse_weight};
use crate::rights::Right;
use crate::rights::needs::Hang;
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct CountForm {
    weight: String,
    weight_unit: String,
    reason: String,
}

impl CountForm {
    fn fresh(shop: &Shop) -> Self {
        Self { weight_unit: shop.weight_unit().symbol().to_owned(), ..Self::default() }
    }

    /// Nothing is a weight here: the sack may be empty.
    fn read(&self, shop: &Shop) -> Result<(Grams, String), Errors> {
        let mut read = Reader::new(shop);
        let unit = self.weight_unit.parse().unwrap_or(shop.weight_unit());
        let weight = read.take("weight", parse_weight(&self.weight, unit));
        let reason = read.line_or_empty("reason", &self.reason);
        read.finish(|| Some((weight?, reason?)))
    }
}

#[derive(Template)]
#[template(path = "lots/count.html")]
struct CountPage {
    frame: Frame,
    form_id: Uuid,
    form: CountForm,
    errors: Errors,
    href: String,
    code: String,
    item_name: String,
    before: String,
    other: String,
    may_hang: bool,
    counted: bool,
}

/// GET `/lots/{id}/count`
pub async fn page(With(app): With<App>, me: Me, Path(id): Path<LotId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, id, CountForm::fresh(&me.shop), Errors::default()).await
}

/// POST `/lots/{id}/count`
pub async fn count(
    With(app): With<App>,
    me: Signer<Hang>,
    Path(id): Path<LotId>,
    form: Form<CountForm>,
) -> Result<Response> {
    match sign(&app, &me, id, &form).await {
        Ok(()) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, id, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: LotId, form: &Form<CountForm>) -> Result<()> {
    let (weight, reason) = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let lot = book::db::lot(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let on_the_block = db::breakdowns(&mut pen, id).await?.iter().any(|one| !one.closed);
    let counted =
        LotCounted { lot: lot.named(), item: lot.item_name.clone(), weight, before: lot.grams, reason };
    pen.append(entry::count(counted, &lot, on_the_block)?).await?;
    pen.commit().await
}

/// The one place that draws this page.
async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: LotId,
    form: CountForm,
    errors: Errors,
) -> Result<Response> {
    let lot = book::db::lot(&mut *app.db().await?, id).await?.ok_or(Error::NotFound)?;
    let (before, other) = lot.grams.both(me.shop.system);
    let page = CountPage {
        frame: Frame::new(app, me, Area::Elsewhere),
        form_id: fresh_id(),
        form,
        errors,
        href: id.path(),
        code: lot.code.to_string(),
        item_name: lot.item_name,
        before,
        other,
        may_hang: me.may(Right::Hang),
        counted: entry::is_counted(lot.form),
    };
    page::show(status, &page)
}
