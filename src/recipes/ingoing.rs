//! What goes in with a recipe or a batch: ingoing nitrite and nitrate, and the salt and sugar that its cures and mixes
//! bring. The figure with its base, its formula and its source; limits are held against it in `limits`.

use rust_decimal::Decimal;

use super::entry::RecipeLine;
use super::words::Role;
use crate::measure::Percent;
use crate::standards::BadFigure;
use crate::standards::ingoing::{Brings, Curing, Fraction, GoesIn, Put};
use crate::standards::limits::{Base, StatedAs, Substance, Way};
use crate::standards::water_phase::water_phase_salt;

/// The handbook that the methods are from.
pub const HANDBOOK: &str = "USDA FSIS Directive 7620.3, Processing Inspectors' Calculations Handbook, 1995";

/// Both figures on the method's own base, as the sodium salts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct IngoingBoth {
    pub nitrite: Fraction,
    pub nitrate: Fraction,
    pub way: Way,
}

impl IngoingBoth {
    pub fn of(goes_in: &GoesIn) -> Self {
        let figure = |substance, stated| goes_in.figure(substance, stated, Base::ByMethod);
        Self {
            nitrite: figure(Substance::Nitrite, StatedAs::SodiumNitrite),
            nitrate: figure(Substance::Nitrate, StatedAs::SodiumNitrate),
            way: goes_in.way(),
        }
    }
}

/// A line as it goes in: what the lot's pack states of it, and what the recipe says is in it besides.
pub fn put(line: &RecipeLine, weight: Decimal, lot: Option<Brings>) -> Put {
    let accelerator = line.accelerator.map(|one| (one.what, one.share));
    Put { weight, brings: Brings { accelerator, ..lot.unwrap_or(Brings::NOTHING) } }
}

/// Everything that a recipe's lines put into so much meat. Weights in any one unit, by place in the recipe; what is meat, or
/// counted and not weighed, is left out. `lot` is what the lot of a line states.
///
/// # Errors
/// No meat, strengths above 100 %, a pump outside 0 to 100 %.
pub fn goes_in(
    curing: Curing,
    lines: &[RecipeLine],
    weights: &[Decimal],
    meat: Decimal,
    lot: impl Fn(usize) -> Option<Brings>,
) -> Result<GoesIn, BadFigure> {
    let put_in = lines.iter().zip(weights).enumerate();
    let puts: Vec<Put> = put_in
        .filter(|(_, (line, _))| !line.role.is_meat() && line.role != Role::Casing)
        .map(|(place, (line, weight))| put(line, *weight, lot(place)))
        .collect();
    GoesIn::new(curing, meat, &puts, None)
}

/// Water in meat that nobody has measured, per cent: common practice for lean pork with some fat. Said wherever it is used.
pub const ASSUMED_MOISTURE: i64 = 65;

/// Salt in the water phase, per cent, of the meat and what it takes up: an estimate. `salt` and `water` go in with a
/// hundred parts of meat, which holds `moisture`.
pub fn in_the_water(salt: Decimal, water: Decimal, moisture: Percent) -> Option<Percent> {
    water_phase_salt(salt, water + moisture.decimal()).ok().map(Percent::new)
}

/// How much of a line is salt, per cent of its own weight: all of plain salt; of a cure what its pack says, or else all
/// that is not nitrite or nitrate, which leaves a carrier out of account.
pub fn salt_in(line: &RecipeLine, strength: Option<Brings>) -> Percent {
    match (line.role, line.salt) {
        (_, Some(stated)) => stated,
        (Role::Salt, None) => Percent::HUNDRED,
        (Role::Cure, None) => {
            strength.map_or(Percent::ZERO, |strength| Percent::HUNDRED - strength.nitrite - strength.nitrate)
        }
        _ => Percent::ZERO,
    }
}

/// How much of a line is sugar, per cent of its own weight.
pub fn sugar_in(line: &RecipeLine) -> Percent {
    match (line.role, line.sugar) {
        (_, Some(stated)) => stated,
        (Role::Sugar, None) => Percent::HUNDRED,
        _ => Percent::ZERO,
    }
}

/// Per cent of the meat, of lines whose weights (or parts) are `weights`, each counting by its own share.
pub fn of_meat(weights: &[Decimal], shares: &[Percent], meat: Decimal) -> Percent {
    if meat.is_zero() {
        return Percent::ZERO;
    }
    let sum: Decimal = weights.iter().zip(shares).map(|(weight, share)| *weight * share.fraction()).sum();
    Percent::new(sum * Decimal::ONE_HUNDRED / meat)
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;
    use crate::ids::{ItemId, Named};
    use crate::recipes::{Per, Proportions, RecipeKind};

    fn line(role: Role, percent: Decimal, per: Per) -> RecipeLine {
        RecipeLine {
            role,
            item: Named::new(ItemId(uuid::Uuid::from_u128(1)), role.word()),
            percent: Percent::new(percent),
            per,
            tolerance: Percent::ZERO,
            salt: None,
            sugar: None,
            accelerator: None,
        }
    }

    fn strength(nitrite: Decimal) -> Brings {
        Brings { nitrite: Percent::new(nitrite), ..Brings::NOTHING }
    }

    /// The ppm of a recipe before anything is weighed: its parts to a hundred parts of meat.
    fn ppm(kind: RecipeKind, lines: &[RecipeLine], brine: Option<Percent>, nitrite: Decimal) -> Decimal {
        let proportions = Proportions::new(kind, lines, brine).expect("a recipe");
        let parts = proportions.parts(lines.len());
        let lot = |place: usize| (lines[place].role == Role::Cure).then(|| strength(nitrite));
        let goes_in = goes_in(Curing::plain(kind.way()), lines, &parts, dec!(100), lot).expect("figures");
        IngoingBoth::of(&goes_in).nitrite.exact().normalize()
    }

    #[test]
    fn thirty_grams_a_kilo_of_a_weak_curing_salt_are_180_ppm() {
        // Arithmetic on the forms of USDA FSIS Directive 7620.3: 30 g/kg of a 0.6 % nitrite curing salt.
        let lines = [line(Role::Cure, dec!(3), Per::Meat)];
        assert_eq!(ppm(RecipeKind::DryCureEquilibrium, &lines, None, dec!(0.6)), dec!(180));
    }

    #[test]
    fn a_strong_cure_at_seven_point_eight_grams_a_kilo_is_487_and_a_half() {
        // Arithmetic on the forms of USDA FSIS Directive 7620.3: 7.8 g/kg of a 6.25 % cure, dry.
        let lines = [line(Role::Cure, dec!(0.78), Per::Meat)];
        assert_eq!(ppm(RecipeKind::DryCureEquilibrium, &lines, None, dec!(6.25)), dec!(487.5));
    }

    #[test]
    fn four_ounces_to_a_hundred_pounds_are_156_and_a_quarter_whatever_else_is_in_the_mix() {
        // 9 CFR 424.21(c), 1/4 oz of nitrite to 100 lb; 4 oz of a 6.25 % cure. Water and spice are not in the base.
        let lines = [
            line(Role::Meat, dec!(70), Per::Meat),
            line(Role::Fat, dec!(30), Per::Meat),
            line(Role::Cure, dec!(0.25), Per::Meat),
            line(Role::Water, dec!(5), Per::Meat),
            line(Role::Spice, dec!(1), Per::Meat),
        ];
        assert_eq!(ppm(RecipeKind::GroundFermented, &lines, None, dec!(6.25)), dec!(156.25));
    }

    #[test]
    fn a_brine_is_reckoned_on_meat_and_pickle_together() {
        // Arithmetic on method two of USDA FSIS Directive 7620.3: 3.2 % of a 6.25 % cure in a pickle of half the meat.
        let lines = [
            line(Role::Water, dec!(90.8), Per::Brine),
            line(Role::Salt, dec!(6), Per::Brine),
            line(Role::Cure, dec!(3.2), Per::Brine),
        ];
        let exact = ppm(RecipeKind::Brine, &lines, Some(Percent::new(dec!(50))), dec!(6.25));
        assert_eq!(exact.round_dp(1), dec!(666.7));
    }

    #[test]
    fn the_salt_in_a_cure_counts() {
        let lines = [line(Role::Salt, dec!(2.5), Per::Meat), line(Role::Cure, dec!(0.25), Per::Meat)];
        let shares: Vec<_> = lines.iter().map(|line| salt_in(line, Some(strength(dec!(6.25))))).collect();
        // 0.25 × 93.75 % and 2.5.
        assert_eq!(of_meat(&[dec!(2.5), dec!(0.25)], &shares, dec!(100)), Percent::new(dec!(2.7344)));
        let stated = RecipeLine { salt: Some(Percent::new(dec!(88))), ..lines[1].clone() };
        assert_eq!(salt_in(&stated, Some(strength(dec!(6.25)))), Percent::new(dec!(88)));
    }

    #[test]
    fn the_sugar_in_a_mix_counts() {
        let mix = RecipeLine { sugar: Some(Percent::new(dec!(40))), ..line(Role::Spice, dec!(1), Per::Meat) };
        assert_eq!(of_meat(&[dec!(1)], &[sugar_in(&mix)], dec!(100)), Percent::new(dec!(0.4)));
    }
}
