//! `/reckoning/sack`: how far a sack of cure goes.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;

use super::{Answer, Reckoned, at, settled, unit};
use crate::error::{Errors, Result};
use crate::standards::sack;
use crate::web::parts::Figure;
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct SackForm {
    reckon: String,
    sack: String,
    sack_unit: String,
    share: String,
    batch: String,
    batch_unit: String,
}

impl SackForm {
    fn reckon(&self, shop: &Shop) -> Reckoned {
        if self.reckon.is_empty() {
            return Ok(None);
        }
        let mut read = Reader::new(shop);
        let sack = read.weight("sack", &self.sack, &self.sack_unit);
        let share = read.percent("share", &self.share);
        let batch = read.weight("batch", &self.batch, &self.batch_unit);
        let (sack, share, batch) = read.finish(|| Some((sack?, share?, batch?)))?;
        let reach =
            sack::reach(sack, share, batch).map_err(|why| at(&why, &[("share of the meat", "share")]))?;
        let mut answer = Answer::default();
        let meat = super::big(shop, "Meat that it makes", reach.meat);
        answer.figure(Figure { chief: true, ..meat });
        answer.figure(
            Figure::new("Whole batches", reach.batches.to_string(), "")
                .beneath(format!("of {} of meat", shop.weight(batch))),
        );
        answer.figure(super::small("One batch takes", reach.a_batch));
        answer.figure(super::small("Left over", reach.rest));
        answer.how("Base", format!("{share}\u{a0}% of the meat block"));
        answer.how(
            "Formula",
            "meat = cure ÷ share; batches = cure ÷ (share × batch), whole ones; the rest is what is left",
        );
        answer.how("Source", "arithmetic");
        Ok(Some(answer))
    }
}

#[derive(Template)]
#[template(path = "reckoning/sack.html")]
struct SackPage {
    frame: Frame,
    form: SackForm,
    errors: Errors,
    answer: Option<Answer>,
}

/// GET `/reckoning/sack`
pub async fn page(State(app): State<App>, me: Me, Query(mut form): Query<SackForm>) -> Result<Response> {
    let (status, answer, errors) = settled(form.reckon(&me.shop));
    unit(&mut form.sack_unit, me.shop.weight_unit().symbol());
    unit(&mut form.batch_unit, me.shop.weight_unit().symbol());
    page::show(status, &SackPage { frame: Frame::new(&app, &me, Area::Recipes), form, errors, answer })
}
