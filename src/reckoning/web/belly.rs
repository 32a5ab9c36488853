//! `/reckoning/belly`: a belly cured with its rind on, whose rind is left out of the base.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;

use super::held::{self, Sum};
use super::{Answer, Reckoned, at, choices, close, maybe_ppm, settled, unit, whole_ppm};
use crate::error::{Errors, Result};
use crate::limits::{self, CureOf, InForce};
use crate::measure::{ExactGrams, Grams, Percent, Ppm};
use crate::standards::BadFigure;
use crate::standards::curing::{self, Cure, Cured, RIND, Rind, Strength};
use crate::standards::ingoing::{Brings, Put};
use crate::standards::limits::Product;
use crate::web::parts::{Choice, Figure};
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct BellyForm {
    reckon: String,
    belly: String,
    belly_unit: String,
    share: String,
    rind: String,
    rind_unit: String,
    cure: String,
    cure_unit: String,
    nitrite: String,
    product: String,
    wanted: String,
}

struct Asked {
    belly: Grams,
    rind: Rind,
    cure: ExactGrams,
    nitrite: Percent,
    product: Product,
    wanted: Option<Ppm>,
}

impl BellyForm {
    fn read(&self, shop: &Shop) -> Result<Asked, Errors> {
        let mut read = Reader::new(shop);
        let belly = read.weight("belly", &self.belly, &self.belly_unit);
        let weighed = read.maybe_weight("rind", &self.rind, &self.rind_unit);
        let share = read.maybe_percent("share", &self.share);
        let cure = read.exact_small_weight("cure", &self.cure, &self.cure_unit);
        let nitrite = read.percent("nitrite", &self.nitrite);
        let product = super::product(&mut read, &self.product, Product::Bacon);
        let wanted = maybe_ppm(&mut read, "wanted", &self.wanted);
        read.finish(|| {
            let rind = weighed?.map_or(Rind::Share(share?.unwrap_or(RIND)), Rind::Weighed);
            let (cure, nitrite, product) = (cure?, nitrite?, product?);
            Some(Asked { belly: belly?, rind, cure, nitrite, product, wanted: wanted? })
        })
    }

    fn reckon(&self, shop: &Shop, in_force: &InForce) -> Reckoned {
        if self.reckon.is_empty() {
            return Ok(None);
        }
        let asked = self.read(shop)?;
        let rind = if matches!(asked.rind, Rind::Weighed(_)) { "rind" } else { "share" };
        let fields = [
            ("rind", rind),
            ("belly without its rind", rind),
            ("strength", "nitrite"),
            ("nitrite in the cure", "nitrite"),
        ];
        answer(shop, &asked, in_force).map(Some).map_err(|why| at(&why, &fields))
    }
}

fn answer(shop: &Shop, asked: &Asked, in_force: &InForce) -> Result<Answer, BadFigure> {
    let mut answer = Answer { says: super::DECIDES, ..Answer::default() };
    let green = asked.rind.left_out_of(asked.belly)?;
    let strength = Strength { nitrite: asked.nitrite, nitrate: Percent::ZERO };
    let cure = [Cure::new(asked.cure.decimal(), strength)?];
    let without = curing::nitrite(&cure, Cured::Dry { green })?;
    let with = curing::nitrite(&cure, Cured::Dry { green: asked.belly.decimal() })?;
    let base = "as sodium nitrite, of the belly without its rind";
    answer.figure(Figure { chief: true, ..whole_ppm("Ingoing nitrite", without.exact, base) });
    answer.figure(super::big(shop, "Counted on", Grams::new(green)));
    answer.fact("Unrounded", close(without.exact));
    answer.fact("On the belly with its rind it would read", close(with.exact));
    answer.fact("Rind left out", shop.weight(asked.belly - Grams::new(green)));
    if let Some(wanted) = asked.wanted {
        let way = Cured::Dry { green };
        let dose = curing::cure_for(wanted.decimal(), asked.nitrite.fraction(), way)?;
        let less = curing::less(asked.cure.decimal(), wanted.decimal(), asked.nitrite.fraction(), way)?;
        answer.figure(super::small(&format!("Cure for {wanted}\u{a0}ppm"), Grams::new(dose)));
        answer.fact(
            "The most that the small scale weighs without going over",
            format!("{} ({} steps)", super::weighable(shop, dose)?.metric(), shop.small_division.metric()),
        );
        let less = Grams::new(less);
        let says = if less.is_zero() { "nothing: it is not above it".to_owned() } else { less.metric() };
        answer.fact(format!("To leave out for {wanted}\u{a0}ppm"), says);
    }
    let brings = Brings::of(strength);
    let put = [Put { weight: asked.cure.decimal(), brings }];
    let sum = Sum::of(Cured::Dry { green }, &put, vec![CureOf { name: "the cure".into(), brings }]);
    answer.held = sum.map(|sum| held::beside(in_force, &sum, asked.product));
    answer.how("Base", "green weight of the belly less its rind, about 10 % where it is not weighed");
    answer.how("Formula", without.formula);
    answer.how("Source", without.source);
    Ok(answer)
}

#[derive(Template)]
#[template(path = "reckoning/belly.html")]
struct BellyPage {
    frame: Frame,
    form: BellyForm,
    errors: Errors,
    answer: Option<Answer>,
    products: Vec<Choice>,
}

/// GET `/reckoning/belly`
pub async fn page(State(app): State<App>, me: Me, Query(mut form): Query<BellyForm>) -> Result<Response> {
    let in_force = limits::in_force(&mut *app.db().await?, me.today(), me.now).await?;
    let (status, answer, errors) = settled(form.reckon(&me.shop, &in_force));
    unit(&mut form.product, Product::Bacon.word());
    let (meat, small) = (me.shop.weight_unit().symbol(), me.shop.small_unit().symbol());
    unit(&mut form.belly_unit, meat);
    unit(&mut form.rind_unit, meat);
    unit(&mut form.cure_unit, small);
    if form.reckon.is_empty() {
        unit(&mut form.share, &RIND.to_string());
    }
    let (frame, products) = (Frame::new(&app, &me, Area::Recipes), choices(Product::ALL, Product::word));
    page::show(status, &BellyPage { frame, form, errors, answer, products })
}
