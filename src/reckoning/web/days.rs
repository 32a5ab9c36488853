//! `/reckoning/days`: how long equilibrium cure takes at the least by common practice, and what the piece weighs after it.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;

use super::{Answer, Reckoned, at, maybe_small, settled, unit};
use crate::error::{Errors, Result};
use crate::measure::{Grams, Length, LengthUnit, UnitSystem, parse_length};
use crate::standards::{BadFigure, equilibrium};
use crate::web::parts::Figure;
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct DaysForm {
    reckon: String,
    thickness: String,
    green: String,
    green_unit: String,
    cure: String,
    cure_unit: String,
    weighed: String,
    weighed_unit: String,
}

struct Asked {
    thickness: Option<Length>,
    green: Option<Grams>,
    cure: Option<Grams>,
    weighed: Option<Grams>,
}

/// The unit of a bare thickness.
fn bare(shop: &Shop) -> LengthUnit {
    match shop.system {
        UnitSystem::Metric => LengthUnit::Millimetre,
        UnitSystem::Us => LengthUnit::Inch,
    }
}

impl DaysForm {
    fn read(&self, shop: &Shop) -> Result<Asked, Errors> {
        let mut read = Reader::new(shop);
        let thickness = if self.thickness.trim().is_empty() {
            Some(None)
        } else {
            read.take("thickness", parse_length(&self.thickness, bare(shop))).map(Some)
        };
        let green = read.maybe_weight("green", &self.green, &self.green_unit);
        let cure = maybe_small(&mut read, "cure", &self.cure, &self.cure_unit);
        let weighed = read.maybe_weight("weighed", &self.weighed, &self.weighed_unit);
        if (thickness, green) == (Some(None), Some(None)) {
            read.refuse("thickness", "Give the thickness of the piece, or its green weight.");
        }
        if green == Some(None) && (cure.flatten().is_some() || weighed.flatten().is_some()) {
            read.refuse(
                "green",
                "Give the green weight: the cure and the weighing back are counted from it.",
            );
        }
        if cure == Some(None) && weighed.flatten().is_some() {
            read.refuse("cure", "Give the cure that was laid on: it is part of the weight that is expected.");
        }
        read.finish(|| Some(Asked { thickness: thickness?, green: green?, cure: cure?, weighed: weighed? }))
    }

    fn reckon(&self, shop: &Shop) -> Reckoned {
        if self.reckon.is_empty() {
            return Ok(None);
        }
        let asked = self.read(shop)?;
        answer(shop, &asked).map(Some).map_err(|why| at(&why, &[("thickness", "thickness")]))
    }
}

fn days(name: &str, exact: Decimal) -> Figure {
    let whole = equilibrium::whole_days(exact);
    let unit = if whole == Decimal::ONE { "day" } else { "days" };
    Figure::new(name, whole.to_string(), unit).beneath(format!("{} unrounded", exact.round_dp(1).normalize()))
}

fn answer(shop: &Shop, asked: &Asked) -> Result<Answer, BadFigure> {
    let mut answer = Answer {
        says: "Days of common practice are a guide and no proof: what counts is salt in the middle of the piece, at 2 to 4 °C \
               (36 to 40 °F). A process authority decides where it matters.",
        ..Answer::default()
    };
    let by_thickness = asked.thickness.map(equilibrium::days_by_thickness).transpose()?;
    let by_weight = asked.green.map(equilibrium::days_by_weight).transpose()?;
    if let Some(least) = by_thickness.into_iter().chain(by_weight).max() {
        answer.figure(Figure { chief: true, ..days("At the least", least) });
    }
    if let (Some(thick), Some(heavy)) = (by_thickness, by_weight) {
        answer.figure(days("By its thickness", thick));
        answer.figure(days("By its weight", heavy));
    }
    if let (Some(green), Some(cure)) = (asked.green, asked.cure) {
        let expected = equilibrium::weigh_back(green, cure)?;
        answer.figure(super::big(shop, "Expected weight after cure", expected));
        if let Some(weighed) = asked.weighed {
            let short = equilibrium::short_of(expected, weighed)?;
            let says = format!("{}, {}", shop.weight(short.grams()), short.percent().text_places(2));
            let name = if short.is_gain() { "More than expected" } else { "Less than expected" };
            answer.fact(name, format!("{says} of the expected weight"));
        }
        answer.how(
            "Expected weight",
            "green weight + cure laid on, arithmetic; juice that runs off makes it less",
        );
    }
    answer.how("Base", "thickness at the thickest place, green weight of one piece");
    answer.how(
        "Formula",
        "7 days × thickness ÷ 25.4 mm; 2 days × green weight ÷ 453.59237 g; a part of a day is a day",
    );
    answer.how("Source", equilibrium::PRACTICE);
    Ok(answer)
}

#[derive(Template)]
#[template(path = "reckoning/days.html")]
struct DaysPage {
    frame: Frame,
    form: DaysForm,
    errors: Errors,
    answer: Option<Answer>,
    bare: String,
}

/// GET `/reckoning/days`
pub async fn page(State(app): State<App>, me: Me, Query(mut form): Query<DaysForm>) -> Result<Response> {
    let (status, answer, errors) = settled(form.reckon(&me.shop));
    let meat = me.shop.weight_unit().symbol();
    unit(&mut form.green_unit, meat);
    unit(&mut form.weighed_unit, meat);
    unit(&mut form.cure_unit, me.shop.small_unit().symbol());
    let bare = bare(&me.shop).symbol().to_owned();
    page::show(status, &DaysPage { frame: Frame::new(&app, &me, Area::Recipes), form, errors, answer, bare })
}
