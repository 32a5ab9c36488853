//! `/reckoning/ppm`: ingoing nitrite, nitrate and ascorbate by method, in every expression; turned round, the cure for a wanted
//! ppm, the meat for a cure, and how much less comes down to it.

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;

use super::held::{self, Sum};
use super::{Answer, Reckoned, at, choices, chosen, close, maybe_exact, maybe_ppm, settled, unit, whole_ppm};
use crate::error::{Errors, Result};
use crate::limits::{self, CureOf, InForce};
use crate::measure::{ExactGrams, Grams, Percent, Ppm};
use crate::standards::BadFigure;
use crate::standards::curing::{
    self, Accelerator, Cure, Cured, Ingoing, Method, NitrateAs, NitriteAs, PumpedAndCovered, Stated, Strength,
};
use crate::standards::ingoing::{Brings, Put};
use crate::standards::limits::Product;
use crate::web::parts::{Choice, Figure, Notice};
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

const METHODS: [Method; 6] = [
    Method::Comminuted,
    Method::DryCured,
    Method::Pumped,
    Method::ImmersionPickUp,
    Method::ImmersionEquilibrium,
    Method::WholeBatch,
];

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PpmForm {
    reckon: String,
    method: String,
    product: String,
    meat: String,
    meat_unit: String,
    pickle: String,
    pickle_unit: String,
    taken: String,
    cure: String,
    cure_unit: String,
    nitrite: String,
    nitrite_as: String,
    nitrate: String,
    nitrate_as: String,
    wanted: String,
    accelerator: String,
    accelerator_unit: String,
    accelerator_as: String,
    cover_cure: String,
    cover_cure_unit: String,
    cover_nitrite: String,
    cover_nitrate: String,
    cover_pickle: String,
    cover_pickle_unit: String,
    cover_taken: String,
}

/// The form, read.
struct Asked {
    way: Cured,
    product: Product,
    cure: Option<ExactGrams>,
    pack: Stated,
    wanted: Option<Ppm>,
    accelerator: Option<(ExactGrams, Accelerator)>,
    cover: Option<Cover>,
}

struct Cover {
    cure: ExactGrams,
    strength: Strength,
    pickle: ExactGrams,
    taken: Percent,
}

impl Asked {
    /// What is held against the limits: what is weighed, or else what is wanted.
    fn sum(&self) -> Option<Sum> {
        let mut puts = Vec::new();
        let mut cures = Vec::new();
        if let Some(cure) = self.cure {
            let brings = held::brings(self.pack);
            puts.push(Put { weight: cure.decimal(), brings });
            cures.push(CureOf { name: "the cure".into(), brings });
        }
        if let Some((weight, form)) = self.accelerator {
            let brings = Brings { accelerator: Some((form, Percent::HUNDRED)), ..Brings::NOTHING };
            puts.push(Put { weight: weight.decimal(), brings });
            cures.push(CureOf { name: form.word().into(), brings });
        }
        match (&self.cover, self.way, self.wanted) {
            (Some(cover), Cured::Pumped { pickle, pump }, _) if self.cure.is_some() => {
                let of_cover = [Put { weight: cover.cure.decimal(), brings: Brings::of(cover.strength) }];
                Sum::covered(
                    (puts.as_slice(), pickle, pump),
                    (of_cover.as_slice(), cover.pickle.decimal(), cover.taken),
                )
            }
            (_, way, Some(wanted)) if puts.is_empty() => {
                Sum::wanted(way.method(), wanted, self.pack.strength.nitrite == Percent::ZERO)
            }
            (_, way, _) => Sum::of(way, &puts, cures),
        }
    }
}

impl PpmForm {
    fn read(&self, shop: &Shop) -> Result<Asked, Errors> {
        let mut read = Reader::new(shop);
        let method = chosen(&mut read, "method", &self.method, &METHODS, Method::words);
        let way = method.and_then(|method| self.way(&mut read, method));
        let product = super::product(&mut read, &self.product, Product::Other);
        let cure = maybe_exact(&mut read, "cure", &self.cure, &self.cure_unit);
        let pack = self.pack(&mut read);
        let wanted = maybe_ppm(&mut read, "wanted", &self.wanted);
        let accelerator = maybe_exact(&mut read, "accelerator", &self.accelerator, &self.accelerator_unit);
        let form =
            chosen(&mut read, "accelerator_as", &self.accelerator_as, Accelerator::ALL, Accelerator::word);
        let cover = self.cover(&mut read, method);
        if (cure, wanted, accelerator) == (Some(None), Some(None), Some(None)) {
            read.refuse("cure", "Give the cure that goes in, or the ppm that are wanted below.");
        }
        read.finish(|| {
            Some(Asked {
                way: way?,
                product: product?,
                cure: cure?,
                pack: pack?,
                wanted: wanted?,
                accelerator: accelerator?.zip(form),
                cover: cover?,
            })
        })
    }

    /// The weights that the method asks for.
    fn way(&self, read: &mut Reader<'_>, method: Method) -> Option<Cured> {
        let meat =
            |read: &mut Reader<'_>| Some(read.exact_weight("meat", &self.meat, &self.meat_unit)?.decimal());
        let pickle = |read: &mut Reader<'_>| {
            Some(read.exact_weight("pickle", &self.pickle, &self.pickle_unit)?.decimal())
        };
        match method {
            Method::Comminuted => Some(Cured::Comminuted { meat_block: meat(read)? }),
            Method::DryCured => Some(Cured::Dry { green: meat(read)? }),
            Method::WholeBatch => Some(Cured::WholeBatch { batch: meat(read)? }),
            Method::Pumped | Method::ImmersionPickUp => {
                let (pickle, taken) = (pickle(read), read.percent("taken", &self.taken));
                let (pickle, taken) = (pickle?, taken?);
                Some(if method == Method::Pumped {
                    Cured::Pumped { pickle, pump: taken }
                } else {
                    Cured::PickUp { pickle, pick_up: taken }
                })
            }
            Method::ImmersionEquilibrium => {
                let (green, pickle) = (meat(read), pickle(read));
                Some(Cured::Equilibrium { green: green?, pickle: pickle? })
            }
        }
    }

    fn pack(&self, read: &mut Reader<'_>) -> Option<Stated> {
        let nitrite = read.maybe_percent("nitrite", &self.nitrite);
        let nitrate = read.maybe_percent("nitrate", &self.nitrate);
        let nitrite_as = chosen(read, "nitrite_as", &self.nitrite_as, &NitriteAs::ALL, NitriteAs::words);
        let nitrate_as = chosen(read, "nitrate_as", &self.nitrate_as, &NitrateAs::ALL, NitrateAs::words);
        let asked = !self.cure.trim().is_empty() || !self.wanted.trim().is_empty();
        if asked && (nitrite, nitrate) == (Some(None), Some(None)) {
            read.refuse("nitrite", "Give the strength that the pack states, in per cent of the cure.");
        }
        let strength =
            Strength { nitrite: nitrite?.unwrap_or_default(), nitrate: nitrate?.unwrap_or_default() };
        Some(Stated { strength, nitrite_as: nitrite_as?, nitrate_as: nitrate_as? })
    }

    fn cover(&self, read: &mut Reader<'_>, method: Option<Method>) -> Option<Option<Cover>> {
        if self.cover_cure.trim().is_empty() {
            return Some(None);
        }
        if method != Some(Method::Pumped) {
            read.refuse(
                "cover_cure",
                "A cover pickle is counted beside a pump: choose pumped, or leave it empty.",
            );
        }
        let cure = read.exact_small_weight("cover_cure", &self.cover_cure, &self.cover_cure_unit);
        let nitrite = read.percent("cover_nitrite", &self.cover_nitrite);
        let nitrate = read.maybe_percent("cover_nitrate", &self.cover_nitrate);
        let pickle = read.exact_weight("cover_pickle", &self.cover_pickle, &self.cover_pickle_unit);
        let taken = read.percent("cover_taken", &self.cover_taken);
        let strength = Strength { nitrite: nitrite?, nitrate: nitrate?.unwrap_or_default() };
        Some(Some(Cover { cure: cure?, strength, pickle: pickle?, taken: taken? }))
    }

    fn reckon(&self, shop: &Shop, in_force: &InForce) -> Reckoned {
        if self.reckon.is_empty() {
            return Ok(None);
        }
        let asked = self.read(shop)?;
        let mut answer = answer(shop, &asked).map_err(|why| at(&why, &FIELDS))?;
        answer.held = asked.sum().map(|sum| held::beside(in_force, &sum, asked.product));
        Ok(Some(answer))
    }
}

const FIELDS: [(&str, &str); 12] = [
    ("cure", "cure"),
    ("pickle", "pickle"),
    ("pump", "taken"),
    ("pick-up", "taken"),
    ("pump or pick-up", "taken"),
    ("meat block", "meat"),
    ("green meat", "meat"),
    ("whole batch", "meat"),
    ("strength", "nitrite"),
    ("nitrite in the cure", "nitrite"),
    ("nitrate in the cure", "nitrate"),
    ("nitrite and nitrate in the cure together", "nitrite"),
];

fn answer(shop: &Shop, asked: &Asked) -> Result<Answer, BadFigure> {
    let mut answer = Answer { says: super::DECIDES, ..Answer::default() };
    let method = asked.way.method();
    let mut said = None;
    // What the cover gives of the salt that is wanted: the pump is left the rest.
    let mut cover_gives = (Decimal::ZERO, Decimal::ZERO);
    if let Some(weight) = asked.cure {
        let cure = [Cure::stated(weight.decimal(), asked.pack)?];
        let (nitrite, nitrate) = (curing::nitrite(&cure, asked.way)?, curing::nitrate(&cure, asked.way)?);
        let both = asked.cover.as_ref().map(|cover| covered(&cure, asked.way, cover)).transpose()?;
        let total =
            |one: &Ingoing, both: Option<&PumpedAndCovered>| both.map_or(one.exact, PumpedAndCovered::exact);
        let (in_all, nitrate_in_all) = match both.flatten() {
            Some((nitrites, nitrates)) => {
                answer.fact("From the pump", close(nitrites.pumped.exact));
                answer.fact("From the cover pickle", close(nitrites.cover.exact));
                cover_gives = (nitrites.cover.exact, nitrates.cover.exact);
                (total(&nitrite, Some(&nitrites)), total(&nitrate, Some(&nitrates)))
            }
            None => (nitrite.exact, nitrate.exact),
        };
        nitrites(&mut answer, in_all, nitrite.basis.words());
        nitrates(&mut answer, nitrate_in_all, nitrate.basis.words());
        said = Some(nitrite);
    }
    if let Some((weight, form)) = asked.accelerator {
        let one = curing::accelerator(&[(weight.decimal(), Percent::HUNDRED)], asked.way)?;
        answer.figure(whole_ppm(&format!("Ingoing {}", form.word()), one.exact, one.basis.words()));
        for other in [Accelerator::SodiumErythorbate, Accelerator::ErythorbicAcid] {
            let as_other = curing::accelerator_as(one.ppm, form, other).decimal();
            answer.fact(format!("The same as {}", other.word()), close(as_other));
        }
        said.get_or_insert(one);
    }
    if let Some(wanted) = asked.wanted {
        turned_round(shop, asked, wanted, cover_gives, &mut answer)?;
    }
    answer.how("Reckoned as", method.words());
    answer.how("Base", method.basis().words());
    answer.how("Formula", said.map_or(method.formula(), |one| one.formula));
    answer.how("Source", said.map_or("USDA FSIS Directive 7620.3, solved for the cure", |one| one.source));
    answer.how("As another salt", "ppm × molar mass of the one ÷ molar mass of the other, g/mol");
    Ok(answer)
}

fn nitrites(answer: &mut Answer, exact: Decimal, base: &str) {
    answer.figure(Figure {
        chief: true,
        ..whole_ppm("Ingoing nitrite", exact, &format!("as sodium nitrite, {base}"))
    });
    answer.fact("Nitrite unrounded", format!("{} as sodium nitrite", close(exact)));
    for other in [NitriteAs::Ion, NitriteAs::Potassium] {
        let same = curing::nitrite_as(Ppm::new(exact), NitriteAs::Sodium, other).decimal();
        answer.fact(format!("The same as {}", other.words()), close(same));
    }
}

fn nitrates(answer: &mut Answer, exact: Decimal, base: &str) {
    if exact.is_zero() {
        return;
    }
    answer.figure(whole_ppm("Ingoing nitrate", exact, &format!("as sodium nitrate, {base}")));
    for other in [NitrateAs::Ion, NitrateAs::Potassium] {
        let same = curing::nitrate_as(Ppm::new(exact), NitrateAs::Sodium, other).decimal();
        answer.fact(format!("Nitrate as {}", other.words()), close(same));
    }
}

type Both = (PumpedAndCovered, PumpedAndCovered);

fn covered(cure: &[Cure], way: Cured, cover: &Cover) -> Result<Option<Both>, BadFigure> {
    let Cured::Pumped { pickle, pump } = way else { return Ok(None) };
    let cover_cure = [Cure::new(cover.cure.decimal(), cover.strength)?];
    let cover = (cover_cure.as_slice(), cover.pickle.decimal(), cover.taken);
    curing::pumped_and_covered((cure, pickle, pump), cover).map(Some)
}

/// The cure for the wanted ppm of nitrite, or of nitrate where the cure has no nitrite.
/// What a cover pickle gives already is taken off first.
fn turned_round(
    shop: &Shop,
    asked: &Asked,
    wanted: Ppm,
    cover: (Decimal, Decimal),
    answer: &mut Answer,
) -> Result<(), BadFigure> {
    let one = Cure::stated(Decimal::ZERO, asked.pack)?;
    let (fraction, salt, cover) = if one.nitrite().is_zero() {
        (one.nitrate(), "sodium nitrate", cover.1)
    } else {
        (one.nitrite(), "sodium nitrite", cover.0)
    };
    if cover > wanted.decimal() {
        let says =
            format!("The cover pickle alone gives {}, more than the {wanted}\u{a0}ppm wanted.", close(cover));
        answer.notices.push(Notice::new("late", says));
    }
    let left = (wanted.decimal() - cover).max(Decimal::ZERO);
    let dose = curing::cure_for(left, fraction, asked.way)?;
    let name = format!("Cure for {wanted}\u{a0}ppm");
    answer.figure(super::small(&name, Grams::new(dose)));
    let weigh = super::weighable(shop, dose)?;
    answer.fact(
        "The most that the small scale weighs without going over",
        format!("{} ({} steps)", weigh.metric(), shop.small_division.metric()),
    );
    answer.fact("Wanted", format!("{wanted}\u{a0}ppm as {salt}, {}", asked.way.method().basis().words()));
    if let Some(weighed) = asked.cure {
        let less = curing::less(weighed.decimal(), left, fraction, asked.way)?;
        let less = Grams::new(less);
        let says = if less.is_zero() { "nothing: it is not above it".to_owned() } else { less.metric() };
        answer.fact(format!("To leave out for {wanted}\u{a0}ppm"), says);
        if matches!(asked.way, Cured::Comminuted { .. } | Cured::Dry { .. } | Cured::WholeBatch { .. }) {
            let meat = curing::meat_for(weighed.decimal(), fraction, wanted.decimal())?;
            answer.fact(format!("This cure makes at {wanted}\u{a0}ppm"), shop.weight(Grams::new(meat)));
        }
    }
    Ok(())
}

#[derive(Template)]
#[template(path = "reckoning/ppm.html")]
struct PpmPage {
    frame: Frame,
    form: PpmForm,
    errors: Errors,
    answer: Option<Answer>,
    methods: Vec<Choice>,
    products: Vec<Choice>,
    nitrites: Vec<Choice>,
    nitrates: Vec<Choice>,
    accelerators: Vec<Choice>,
}

/// GET `/reckoning/ppm`
pub async fn page(State(app): State<App>, me: Me, Query(mut form): Query<PpmForm>) -> Result<Response> {
    let in_force = limits::in_force(&mut *app.db().await?, me.today(), me.now).await?;
    let (status, answer, errors) = settled(form.reckon(&me.shop, &in_force));
    let (meat, small) = (me.shop.weight_unit().symbol(), me.shop.small_unit().symbol());
    for field in [&mut form.meat_unit, &mut form.pickle_unit, &mut form.cover_pickle_unit] {
        unit(field, meat);
    }
    for field in [&mut form.cure_unit, &mut form.accelerator_unit, &mut form.cover_cure_unit] {
        unit(field, small);
    }
    let page = PpmPage {
        frame: Frame::new(&app, &me, Area::Recipes),
        form,
        errors,
        answer,
        methods: choices(&METHODS, Method::words),
        products: choices(Product::ALL, Product::word),
        nitrites: choices(&NitriteAs::ALL, NitriteAs::words),
        nitrates: choices(&NitrateAs::ALL, NitrateAs::words),
        accelerators: choices(Accelerator::ALL, Accelerator::word),
    };
    page::show(status, &page)
}
