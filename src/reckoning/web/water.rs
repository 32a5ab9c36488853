//! `/reckoning/water`: salt in the water phase before and after drying, the bound that it sets on water activity, and moisture to
//! protein for a name.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use serde::Deserialize;

use super::{Answer, Reckoned, at, big_percent, settled};
use crate::error::{Errors, Result};
use crate::measure::{Percent, Ph};
use crate::standards::BadFigure;
use crate::standards::naming::{self, Name};
use crate::standards::water_phase::SaltAndWater;
use crate::web::parts::Figure;
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct WaterForm {
    reckon: String,
    salt: String,
    moisture: String,
    loss: String,
    protein: String,
    ph: String,
}

struct Asked {
    salt: Percent,
    moisture: Percent,
    loss: Option<Percent>,
    protein: Option<Percent>,
    ph: Option<Ph>,
}

impl WaterForm {
    fn reckon(&self, shop: &Shop) -> Reckoned {
        if self.reckon.is_empty() {
            return Ok(None);
        }
        let mut read = Reader::new(shop);
        let salt = read.percent("salt", &self.salt);
        let moisture = read.percent("moisture", &self.moisture);
        let loss = read.maybe_percent("loss", &self.loss);
        let protein = read.maybe_percent("protein", &self.protein);
        let ph = if self.ph.trim().is_empty() { Some(None) } else { read.ph("ph", &self.ph).map(Some) };
        let asked = read.finish(|| {
            Some(Asked { salt: salt?, moisture: moisture?, loss: loss?, protein: protein?, ph: ph? })
        })?;
        answer(&asked).map(Some).map_err(|why| at(&why, &FIELDS))
    }
}

const FIELDS: [(&str, &str); 5] = [
    ("moisture", "moisture"),
    ("salt and moisture together", "moisture"),
    ("loss", "loss"),
    ("water that was lost", "loss"),
    ("protein", "protein"),
];

fn answer(asked: &Asked) -> Result<Answer, BadFigure> {
    let mut answer = Answer {
        says: "An estimate from salt alone is an upper bound and never replaces a meter: measure water activity where a limit \
               stands on it. Your regulator and a process authority decide.",
        ..Answer::default()
    };
    let now = SaltAndWater::new(asked.salt, asked.moisture)?;
    let after = asked.loss.map(|loss| now.dried(loss)).transpose()?;
    phase(&mut answer, "Salt in the water phase", now, after.is_none());
    if let Some(dried) = after {
        phase(&mut answer, "The same after drying", dried, true);
        answer.fact("Salt after drying", Percent::new(dried.salt()).text_places(2));
        answer.fact("Water after drying", Percent::new(dried.water()).text_places(2));
    }
    let last = after.unwrap_or(now);
    let grams = last.to_hundred_of_water().round_dp(1);
    answer.fact("Salt to 100 g of water", format!("{grams}\u{a0}g"));
    let bound = last.at_most();
    answer.figure(bound.map_or_else(
        || {
            Figure::new("Water activity by salt alone", "no bound", "")
                .beneath("less salt than the list begins with")
        },
        |most| {
            Figure::new("Water activity at most", most.to_string(), "aw")
                .beneath("by salt alone, at 25 °C; an estimate")
        },
    ));
    if let Some(protein) = asked.protein {
        let moisture = Percent::new(last.water());
        let protein = after.map_or(Ok(protein), |_| concentrated(protein, asked.loss))?;
        let ratio = naming::ratio(moisture, protein)?;
        let ratio = ratio.round_dp(2).normalize().to_string();
        answer.figure(
            Figure::new("Moisture to protein", ratio, "to 1").beneath("a check of names, not of safety"),
        );
        for name in Name::ALL {
            let says = match name.fits(moisture, protein, asked.ph)? {
                Some(true) => "within",
                Some(false) => "not within",
                None => "within, if the pH is 5.0 or less",
            };
            answer.fact(format!("As {}, at most {} to 1", name.words(), name.most()), says);
        }
        answer.how(
            "Names",
            "most moisture to one of protein: from memory of labelling policy, to be confirmed",
        );
    }
    answer.how("Base", "salt and moisture in per cent of the product; water phase is moisture and salt");
    answer.how("Formula", "salt × 100 ÷ (moisture + salt)");
    answer.how(
        "After drying",
        "salt ÷ (1 − loss), (water − loss) ÷ (1 − loss): water goes and salt stays, arithmetic",
    );
    answer.how("Source", "Ontario fish processing guidelines, F.B.14.14; list of salt to 100 g of water: Chirife and del Pilar Buera 1996");
    Ok(answer)
}

/// Protein of what has dried: it stays, as the salt does.
fn concentrated(protein: Percent, loss: Option<Percent>) -> Result<Percent, BadFigure> {
    let left = Percent::HUNDRED - loss.unwrap_or_default();
    if left <= Percent::ZERO {
        return Err(BadFigure::OverHundred { what: "loss" });
    }
    Ok(Percent::new(protein.decimal() / left.fraction()))
}

fn phase(answer: &mut Answer, name: &str, of: SaltAndWater, chief: bool) {
    let figure = big_percent(name, Percent::new(of.water_phase_salt()), 2);
    answer.figure(Figure { chief, ..figure.beneath("of moisture and salt together") });
}

#[derive(Template)]
#[template(path = "reckoning/water.html")]
struct WaterPage {
    frame: Frame,
    form: WaterForm,
    errors: Errors,
    answer: Option<Answer>,
}

/// GET `/reckoning/water`
pub async fn page(State(app): State<App>, me: Me, Query(form): Query<WaterForm>) -> Result<Response> {
    let (status, answer, errors) = settled(form.reckon(&me.shop));
    page::show(status, &WaterPage { frame: Frame::new(&app, &me, Area::Recipes), form, errors, answer })
}
