//! Whole muscle: capocollo, coppa, ham and shoulder methods 1 and 3. All from memory, to be confirmed.

use rust_decimal::{Decimal, dec};

use super::{About, Condition, Log, Method, State, cut_off, fahrenheit, ham_drying_days, in_fahrenheit};
use crate::measure::Grams;
use crate::standards::cold::Side;

/// Grams in a pound, exact: NIST SP 811, appendix B.8.
const POUND: Decimal = dec!(453.59237);

/// What is recorded of a muscle.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Muscle {
    /// Salt, as sodium chloride, that was laid on.
    pub salt: Option<Grams>,
    /// The whole cure mix that was laid on.
    pub mix: Option<Grams>,
    /// The meat, green.
    pub green: Option<Grams>,
    /// The heaviest piece.
    pub heaviest: Option<Grams>,
    /// Turned and salted again at least once, as the shop states it.
    pub overhauled: bool,
    /// Nothing takes salt out of it again, as the shop states it.
    pub salt_kept: bool,
    /// The warm holding is done in smoke, as the shop states it.
    pub smoked: bool,
    /// In contact with the cure.
    pub contact: Option<Log>,
    /// In contact and equalizing.
    pub cure: Option<Log>,
    pub warm: Option<Log>,
    pub drying: Option<Log>,
}

/// What a method for whole muscle asks for; nothing for a method of other products.
pub fn whole(method: Method, muscle: &Muscle) -> Vec<Condition> {
    let mut conditions = match method {
        Method::Capocollo => capocollo(muscle),
        Method::Coppa => coppa(muscle),
        Method::Ham1 => ham_1(muscle),
        Method::Ham3 => ham_3(muscle),
        _ => return Vec::new(),
    };
    let cure = muscle.cure.as_ref();
    conditions.extend(cure.and_then(|log| Condition::read_throughout(About::Holding, log)));
    let drying = muscle.drying.as_ref();
    conditions.extend(drying.and_then(|log| Condition::read_throughout(About::Drying, log)));
    conditions
}

fn salt(muscle: &Muscle, least: Decimal, words: &str) -> Condition {
    let condition = Condition::new(About::Salt, "salt", format!("at least {words}"));
    share(condition, muscle.salt, muscle.green, least, "of the green weight")
}

fn share(
    condition: Condition,
    part: Option<Grams>,
    whole: Option<Grams>,
    least: Decimal,
    of: &str,
) -> Condition {
    match (part, whole.filter(|whole| whole.is_positive())) {
        (Some(part), Some(whole)) => {
            let share = part.decimal() * Decimal::ONE_HUNDRED / whole.decimal();
            condition.found(format!("{} % {of}", cut_off(share, 2)), State::of(share >= least))
        }
        _ => condition,
    }
}

fn kept(muscle: &Muscle, needed: &str) -> Condition {
    Condition::stated("salt stays in", needed, muscle.salt_kept)
}

fn at(degrees: i32) -> String {
    format!(" at or above {}", in_fahrenheit(degrees))
}

fn held(about: About, what: &'static str, days: Decimal, degrees: i32, log: Option<&Log>) -> Condition {
    let minutes = log.and_then(|log| log.at_least(fahrenheit(degrees)));
    Condition::days(about, what, days, &at(degrees), minutes)
}

const NOT_WASHED_OUT: &str = "nothing removes salt from it, except superficial washing";

fn capocollo(muscle: &Muscle) -> Vec<Condition> {
    let smoke = muscle.warm.as_ref().and_then(|log| log.at_least(fahrenheit(80)));
    vec![
        salt(muscle, dec!(4.5), "4.5 % (4½ lb to 100 lb), laid on dry"),
        kept(muscle, NOT_WASHED_OUT),
        held(About::Holding, "days in cure", dec!(25), 36, muscle.cure.as_ref()),
        Condition::stated("smoke", "the warm holding is done in smoke", muscle.smoked),
        Condition::hours(About::Smoke, "hours in smoke", dec!(30), &at(80), smoke),
        held(About::Drying, "days in the drying room", dec!(20), 45, muscle.drying.as_ref()),
    ]
}

fn coppa(muscle: &Muscle) -> Vec<Condition> {
    vec![
        salt(muscle, dec!(4.5), "4.5 % (4½ lb to 100 lb), laid on dry"),
        kept(muscle, NOT_WASHED_OUT),
        held(About::Holding, "days in cure", dec!(18), 36, muscle.cure.as_ref()),
        held(About::Drying, "days in the drying room", dec!(35), 45, muscle.drying.as_ref()),
    ]
}

fn ham_1(muscle: &Muscle) -> Vec<Condition> {
    vec![
        salt(muscle, dec!(4), "4 % (4 lb to 100 lb), laid on dry"),
        Condition::stated("overhauled", "turned and salted again at least once", muscle.overhauled),
        kept(muscle, "soaked not over 15 h, in water not over 70 °F (21.1 °C), changed once"),
        held(About::Holding, "days in cure", dec!(40), 36, muscle.cure.as_ref()),
        table_5(muscle),
    ]
}

fn ham_3(muscle: &Muscle) -> Vec<Condition> {
    let mix = Condition::new(About::Salt, "salt in the cure mix", "at least 70 % of the mix");
    let mix = share(mix, muscle.salt, muscle.mix, dec!(70), "of the mix");
    let pounds = muscle.heaviest.map(|weight| weight.decimal() / POUND);
    vec![
        mix,
        by_weight("days in contact with the cure", dec!(28), dec!(1.5), pounds, muscle.contact.as_ref()),
        by_weight("days in contact and equalizing", dec!(40), dec!(2), pounds, muscle.cure.as_ref()),
        table_5(muscle),
    ]
}

/// So many days, and so many for each pound of the heaviest piece, from 35 to 45 °F. Time outside does not count.
fn by_weight(
    what: &'static str,
    days: Decimal,
    per_pound: Decimal,
    pounds: Option<Decimal>,
    log: Option<&Log>,
) -> Condition {
    let words = format!(
        " and {per_pound} days for each pound of the heaviest piece, from {} to {}",
        in_fahrenheit(35),
        in_fahrenheit(45)
    );
    let minutes = log.and_then(|log| {
        let warm = log.beyond(Side::Above, fahrenheit(45))?.minutes;
        Some(log.at_least(fahrenheit(35))? - warm)
    });
    match pounds {
        None => Condition::new(About::Holding, what, format!("at least {days} days{words}")),
        Some(pounds) => {
            let needed = days.max(per_pound * pounds);
            let mut condition = Condition::days(About::Holding, what, needed, "", minutes);
            condition.needed =
                format!("at least {days} days{words}: {} days", needed.round_dp(2).normalize());
            condition
        }
    }
}

/// Days of table 5 at the temperature of its column that the days come nearest to.
fn table_5(muscle: &Muscle) -> Condition {
    let open = Condition::new(
        About::Drying,
        "days of drying",
        "the days of table 5: 35 days at 75 °F (23.9 °C) to 1½ days at 130 °F (54.4 °C)",
    );
    let Some(log) = &muscle.drying else { return open };
    let columns = super::TABLE_5.iter().filter_map(|(degrees, _)| {
        let minutes = log.at_least(fahrenheit(*degrees)).filter(|minutes| !minutes.is_zero())?;
        let days = ham_drying_days(fahrenheit(*degrees))?;
        Some((days * Decimal::from(1_440) - minutes, *degrees, days, minutes))
    });
    match columns.min_by_key(|(short, ..)| (*short).max(Decimal::ZERO)) {
        None => open.found("never as warm as 75 °F (23.9 °C)", State::Missing),
        Some((_, degrees, days, minutes)) => {
            Condition::days(About::Drying, "days of drying", days, &at(degrees), Some(minutes))
        }
    }
}
