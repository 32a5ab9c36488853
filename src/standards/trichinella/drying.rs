//! Curing and drying of sausage: methods 1 to 7. Two clocks run at once, days in the drying room and days since the curing
//! materials were added, and both must be met. Time below the temperature that a step asks for does not count for it.

use rust_decimal::{Decimal, dec};

use super::freezing::inches;
use super::{
    About, Condition, Log, Method, State, TABLE_3B_DEGREES, cut_off, days_added, days_deducted, drying_days,
    effective_salt, fahrenheit, in_fahrenheit,
};
use crate::measure::{Grams, Length, LengthUnit};

/// What is recorded of a sausage.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sausage {
    /// What the largest pieces of meat pass through, as the shop states it of the product.
    pub particle: Option<Length>,
    /// Salt, as sodium chloride, that was weighed into it.
    pub salt: Option<Grams>,
    /// The sausage before it is stuffed.
    pub unstuffed: Option<Grams>,
    /// All dry ingredients in it, the salt among them.
    pub dry: Option<Grams>,
    /// Of the casing when it was stuffed.
    pub diameter: Option<Length>,
    /// No coating with paraffin during the treatment and no washing while it dries, as the shop states it.
    pub uncoated: bool,
    /// The warm holding is done in smoke, as the shop states it.
    pub smoked: bool,
    /// From the adding of the curing materials to the stuffing.
    pub before_stuffing: Option<Log>,
    /// The warm holding: fermenting, smoking.
    pub warm: Option<Log>,
    pub drying: Option<Log>,
    /// From the adding of the curing materials until now.
    pub since_cure: Option<Log>,
}

const SALT: &str = "3.33 % of the unstuffed sausage (3⅓ lb to 100 lb)";

/// What a sausage method asks for; nothing for a method of other products.
pub fn sausage(method: Method, sausage: &Sausage) -> Vec<Condition> {
    let mut conditions = match method {
        Method::Sausage1 => method_1(sausage),
        Method::Pepperoni => pepperoni(sausage),
        Method::Sausage2 => method_2(sausage),
        Method::Sausage3 => method_3(sausage),
        Method::Sausage4 => method_4(sausage),
        Method::Sausage5 => method_5(sausage),
        Method::Sausage6 => method_6(sausage),
        Method::Sausage7 => method_7(sausage),
        _ => return Vec::new(),
    };
    let drying = sausage.drying.as_ref();
    conditions.extend(drying.and_then(|log| Condition::read_throughout(About::Drying, log)));
    let warm = sausage.warm.as_ref();
    conditions.extend(warm.and_then(|log| Condition::read_throughout(About::Smoke, log)));
    conditions
}

/// Minutes at or above so many °F.
fn at_least(log: Option<&Log>, degrees: i32) -> Option<Decimal> {
    log.and_then(|log| log.at_least(fahrenheit(degrees)))
}

fn at(degrees: i32) -> String {
    format!(" at or above {}", in_fahrenheit(degrees))
}

/// The meat's largest pieces, in the hundredths of an inch of the text.
fn particle(sausage: &Sausage, hundredths: i64, words: &str) -> Condition {
    let condition = Condition::new(About::Stated, "size of the meat", format!("not over {words}"));
    match sausage.particle {
        None => condition,
        Some(size) => condition.found(length(size), State::of(size <= inches(Decimal::new(hundredths, 2)))),
    }
}

/// `3.5 in (88.9 mm)`.
fn length(size: Length) -> String {
    let both =
        [LengthUnit::Inch, LengthUnit::Millimetre].map(|unit| size.number(unit).round_dp(2).normalize());
    format!("{} in ({} mm)", both[0], both[1])
}

/// Salt against the whole of the unstuffed sausage.
fn salt(sausage: &Sausage, least: Decimal, words: &str) -> Condition {
    let condition = Condition::new(About::Salt, "salt", format!("at least {words}"));
    match (sausage.salt, sausage.unstuffed.filter(|whole| whole.is_positive())) {
        (Some(salt), Some(whole)) => {
            let share = salt.decimal() * Decimal::ONE_HUNDRED / whole.decimal();
            condition.found(format!("{} % of it", cut_off(share, 2)), State::of(share >= least))
        }
        _ => condition,
    }
}

fn casing(sausage: &Sausage, most: Length, words: &str) -> Condition {
    let condition = Condition::new(About::Casing, "diameter at stuffing", format!("not over {words}"));
    match sausage.diameter {
        None => condition,
        Some(size) => condition.found(length(size), State::of(size <= most)),
    }
}

fn uncoated(sausage: &Sausage) -> Condition {
    Condition::stated(
        "coating and washing",
        "no paraffin on the casing during the treatment, no washing while it dries",
        sausage.uncoated,
    )
}

fn room(sausage: &Sausage, days: Decimal, degrees: i32) -> Condition {
    let minutes = at_least(sausage.drying.as_ref(), degrees);
    Condition::days(About::Drying, "days in the drying room", days, &at(degrees), minutes)
}

fn since(sausage: &Sausage, days: Decimal) -> Condition {
    let minutes = sausage.since_cure.as_ref().map(Log::minutes);
    Condition::days(About::SinceCure, "days since the cure was added", days, "", minutes)
}

/// The wider of two casings takes the longer times; an unknown one too.
fn is_wide(sausage: &Sausage) -> bool {
    sausage.diameter.is_none_or(|diameter| diameter > inches(dec!(3.5)))
}

fn common(sausage: &Sausage) -> Vec<Condition> {
    vec![
        particle(sausage, 75, "¾ in (19 mm)"),
        salt(sausage, dec!(3.33), SALT),
        casing(sausage, inches(dec!(4)), "4 in (101.6 mm)"),
        uncoated(sausage),
    ]
}

fn method_1(sausage: &Sausage) -> Vec<Condition> {
    let (in_room, in_all) = if is_wide(sausage) { (dec!(35), dec!(40)) } else { (dec!(20), dec!(25)) };
    let mut conditions = common(sausage);
    conditions.extend([room(sausage, in_room, 45), since(sausage, in_all)]);
    conditions
}

fn pepperoni(sausage: &Sausage) -> Vec<Condition> {
    vec![
        particle(sausage, 75, "¾ in (19 mm)"),
        salt(sausage, dec!(3.33), SALT),
        casing(sausage, inches(dec!(1.375)), "1⅜ in (34.9 mm)"),
        uncoated(sausage),
        room(sausage, dec!(15), 45),
        since(sausage, dec!(20)),
    ]
}

fn smoke(sausage: &Sausage, hours: Decimal, degrees: i32) -> [Condition; 2] {
    let minutes = at_least(sausage.warm.as_ref(), degrees);
    [
        Condition::stated("smoke", "the warm holding is done in smoke", sausage.smoked),
        Condition::hours(About::Smoke, "hours in smoke", hours, &at(degrees), minutes),
    ]
}

fn method_2(sausage: &Sausage) -> Vec<Condition> {
    let (in_room, in_all) = if is_wide(sausage) { (dec!(25), dec!(33)) } else { (dec!(10), dec!(18)) };
    let mut conditions = common(sausage);
    conditions.extend(smoke(sausage, dec!(40), 80));
    conditions.extend([room(sausage, in_room, 45), since(sausage, in_all)]);
    conditions
}

fn method_3(sausage: &Sausage) -> Vec<Condition> {
    let (in_smoke, hot) = if is_wide(sausage) { (dec!(15), dec!(7)) } else { (dec!(12), dec!(4)) };
    let mut conditions = common(sausage);
    let held = at_least(sausage.before_stuffing.as_ref(), 34);
    let cured = at_least(sausage.since_cure.as_ref(), 34);
    conditions.extend([
        Condition::hours(About::Holding, "hours before stuffing", dec!(36), &at(34), held),
        Condition::hours(About::SinceCure, "hours since the cure was added", dec!(144), &at(34), cured),
    ]);
    conditions.extend(smoke(sausage, in_smoke, 90));
    let warm = sausage.warm.as_ref();
    let longest = warm.and_then(|log| log.longest_at_least(fahrenheit(128)));
    conditions.push(Condition::hours(About::Smoke, "hours at a stretch", hot, &at(128), longest));
    if is_wide(sausage) {
        conditions.push(slowly(warm));
    }
    conditions
}

/// Not warmed to 128 °F in less than 4 hours.
fn slowly(warm: Option<&Log>) -> Condition {
    let reached = warm.and_then(|log| {
        let first = log.samples().iter().find(|sample| sample.value >= fahrenheit(128))?;
        Some(super::super::cold::minutes(first.at - log.from()))
    });
    let what = "hours to come up";
    let words = format!(" to reach {}", in_fahrenheit(128));
    match reached {
        Some(minutes) if minutes < dec!(240) => {
            let mut condition = Condition::hours(About::Smoke, what, dec!(4), &words, reached);
            condition.state = State::Failed;
            condition
        }
        _ => Condition::hours(About::Smoke, what, dec!(4), &words, reached),
    }
}

fn method_4(sausage: &Sausage) -> Vec<Condition> {
    let held = at_least(sausage.before_stuffing.as_ref(), 36);
    // Warm bath and smoke come on top of the 35 days.
    let warm = sausage.warm.as_ref().map_or(Decimal::ZERO, Log::minutes);
    let since = sausage.since_cure.as_ref().map(|log| log.minutes() - warm);
    let room = sausage.drying.as_ref().and_then(|log| {
        let below = log.minutes() - log.at_least(fahrenheit(45))?;
        Some((below, log.coldest()?.value))
    });
    let dried = Condition::new(About::Drying, "drying room", format!("never below {}", in_fahrenheit(45)));
    vec![
        particle(sausage, 25, "¼ in (6.35 mm)"),
        salt(sausage, dec!(2.5), "2½ % of the unstuffed sausage (2½ lb to 100 lb)"),
        casing(sausage, Length::new(dec!(10) * dec!(25.4) / dec!(3)), "3⅓ in (84.7 mm)"),
        uncoated(sausage),
        Condition::days(
            About::Holding,
            "days as a compact mass, not over 6 in deep",
            dec!(10),
            &at(36),
            held,
        ),
        match room {
            None => dried,
            Some((below, coldest)) => {
                let found = format!("coldest {}", super::found_temperature(coldest));
                dried.found(found, State::of(below.is_zero()))
            }
        },
        Condition::days(
            About::SinceCure,
            "days since the cure was added, warm bath and smoke left out",
            dec!(35),
            "",
            since,
        ),
    ]
}

fn method_5(sausage: &Sausage) -> Vec<Condition> {
    let held = at_least(sausage.since_cure.as_ref(), 45);
    vec![
        particle(sausage, 75, "¾ in (19 mm)"),
        salt(sausage, dec!(3.33), SALT),
        Condition::days(About::SinceCure, "days held", dec!(65), &at(45), held),
    ]
}

fn method_6(sausage: &Sausage) -> Vec<Condition> {
    let share = sausage
        .salt
        .zip(sausage.unstuffed)
        .zip(sausage.dry)
        .and_then(|((salt, whole), dry)| effective_salt(salt, whole, dry));
    let needed = "at least 2.0 % of the formula without its dry ingredients";
    let salt = Condition::new(About::Salt, "salt", needed);
    let salt = match share {
        None => salt,
        Some(share) => salt.found(format!("{} % of that", cut_off(share, 1)), State::of(share >= dec!(2))),
    };
    let holding = sausage.since_cure.as_ref().map(|all| {
        let drying = at_least(sausage.drying.as_ref(), 35).unwrap_or_default();
        let whole = all.at_least(fahrenheit(35)).unwrap_or_default();
        // Holding is what is not drying.
        (whole - drying).max(Decimal::ZERO)
    });
    let mut conditions = vec![
        particle(sausage, 75, "¾ in (19 mm)"),
        salt,
        casing(sausage, inches(dec!(6)), "6 in (152.4 mm)"),
        uncoated(sausage),
        Condition::hours(About::Holding, "hours held before or after stuffing", dec!(48), &at(35), holding),
    ];
    let base = sausage.diameter.and_then(drying_days);
    let added = base.and_then(|days| days_added(days, share?));
    conditions.push(match (base, added) {
        (Some(days), Some(added)) => {
            let less = deducted(days, sausage.warm.as_ref());
            let needed = (days + added).saturating_sub(less);
            let words = format!(
                "{} ({days} of table 3A, {added} added for the salt by table 4, {less} taken off for warm holding by table 3B)",
                at(50)
            );
            let minutes = at_least(sausage.drying.as_ref(), 50).or((needed == 0).then_some(Decimal::ZERO));
            Condition::days(About::Drying, "days in the drying room", needed.into(), &words, minutes)
        }
        _ => Condition::new(
            About::Drying,
            "days in the drying room",
            "the days of table 3A for the casing, longer for less salt, shorter for warm holding",
        ),
    });
    conditions
}

/// The most that warm holding takes off: each column of table 3B with the hours at or above it.
fn deducted(days: u16, warm: Option<&Log>) -> u16 {
    let columns = TABLE_3B_DEGREES.iter().filter_map(|degrees| {
        let hours = at_least(warm, *degrees)? / Decimal::from(60);
        Some(days_deducted(days, hours, *degrees))
    });
    columns.max().unwrap_or(0)
}

fn method_7(sausage: &Sausage) -> Vec<Condition> {
    let small = sausage.diameter.is_some_and(|diameter| diameter <= Length::new(dec!(55)));
    // Hours at or above each step of the chamber; a warmer step counts for the cooler ones too.
    let (steps, days): (&[(i32, i64)], _) = if small {
        (&[(50, 19), (100, 7), (125, 6)], dec!(4))
    } else {
        (&[(50, 23), (90, 11), (100, 10), (110, 9), (120, 8), (125, 7)], dec!(7))
    };
    let mut conditions = vec![
        particle(sausage, 25, "¼ in (6.35 mm)"),
        salt(sausage, dec!(2.7), "2.7 % of the unstuffed sausage (2.7 lb to 100 lb)"),
        casing(sausage, Length::new(dec!(105)), "105 mm (4.13 in)"),
        uncoated(sausage),
    ];
    conditions.extend(steps.iter().map(|(degrees, hours)| {
        let minutes = at_least(sausage.warm.as_ref(), *degrees);
        Condition::hours(About::Smoke, "hours in the chamber", Decimal::from(*hours), &at(*degrees), minutes)
    }));
    conditions.push(room(sausage, days, 50));
    conditions
}
