//! `/reckoning/brine`: per cent pump, the cure that a pickle needs, and the salt that it leaves.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;

use super::held::{self, Sum};
use super::{Answer, Reckoned, at, big_percent, choices, chosen, maybe_small, ppm, settled, unit};
use crate::error::{Errors, Result};
use crate::limits::{self, InForce};
use crate::measure::{Grams, Percent, Ppm};
use crate::standards::curing::Method;
use crate::standards::limits::Product;
use crate::standards::{BadFigure, brine, yields};
use crate::web::parts::{Choice, Figure};
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

const WAYS: [&str; 2] = ["pumped", "left until level"];

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct BrineForm {
    reckon: String,
    way: String,
    rest: String,
    rest_unit: String,
    salt: String,
    salt_unit: String,
    pump: String,
    meat: String,
    meat_unit: String,
    nitrite: String,
    product: String,
    wanted: String,
    green: String,
    green_unit: String,
    treated: String,
    treated_unit: String,
}

struct Asked {
    rest: Grams,
    salt: Option<Grams>,
    /// How the meat takes it.
    way: Way,
    nitrite: Percent,
    product: Product,
    wanted: Ppm,
}

enum Way {
    Pumped(Percent),
    Level(Grams),
}

impl BrineForm {
    fn read(&self, shop: &Shop) -> Result<Asked, Errors> {
        let mut read = Reader::new(shop);
        let way = chosen(&mut read, "way", &self.way, &WAYS, |word| word);
        let rest = read.weight("rest", &self.rest, &self.rest_unit);
        let salt = maybe_small(&mut read, "salt", &self.salt, &self.salt_unit);
        let way = way.and_then(|way| {
            if way == WAYS[0] {
                read.percent("pump", &self.pump).map(Way::Pumped)
            } else {
                read.weight("meat", &self.meat, &self.meat_unit).map(Way::Level)
            }
        });
        let nitrite = read.percent("nitrite", &self.nitrite);
        let product = super::product(&mut read, &self.product, Product::Other);
        let wanted = ppm(&mut read, "wanted", &self.wanted);
        read.finish(|| {
            let (nitrite, product, wanted) = (nitrite?, product?, wanted?);
            Some(Asked { rest: rest?, salt: salt?, way: way?, nitrite, product, wanted })
        })
    }

    fn reckon(&self, shop: &Shop, in_force: &InForce) -> Reckoned {
        match self.reckon.as_str() {
            "" => Ok(None),
            "pump" => self.pump(shop).map(Some),
            _ => {
                let asked = self.read(shop)?;
                let mut answer = answer(shop, &asked).map_err(|why| at(&why, &FIELDS))?;
                let method = match asked.way {
                    Way::Pumped(_) => Method::Pumped,
                    Way::Level(_) => Method::ImmersionEquilibrium,
                };
                let sum = Sum::wanted(method, asked.wanted, false);
                answer.held = sum.map(|sum| held::beside(in_force, &sum, asked.product));
                Ok(Some(answer))
            }
        }
    }

    /// Per cent pump of a piece that was weighed before and after.
    fn pump(&self, shop: &Shop) -> Result<Answer, Errors> {
        let mut read = Reader::new(shop);
        let green = read.weight("green", &self.green, &self.green_unit);
        let treated = read.weight("treated", &self.treated, &self.treated_unit);
        let (green, treated) = read.finish(|| Some((green?, treated?)))?;
        let pump =
            yields::percent_pump(green, treated).map_err(|why| at(&why, &[("green meat", "treated")]))?;
        let mut answer = Answer::default();
        answer.figure(Figure { chief: true, ..big_percent("Pump", pump, 2).beneath("of the green weight") });
        answer.fact("Taken up", shop.weight(treated - green));
        answer.how("Base", "of the green weight");
        answer.how("Formula", "(treated − green) ÷ green × 100");
        answer.how("Source", "USDA FSIS Directive 7620.3");
        Ok(answer)
    }
}

const FIELDS: [(&str, &str); 9] = [
    ("pickle without its cure", "rest"),
    ("pump", "pump"),
    ("green meat", "meat"),
    ("strength", "nitrite"),
    ("ppm", "wanted"),
    ("cure's share of its pickle", "wanted"),
    ("salt", "salt"),
    ("salt of the brine", "salt"),
    ("pickle", "rest"),
];

fn answer(shop: &Shop, asked: &Asked) -> Result<Answer, BadFigure> {
    let mut answer = Answer { says: super::DECIDES, ..Answer::default() };
    let (rest, wanted, fraction) = (asked.rest.decimal(), asked.wanted.decimal(), asked.nitrite.fraction());
    let (dose, base, formula) = match asked.way {
        Way::Pumped(pump) => (
            brine::dose_pumped(rest, wanted, fraction, pump)?,
            "of the green weight",
            "cure × strength × pump × 1,000,000 ÷ (rest + cure), solved for the cure",
        ),
        Way::Level(green) => (
            brine::dose_level(green.decimal(), rest, wanted, fraction)?,
            "of meat and pickle",
            "cure × strength × 1,000,000 ÷ (green weight + rest + cure), solved for the cure",
        ),
    };
    let cure = Grams::new(dose);
    let figure = super::small("Cure for this pickle", cure);
    let beneath = format!("{}; {}\u{a0}ppm {base}", figure.beneath, asked.wanted);
    answer.figure(Figure { chief: true, beneath, ..figure });
    answer.figure(super::big(shop, "The whole pickle then", asked.rest + cure));
    let weigh = super::weighable(shop, dose)?;
    answer.fact(
        "The most that the small scale weighs without going over",
        format!("{} ({} steps)", weigh.metric(), shop.small_division.metric()),
    );
    if let Some(salt) = asked.salt {
        salts(&mut answer, asked, salt, cure)?;
    }
    answer.how("Base", base);
    answer.how("Formula", formula);
    answer.how(
        "Source",
        "USDA FSIS Directive 7620.3; the whole pickle is counted, its dry ingredients included",
    );
    Ok(answer)
}

/// Plain salt, and the salt that the cure brings: all of it that is not nitrite.
fn salts(answer: &mut Answer, asked: &Asked, salt: Grams, cure: Grams) -> Result<(), BadFigure> {
    let brings = cure.times(Decimal::ONE - asked.nitrite.fraction());
    let (salt, pickle) = (salt + brings, asked.rest + cure);
    let of_brine = brine::salt_in_brine(salt, pickle)?;
    answer.figure(
        big_percent("Salt of the brine", of_brine, 2).beneath("of the whole pickle, the cure's salt in it"),
    );
    let finished = match asked.way {
        Way::Pumped(pump) => {
            answer.how("Finished salt", "salt of the brine × pump ÷ (100 + pump), arithmetic");
            brine::finished_salt(of_brine, pump)?
        }
        Way::Level(green) => {
            answer.how("Finished salt", "salt ÷ (green weight + pickle), arithmetic");
            brine::level_salt(green, salt, pickle)?
        }
    };
    let base = match asked.way {
        Way::Pumped(_) => "of the treated piece",
        Way::Level(_) => "of meat and pickle, level",
    };
    answer.figure(big_percent("Salt in the meat", finished, 2).beneath(base));
    answer.fact("Salt in the cure", "taken as all of it that is not nitrite; a carrier would make it less");
    Ok(())
}

#[derive(Template)]
#[template(path = "reckoning/brine.html")]
struct BrinePage {
    frame: Frame,
    form: BrineForm,
    errors: Errors,
    answer: Option<Answer>,
    ways: Vec<Choice>,
    products: Vec<Choice>,
    of_pump: bool,
}

/// GET `/reckoning/brine`
pub async fn page(State(app): State<App>, me: Me, Query(mut form): Query<BrineForm>) -> Result<Response> {
    let in_force = limits::in_force(&mut *app.db().await?, me.today(), me.now).await?;
    let (status, answer, errors) = settled(form.reckon(&me.shop, &in_force));
    let meat = me.shop.weight_unit().symbol();
    for field in [&mut form.rest_unit, &mut form.meat_unit, &mut form.green_unit, &mut form.treated_unit] {
        unit(field, meat);
    }
    unit(&mut form.salt_unit, me.shop.small_unit().symbol());
    unit(&mut form.way, WAYS[0]);
    let page = BrinePage {
        frame: Frame::new(&app, &me, Area::Recipes),
        of_pump: form.reckon == "pump",
        form,
        errors,
        answer,
        ways: choices(&WAYS, |word| word),
        products: choices(Product::ALL, Product::word),
    };
    page::show(status, &page)
}
