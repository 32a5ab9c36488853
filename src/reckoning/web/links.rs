//! `/reckoning/links`: what a link weighs, or how many of a weight a mince makes.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;

use super::{Answer, Reckoned, at, maybe_small, settled, unit};
use crate::error::{Errors, Result};
use crate::standards::links;
use crate::web::parts::Figure;
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct LinksForm {
    reckon: String,
    mince: String,
    mince_unit: String,
    link: String,
    link_unit: String,
    count: String,
}

impl LinksForm {
    fn reckon(&self, shop: &Shop) -> Reckoned {
        if self.reckon.is_empty() {
            return Ok(None);
        }
        let mut read = Reader::new(shop);
        let mince = read.weight("mince", &self.mince, &self.mince_unit);
        let link = maybe_small(&mut read, "link", &self.link, &self.link_unit);
        let count = if self.count.trim().is_empty() {
            Some(None)
        } else {
            read.count("count", &self.count, 1, 50_000).map(Some)
        };
        if (link, count) == (Some(None), Some(None)) {
            read.refuse("link", "Give what a link is to weigh, or how many there are to be.");
        }
        let (mince, link, count) = read.finish(|| Some((mince?, link?, count?)))?;
        let wrong = |why| at(&why, &[("link", "link"), ("number of links", "count")]);
        let mut answer = Answer::default();
        if let Some(link) = link {
            let made = links::of(mince, link).map_err(wrong)?;
            let figure = Figure::new("Whole links", made.count.to_string(), "");
            answer.figure(figure.beneath(format!("of {} ({}) each", link.metric(), link.imperial())).chief());
            answer.figure(super::small("Left over", made.rest));
        }
        if let Some(count) = count {
            let each = links::each(mince, u32::from(count)).map_err(wrong)?;
            answer.figure(super::small(&format!("Each of {count} weighs"), each));
        }
        answer.how("Base", "the mince as it is stuffed, casing not counted");
        answer.how("Formula", "links = mince ÷ link, whole ones; each = mince ÷ number of links");
        answer.how("Source", "arithmetic");
        answer.how("For comparison", "about 2.5 lb (1.13 kg) of mince fills 8 to 12 links in hog casing of bratwurst size: common practice");
        Ok(Some(answer))
    }
}

#[derive(Template)]
#[template(path = "reckoning/links.html")]
struct LinksPage {
    frame: Frame,
    form: LinksForm,
    errors: Errors,
    answer: Option<Answer>,
}

/// GET `/reckoning/links`
pub async fn page(State(app): State<App>, me: Me, Query(mut form): Query<LinksForm>) -> Result<Response> {
    let (status, answer, errors) = settled(form.reckon(&me.shop));
    unit(&mut form.mince_unit, me.shop.weight_unit().symbol());
    unit(&mut form.link_unit, me.shop.small_unit().symbol());
    page::show(status, &LinksPage { frame: Frame::new(&app, &me, Area::Recipes), form, errors, answer })
}
