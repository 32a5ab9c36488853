//! The form of the next line of a docket: which fields there are follows from what comes next.

use rust_decimal::Decimal;
use serde::Deserialize;

use super::super::db::{Last, Supplier};
use super::super::entry::{Animal, Answer, Basis, Brought, Goods};
use crate::book::Form as LotForm;
use crate::error::Errors;
use crate::ids::PlaceId;
use crate::measure::{Percent, input_day, one_line, parse_price_in};
use crate::setup::entry::PlaceKind;
use crate::setup::{Item, Place};
use crate::standards::limits::Alkali;
use crate::web::{Reader, Shop};

/// The words for how meat came: the law's own question is whether it was frozen before.
pub const STATES: [(&str, &str); 2] = [("fresh", "fresh"), ("frozen", "frozen before")];

/// An item has at most so many allergens; the law of the European Union lists 14 (Regulation (EU) No 1169/2011, annex II).
const ALLERGENS: usize = 20;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct LineForm {
    pub item: String,
    pub weight: String,
    pub weight_unit: String,
    pub temperature: String,
    pub basis: String,
    pub frozen: String,
    pub solution: String,
    pub species: String,
    pub breed: String,
    pub ear_tag: String,
    pub slaughter_lot: String,
    pub slaughtered: String,
    pub establishment: String,
    pub supplier_lot: String,
    pub best_before: String,
    pub allergens: String,
    pub cure: String,
    pub nitrite: String,
    pub nitrate: String,
    /// "potassium" where the pack states it so; sodium otherwise.
    pub nitrite_salt: String,
    pub nitrate_salt: String,
    pub price: String,
    pub place: String,
    pub answer: String,
    pub reason: String,
}

/// What the form says, before the book is asked.
pub struct Typed {
    pub brought: Brought,
    pub place: Option<PlaceId>,
    pub answer: Answer,
    pub reason: String,
}

/// Whether a form of meat is sold by hot or chilled weight.
pub fn has_basis(form: LotForm) -> bool {
    matches!(form, LotForm::Carcass | LotForm::Side)
}

impl LineForm {
    /// A form for the next line. Twelve boxes of one docket are alike but for weight, temperature and ear tag, which
    /// are measured and read each time; a cure's strength is never taken from another docket.
    pub fn fresh(
        shop: &Shop,
        item: &Item,
        supplier: &Supplier,
        places: &[Place],
        last: Option<&Last>,
        cure_before: bool,
    ) -> Self {
        let first = Self {
            item: item.id.to_string(),
            weight_unit: shop.weight_unit().symbol().to_owned(),
            answer: Answer::Received.word().to_owned(),
            place: usual_place(item.form, places),
            species: item.species.clone(),
            establishment: supplier.number.clone(),
            allergens: item.allergens.join(", "),
            cure: if cure_before { "yes".into() } else { String::new() },
            ..Self::default()
        };
        last.map_or(first.clone(), |last| first.like(shop, last))
    }

    fn like(self, shop: &Shop, last: &Last) -> Self {
        let cure = last.nitrite.is_some() || last.nitrate.is_some();
        Self {
            place: last.place.map_or(self.place, |place| place.to_string()),
            price: last.price.map(|price| plain(price.in_unit(shop.weight_unit()), 4)).unwrap_or_default(),
            species: last.species.clone(),
            breed: last.breed.clone(),
            slaughter_lot: last.slaughter_lot.clone(),
            slaughtered: last.slaughtered.map(input_day).unwrap_or_default(),
            establishment: last.establishment.clone(),
            basis: last.basis.clone(),
            frozen: if last.frozen { "frozen".into() } else { "fresh".into() },
            solution: percent(last.solution),
            supplier_lot: last.supplier_lot.clone(),
            best_before: last.best_before.map(input_day).unwrap_or_default(),
            allergens: last.allergens.join(", "),
            cure: if cure { "yes".into() } else { "no".into() },
            nitrite: percent(last.nitrite),
            nitrate: percent(last.nitrate),
            nitrite_salt: last.nitrite_salt.clone().unwrap_or_default(),
            nitrate_salt: last.nitrate_salt.clone().unwrap_or_default(),
            ..self
        }
    }

    pub fn read(&self, item: &Item, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let weight = read.weight("weight", &self.weight, &self.weight_unit);
        let temperature = read.maybe_temperature("temperature", &self.temperature);
        let price = if self.price.trim().is_empty() {
            Some(None)
        } else {
            read.take("price", parse_price_in(&self.price, shop.weight_unit(), shop.currency)).map(Some)
        };
        let animal =
            if item.form.is_meat() { self.animal(item.form, &mut read).map(Some) } else { Some(None) };
        let goods = if item.form.is_meat() { Some(None) } else { self.goods(item.form, &mut read).map(Some) };
        let place: Option<Option<PlaceId>> = read.maybe("place", &self.place, "Choose the place.");
        let answer: Option<Answer> = read.value("answer", &self.answer, "Say whether it is received.");
        if answer.is_some_and(|answer| answer != Answer::Refused) && place == Some(None) {
            read.refuse("place", "Choose the place where it is put.");
        }
        let reason = read.line_or_empty("reason", &self.reason);
        read.finish(|| {
            let brought = Brought {
                item: item.named(),
                form: item.form,
                weight: weight?,
                temperature: temperature?,
                price: price?,
                animal: animal?,
                goods: goods?,
                cure: self.cure == "yes",
            };
            Some(Typed { brought, place: place?, answer: answer?, reason: reason? })
        })
    }

    fn animal(&self, form: LotForm, read: &mut Reader<'_>) -> Option<Animal> {
        let basis: Option<Option<Basis>> = if has_basis(form) {
            read.value("basis", &self.basis, "Say whether this is its hot or its chilled weight.").map(Some)
        } else {
            Some(None)
        };
        let frozen = STATES.iter().position(|(value, _)| *value == self.frozen);
        if frozen.is_none() {
            read.refuse("frozen", "Say whether it was frozen before.");
        }
        let solution =
            if has_basis(form) { Some(None) } else { read.maybe_percent("solution", &self.solution) };
        let species = read.line("species", &self.species, "Say of which animal it is.");
        let breed = read.line_or_empty("breed", &self.breed);
        let ear_tag = read.line_or_empty("ear_tag", &self.ear_tag);
        let slaughter_lot = read.line_or_empty("slaughter_lot", &self.slaughter_lot);
        let slaughtered = read.maybe_date("slaughtered", &self.slaughtered);
        let establishment = read.line_or_empty("establishment", &self.establishment);
        Some(Animal {
            species: species?,
            breed: breed?,
            ear_tag: ear_tag?,
            slaughter_lot: slaughter_lot?,
            slaughtered: slaughtered?,
            establishment: establishment?,
            basis: basis?,
            frozen: frozen? == 1,
            solution: solution?,
        })
    }

    #[allow(clippy::similar_names, reason = "nitrite and nitrate are the trade's own words")]
    fn goods(&self, form: LotForm, read: &mut Reader<'_>) -> Option<Goods> {
        let supplier_lot = read.line_or_empty("supplier_lot", &self.supplier_lot);
        let best_before = read.maybe_date("best_before", &self.best_before);
        let allergens = self.allergens(read);
        if form == LotForm::Ingredient && !matches!(self.cure.as_str(), "yes" | "no") {
            read.refuse("cure", "Say whether it holds nitrite or nitrate.");
        }
        let nitrite = read.maybe_percent("nitrite", &self.nitrite);
        let nitrate = read.maybe_percent("nitrate", &self.nitrate);
        let salt = |read: &mut Reader<'_>, field, text: &str| {
            read.maybe::<Alkali>(field, text, "Choose the salt that the pack states.")
        };
        let nitrite_salt = salt(read, "nitrite_salt", &self.nitrite_salt);
        let nitrate_salt = salt(read, "nitrate_salt", &self.nitrate_salt);
        Some(Goods {
            supplier_lot: supplier_lot?,
            best_before: best_before?,
            allergens: allergens?,
            nitrite: nitrite?,
            nitrate: nitrate?,
            nitrite_salt: nitrite_salt?.filter(|salt| *salt == Alkali::Potassium),
            nitrate_salt: nitrate_salt?.filter(|salt| *salt == Alkali::Potassium),
        })
    }

    /// Words set off by commas, as on a label.
    fn allergens(&self, read: &mut Reader<'_>) -> Option<Vec<String>> {
        let words = self.allergens.split([',', ';', '\n']).filter(|word| !word.trim().is_empty());
        let read_words: Result<Vec<String>, _> =
            words.map(|word| one_line(word, 40).map(|word| word.to_lowercase())).collect();
        let mut allergens = read.take("allergens", read_words)?;
        allergens.dedup();
        if allergens.len() > ALLERGENS {
            read.refuse("allergens", format!("At most {ALLERGENS} allergens can be kept here."));
            return None;
        }
        Some(allergens)
    }
}

/// Meat goes to a cooler, dry goods to a store; the first place there is, where there is none of these.
fn usual_place(form: LotForm, places: &[Place]) -> String {
    let kind = if form.is_meat() { PlaceKind::Cooler } else { PlaceKind::Store };
    let usual = places.iter().find(|place| place.kind == kind);
    usual.map(|place| place.id.to_string()).unwrap_or_default()
}

fn percent(percent: Option<Percent>) -> String {
    percent.map(|percent| plain(percent.decimal(), 4)).unwrap_or_default()
}

/// A figure as a person would type it. A price per pound comes back with the cents that it was typed with.
fn plain(figure: Decimal, places: u32) -> String {
    figure.round_dp(places).normalize().to_string()
}
