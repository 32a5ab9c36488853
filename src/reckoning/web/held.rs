//! What was reckoned, beside the limits in force for the method: in the same words as on a recipe.

use askama::Template;
use askama::filters::HtmlSafe;
use rust_decimal::Decimal;

use crate::limits::{self, CureOf, HeldRow, InForce, held_rows};
use crate::measure::{Percent, Ppm};
use crate::recipes::no_limits;
use crate::standards::curing::{Cured, Method, NitrateAs, NitriteAs, Stated};
use crate::standards::ingoing::{Brings, Curing, GoesIn, MILLION, Put};
use crate::standards::limits::{Alkali, Base, Measured, Product, Way};

/// Figures beside their limits, or what there is to say where there is none.
#[derive(Debug, Clone, Default, Template)]
#[template(path = "reckoning/held.html")]
pub struct Beside {
    rows: Vec<HeldRow>,
    none: &'static str,
    /// Limits on another base than that of the sum.
    elsewhere: Vec<String>,
    not_said: &'static str,
}

impl HtmlSafe for Beside {}

/// The bases on which a sum can be held against a limit: it knows only the weights of its own method.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Bases {
    WholeBatch,
    /// Meat, and the pickle itself.
    Weighed,
    /// Meat alone: there is no one pickle.
    Meat,
}

impl Bases {
    fn has(self, base: Base) -> bool {
        match self {
            Self::WholeBatch => base == Base::WholeBatch,
            Self::Weighed => base != Base::WholeBatch,
            Self::Meat => !matches!(base, Base::WholeBatch | Base::Pickle),
        }
    }
}

/// What goes in by a method, for whoever holds it against limits.
pub struct Sum {
    goes_in: GoesIn,
    on: Bases,
    /// What could be taken out or put in, and the meat that all of it is for; none where the sum does not know the meat.
    cures: Vec<CureOf>,
    meat: Decimal,
}

impl Sum {
    /// What `puts` bring into what the method asks for. None where it does not reckon.
    pub fn of(way: Cured, puts: &[Put], cures: Vec<CureOf>) -> Option<Self> {
        let all: Decimal = puts.iter().map(|put| put.weight).sum();
        let rest = |pickle: Decimal| {
            let weight = (pickle - all).max(Decimal::ZERO);
            [puts, [Put { weight, brings: Brings::NOTHING }].as_slice()].concat()
        };
        // What a pickle is enough for, where all of it is taken up.
        let enough = |pickle: Decimal, taken: Percent| pickle.checked_div(taken.fraction());
        let plain = Curing::plain;
        let (curing, meat, puts, of) = match way {
            Cured::Comminuted { meat_block } => {
                (plain(Way::Comminuted), meat_block, puts.to_vec(), meat_block)
            }
            Cured::Dry { green } => (plain(Way::DryCured), green, puts.to_vec(), green),
            Cured::Pumped { pickle, pump } => {
                (Curing { pump, ..plain(Way::Pumped) }, pickle, rest(pickle), enough(pickle, pump)?)
            }
            Cured::PickUp { pickle, pick_up } => {
                (Curing { pick_up, ..plain(Way::PickUp) }, pickle, rest(pickle), enough(pickle, pick_up)?)
            }
            Cured::Equilibrium { green, pickle } => (plain(Way::Equilibrium), green, rest(pickle), green),
            Cured::WholeBatch { batch } => {
                let goes_in = GoesIn::new(plain(Way::Comminuted), batch - all, puts, None).ok()?;
                return Some(Self { goes_in, on: Bases::WholeBatch, cures: Vec::new(), meat: batch });
            }
        };
        let goes_in = GoesIn::new(curing, meat, &puts, None).ok()?;
        Some(Self { goes_in, on: Bases::Weighed, cures, meat: of })
    }

    /// A pump and a cover pickle after it, each with what is in it: what reaches the meat of both.
    pub fn covered(pump: (&[Put], Decimal, Percent), cover: (&[Put], Decimal, Percent)) -> Option<Self> {
        // Both over the two pickles multiplied: nothing is divided.
        let reaches = |(puts, _, taken): (&[Put], Decimal, Percent), other: Decimal| {
            let share = taken.fraction() * other;
            puts.iter().map(move |put| Put { weight: put.weight * share, ..*put }).collect::<Vec<_>>()
        };
        let puts = [reaches(pump, cover.1), reaches(cover, pump.1)].concat();
        let curing = Curing { pump: pump.2, ..Curing::plain(Way::Pumped) };
        let laid_on = Some((Decimal::ONE, Decimal::ZERO));
        let meat = pump.1 * cover.1;
        let goes_in = GoesIn::new(curing, meat, &puts, laid_on).ok()?;
        Some(Self { goes_in, on: Bases::Meat, cures: Vec::new(), meat })
    }

    /// So many ppm of nitrite, or of nitrate, by a method: what is wanted and not yet weighed.
    pub fn wanted(method: Method, wanted: Ppm, nitrate: bool) -> Option<Self> {
        let of = |share: Percent| if nitrate { (Percent::ZERO, share) } else { (share, Percent::ZERO) };
        let (nitrite, nitrate) = of(Percent::HUNDRED);
        let put = Put { weight: wanted.decimal(), brings: Brings { nitrite, nitrate, ..Brings::NOTHING } };
        let all = Percent::HUNDRED;
        let way = match method {
            Method::Comminuted => Cured::Comminuted { meat_block: MILLION },
            Method::DryCured => Cured::Dry { green: MILLION },
            Method::Pumped => Cured::Pumped { pickle: MILLION, pump: all },
            Method::ImmersionPickUp => Cured::PickUp { pickle: MILLION, pick_up: all },
            Method::ImmersionEquilibrium => {
                let half = MILLION / Decimal::TWO;
                Cured::Equilibrium { green: half, pickle: half }
            }
            Method::WholeBatch => Cured::WholeBatch { batch: MILLION },
        };
        let sum = Self::of(way, &[put], Vec::new())?;
        Some(if sum.on == Bases::Weighed { Self { on: Bases::Meat, ..sum } } else { sum })
    }
}

/// What there is to say of a sum by the limits in force for a product.
pub fn beside(in_force: &InForce, sum: &Sum, product: Product) -> Beside {
    let (held, others): (Vec<_>, Vec<_>) =
        in_force.held.iter().cloned().partition(|held| sum.on.has(held.limit.base));
    let judged = limits::judge(&held, product, &sum.goes_in);
    let rows = held_rows(&judged, &sum.goes_in, &sum.cures, sum.meat);
    let speaks = |held: &&limits::Held| {
        held.limit.measured == Measured::Ingoing
            && held.limit.most.is_some()
            && held.limit.holds_for(sum.goes_in.way(), product)
            && limits::judge(std::slice::from_ref(*held), product, &sum.goes_in).len() == 1
    };
    let elsewhere =
        others.iter().filter(speaks).map(|held| format!("{}, {}", held.limit.name, held.limit.base.words()));
    Beside {
        none: no_limits(in_force, rows.is_empty()),
        rows,
        elsewhere: elsewhere.collect(),
        not_said: limits::NOT_SAID,
    }
}

/// What a cure brings by the strength on its pack. A strength stated as the ion is reckoned as the sodium salt.
pub fn brings(pack: Stated) -> Brings {
    let as_sodium =
        |share: Percent, sodium: Decimal, ion: Decimal| Percent::new(share.decimal() * sodium / ion);
    let strength = pack.strength;
    let (nitrite, nitrite_salt) = match pack.nitrite_as {
        NitriteAs::Sodium => (strength.nitrite, Alkali::Sodium),
        NitriteAs::Potassium => (strength.nitrite, Alkali::Potassium),
        NitriteAs::Ion => {
            let (sodium, ion) = (NitriteAs::Sodium.molar_mass(), NitriteAs::Ion.molar_mass());
            (as_sodium(strength.nitrite, sodium, ion), Alkali::Sodium)
        }
    };
    let (nitrate, nitrate_salt) = match pack.nitrate_as {
        NitrateAs::Sodium => (strength.nitrate, Alkali::Sodium),
        NitrateAs::Potassium => (strength.nitrate, Alkali::Potassium),
        NitrateAs::Ion => {
            let (sodium, ion) = (NitrateAs::Sodium.molar_mass(), NitrateAs::Ion.molar_mass());
            (as_sodium(strength.nitrate, sodium, ion), Alkali::Sodium)
        }
    };
    Brings { nitrite, nitrite_salt, nitrate, nitrate_salt, accelerator: None }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;
    use crate::limits::Held;
    use crate::standards::limits::{Jurisdiction, shipped};

    fn in_force(jurisdiction: Jurisdiction) -> InForce {
        let rows = shipped(jurisdiction).expect("a list that reads").limits;
        let held = rows.into_iter().filter(|row| !row.waits()).map(|limit| Held { limit, own: None });
        InForce { jurisdiction: Some(jurisdiction), held: held.collect() }
    }

    fn cure(weight: Decimal) -> Put {
        Put { weight, brings: Brings { nitrite: Percent::new(dec!(6.25)), ..Brings::NOTHING } }
    }

    /// The figure and the state of the row that holds for nitrite.
    fn nitrite(sum: Option<Sum>, product: Product) -> (String, &'static str) {
        let beside = beside(&in_force(Jurisdiction::UnitedStates), &sum.expect("it reckons"), product);
        let row = beside.rows.iter().find(|row| row.name.contains("itrite")).expect("a limit of nitrite");
        (row.figure.replace('\u{a0}', " "), row.state.mark)
    }

    #[test]
    fn each_method_is_held_against_its_own_limit_at_it_and_one_unit_past_it() {
        let ten = Percent::TEN;
        for (way, at) in [
            (Cured::Comminuted { meat_block: dec!(1000) }, dec!(2.5)),
            (Cured::Dry { green: dec!(1000) }, dec!(10)),
            (Cured::Pumped { pickle: dec!(1000), pump: ten }, dec!(32)),
            (Cured::PickUp { pickle: dec!(1000), pick_up: ten }, dec!(32)),
            (Cured::Equilibrium { green: dec!(600), pickle: dec!(400) }, dec!(3.2)),
        ] {
            let of = |weight: Decimal| nitrite(Sum::of(way, &[cure(weight)], vec![]), Product::Other);
            assert_eq!(of(at).1, "met", "{way:?} {}", of(at).0);
            assert_eq!(of(at + dec!(0.00001)).1, "out", "{way:?}");
        }
    }

    #[test]
    fn a_pump_and_its_cover_count_together() {
        let puts = |weight| [cure(weight)];
        let of = |cover: Decimal| {
            let sum = Sum::covered(
                (puts(dec!(16)).as_slice(), dec!(1000), Percent::TEN),
                (puts(cover).as_slice(), dec!(700), Percent::new(dec!(2))),
            );
            nitrite(sum, Product::Other)
        };
        // 100 ppm of the pump and 100 of the cover: 200.
        assert_eq!(of(dec!(56)), ("200 ppm".into(), "met"));
        assert_eq!(of(dec!(56.01)).1, "out");
    }

    #[test]
    fn what_is_wanted_is_held_as_it_was_typed() {
        for (method, most) in
            [(Method::Comminuted, "156.25"), (Method::Pumped, "200"), (Method::DryCured, "625")]
        {
            let of = |more: Decimal| {
                let wanted = Ppm::new(most.parse::<Decimal>().expect("ppm") + more);
                nitrite(Sum::wanted(method, wanted, false), Product::Other).1
            };
            assert_eq!((of(Decimal::ZERO), of(dec!(0.01))), ("met", "out"), "{method:?}");
        }
    }

    #[test]
    fn a_limit_on_the_whole_batch_is_named_where_the_sum_does_not_know_it() {
        let comminuted = Sum::of(Cured::Comminuted { meat_block: dec!(1000) }, &[cure(dec!(2))], vec![]);
        let canada = beside(&in_force(Jurisdiction::Canada), &comminuted.expect("a sum"), Product::Other);
        let whole = Sum::of(Cured::WholeBatch { batch: dec!(1000) }, &[cure(dec!(3.2))], vec![]);
        let there = beside(&in_force(Jurisdiction::Canada), &whole.expect("a sum"), Product::Other);
        assert!(
            canada.elsewhere.iter().any(|one| one.contains("whole batch")) || !canada.rows.is_empty(),
            "{canada:?}"
        );
        assert!(there.rows.iter().all(|row| row.base.contains("whole batch")), "{there:?}");
    }
}
