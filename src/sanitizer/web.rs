//! `/sanitizer`: the mixing sheet. A form of the address alone: it can be sent on, and works without a script.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::{Decimal, RoundingStrategy, dec};
use serde::Deserialize;

use crate::error::{Errors, Result};
use crate::measure::Percent;
use crate::standards::sanitizer::{
    AIM, ByMass, GALLON, Label, QUART, TEASPOON, by_mass, chlorine, chlorine_contact, dose, ppm,
};
use crate::standards::{Held, State as Standing};
use crate::web::parts::{Choice, Figure, State as Mark};
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct MixForm {
    /// The strength on the label, per cent.
    label: String,
    of: String,
    product: String,
    product_unit: String,
    water: String,
    water_unit: String,
    /// The strength to make, ppm.
    target: String,
    /// What the strip shows, ppm.
    strip: String,
    temperature: String,
    ph: String,
}

/// Units of volume, with the millilitres in each.
const UNITS: [(&str, &str, Decimal); 7] = [
    ("ml", "mL", dec!(1)),
    ("l", "L", dec!(1000)),
    ("tsp", "teaspoons", TEASPOON),
    ("tbsp", "tablespoons", dec!(14.78676478125)),
    ("cup", "cups", dec!(236.5882365)),
    ("qt", "quarts", QUART),
    ("gal", "gallons", GALLON),
];

fn millilitres(unit: &str) -> Option<Decimal> {
    UNITS.iter().find(|(key, _, _)| *key == unit).map(|(_, _, ml)| *ml)
}

/// What was typed, read.
struct Mix {
    label: Percent,
    of: Label,
    /// In mL.
    product: Option<Decimal>,
    /// In mL.
    water: Decimal,
    target: Option<Decimal>,
}

impl MixForm {
    fn is_blank(&self) -> bool {
        let fields =
            [&self.label, &self.product, &self.water, &self.target, &self.strip, &self.temperature, &self.ph];
        fields.iter().all(|field| field.trim().is_empty())
    }

    /// Whether the mixing half was filled in.
    fn mixes(&self) -> bool {
        [&self.label, &self.product, &self.water, &self.target].iter().any(|field| !field.trim().is_empty())
    }

    fn read_mix(&self, shop: &Shop) -> Result<Mix, Errors> {
        let mut read = Reader::new(shop);
        let label = read.percent("label", &self.label).and_then(|label| {
            let held = label > Percent::ZERO && label <= Percent::HUNDRED;
            if !held {
                read.refuse("label", "The strength on a label is more than 0 and not more than 100 %.");
            }
            held.then_some(label)
        });
        let of = match self.of.as_str() {
            "chlorine" => Label::AvailableChlorine,
            _ => Label::Hypochlorite,
        };
        let product = volume(&mut read, "product", &self.product, &self.product_unit, true);
        let water = volume(&mut read, "water", &self.water, &self.water_unit, false);
        let target = optional(&mut read, "target", &self.target, dec!(5000));
        if self.product.trim().is_empty() && self.target.trim().is_empty() {
            read.refuse("target", "Give the strength to make, or how much of the product goes in.");
        }
        read.finish(|| {
            Some(Mix {
                label: label?,
                of,
                product: product?,
                water: water?.unwrap_or_default(),
                target: target?,
            })
        })
    }
}

/// A number that may be left open, above nothing.
fn optional(read: &mut Reader, field: &'static str, text: &str, most: Decimal) -> Option<Option<Decimal>> {
    if text.trim().is_empty() {
        return Some(None);
    }
    let number = read.decimal(field, text, dec!(0), most)?;
    if number.is_zero() {
        read.refuse(field, "Give a number above 0.");
        return None;
    }
    Some(Some(number))
}

/// A volume in mL. What may stay open and was is `Some(None)`.
fn volume(
    read: &mut Reader,
    field: &'static str,
    text: &str,
    unit: &str,
    open: bool,
) -> Option<Option<Decimal>> {
    if !open && text.trim().is_empty() {
        read.refuse(field, "Give how much water.");
        return None;
    }
    let number = optional(read, field, text, dec!(100000))?;
    let Some(ml) = millilitres(unit) else {
        read.refuse(field, "Choose the unit.");
        return None;
    };
    Some(number.map(|number| number * ml))
}

struct Row {
    what: &'static str,
    needed: String,
    found: String,
    state: Mark,
    source: &'static str,
}

struct Outcome {
    figures: Vec<Figure>,
    rows: Vec<Row>,
    /// What must not be overlooked.
    warning: String,
}

#[derive(Template)]
#[template(path = "sanitizer/index.html")]
struct SanitizerPage {
    frame: Frame,
    form: MixForm,
    errors: Errors,
    units: Vec<Choice>,
    labels: Vec<Choice>,
    temperature_unit: &'static str,
    outcomes: Vec<(String, Outcome)>,
}

/// GET `/sanitizer`
pub async fn page(State(app): State<App>, me: Me, Query(mut form): Query<MixForm>) -> Result<Response> {
    let mut errors = Errors::default();
    let mut outcomes = Vec::new();
    if form.is_blank() {
        form.product_unit = "tsp".into();
        form.water_unit = "qt".into();
    } else {
        match reckon(&me.shop, &form) {
            Ok(found) => outcomes = found,
            Err(wrong) => errors = wrong,
        }
    }
    let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let page = SanitizerPage {
        frame: Frame::new(&app, &me, Area::Checks),
        form,
        errors,
        units: UNITS.iter().map(|(key, name, _)| Choice::new(*key, *name)).collect(),
        labels: vec![
            Choice::new("hypochlorite", "sodium hypochlorite"),
            Choice::new("chlorine", "available chlorine"),
        ],
        temperature_unit: me.shop.temperature_unit().symbol(),
        outcomes,
    };
    page::show(status, &page)
}

fn reckon(shop: &Shop, form: &MixForm) -> Result<Vec<(String, Outcome)>, Errors> {
    let mut read = Reader::new(shop);
    let temperature = read.maybe_temperature("temperature", &form.temperature);
    let ph = if form.ph.trim().is_empty() { Some(None) } else { read.ph("ph", &form.ph).map(Some) };
    let strip = optional(&mut read, "strip", &form.strip, dec!(5000));
    let (temperature, ph, strip) = read.finish(|| Some((temperature?, ph?, strip?)))?;
    let held =
        |strength: Decimal| chlorine(strength, temperature, ph).into_iter().map(row).collect::<Vec<_>>();
    let contact = |strength: Decimal| {
        let seconds = chlorine_contact(strength, temperature, ph);
        Figure::new("Contact, at least", seconds.to_string(), "s").beneath("FDA Food Code 4-703.11(C)")
    };
    let mut outcomes = Vec::new();
    if form.mixes() {
        let mix = form.read_mix(shop)?;
        if let Some(product) = mix.product {
            let strength =
                ppm(mix.label, product, mix.water).map_err(|bad| at("product", bad.to_string()))?;
            let mass =
                by_mass(mix.label, mix.of, product, mix.water).map_err(|bad| at("label", bad.to_string()))?;
            let figures = vec![
                Figure::new("Strength", shown(strength, 1), "ppm")
                    .beneath("of what the label names, by volume, over product and water together")
                    .chief(),
                mass_figure(mass),
                contact(strength),
            ];
            let rows = held(strength);
            outcomes.push((
                "What this mixture is".into(),
                Outcome { figures, rows, warning: warning(strength, mass) },
            ));
        }
        if let Some(target) = mix.target {
            let product = dose(mix.label, target, mix.water).map_err(|bad| at("target", bad.to_string()))?;
            let mass =
                by_mass(mix.label, mix.of, product, mix.water).map_err(|bad| at("label", bad.to_string()))?;
            let figures = vec![
                Figure::new("Product", shown(product, 2), "mL")
                    .beneath(format!("{} US teaspoons, into the water", shown(product / TEASPOON, 2)))
                    .chief(),
                mass_figure(mass),
                contact(target),
            ];
            let name = format!("For {} ppm", shown(target, 1));
            outcomes.push((name, Outcome { figures, rows: held(target), warning: warning(target, mass) }));
        }
    }
    if let Some(strip) = strip {
        let figures = vec![Figure::new("Strip", shown(strip, 1), "ppm").chief(), contact(strip)];
        outcomes.push((
            "What the strip's reading meets".into(),
            Outcome { figures, rows: held(strip), warning: String::new() },
        ));
    }
    if outcomes.is_empty() {
        return Err(at("strip", "Give what the strip shows, or what is mixed."));
    }
    Ok(outcomes)
}

fn at(field: &'static str, message: impl Into<String>) -> Errors {
    let mut errors = Errors::default();
    errors.push(crate::error::Refusal::at(field, message));
    errors
}

/// Half away from zero, so many decimals at most.
fn shown(value: Decimal, places: u32) -> String {
    value.round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero).normalize().to_string()
}

fn mass_figure(mass: Option<ByMass>) -> Figure {
    match mass {
        Some(mass) => Figure::new("Estimate by mass", shown(mass.chlorine, 1), "mg/L")
            .beneath(format!(
                "as available chlorine; {} mg/L of what the label names, at {} g/mL; densities from memory, to be confirmed",
                shown(mass.labelled, 1),
                shown(mass.density, 3)
            )),
        None => Figure::new("Estimate by mass", "–", "").beneath("no density is known for this strength"),
    }
}

/// What the simple figure alone would hide.
fn warning(strength: Decimal, mass: Option<ByMass>) -> String {
    let cap = dec!(200);
    match mass {
        _ if strength > cap => "Above 200 ppm: not for a surface that touches food and is not rinsed.".into(),
        Some(mass) if mass.chlorine > cap || mass.labelled > cap => format!(
            "Under 200 ppm by volume, above it by mass. Aim at {AIM} ppm or less to stay under by either reckoning."
        ),
        _ => String::new(),
    }
}

fn row(held: Held) -> Row {
    let state = match held.state {
        Standing::Met => Mark::new("met", held.state.word()),
        Standing::Missing => Mark::new("wait", "not measured"),
        Standing::Failed => Mark::new("out", held.state.word()),
    };
    Row { what: held.what, needed: held.needed, found: held.found, state, source: held.source }
}
