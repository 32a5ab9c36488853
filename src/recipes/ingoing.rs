//! Ingoing nitrite and nitrate of a recipe or a batch, and the salt and sugar that its cures and mixes bring. The figure
//! with its base, its formula and its source; no limit is held against it here.

use rust_decimal::Decimal;

use super::entry::RecipeLine;
use super::words::{RecipeKind, Role};
use crate::measure::Percent;
use crate::standards::BadFigure;
use crate::standards::curing::{self, Cure, Cured, Ingoing, Strength};

/// Both figures, by the method of the kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct IngoingBoth {
    pub nitrite: Ingoing,
    pub nitrate: Ingoing,
    pub method: &'static str,
}

/// Weights in any one unit: cures each with its lot's strength, the meat, and the brine with its dry ingredients (not
/// asked for elsewhere).
///
/// # Errors
/// No meat, a strength above 100 %, a cure that outweighs its brine.
pub fn ingoing(
    kind: RecipeKind,
    cures: &[(Decimal, Strength)],
    meat: Decimal,
    brine: Decimal,
) -> Result<IngoingBoth, BadFigure> {
    let cures = cures.iter().map(|(weight, strength)| Cure::new(*weight, *strength));
    let cures = cures.collect::<Result<Vec<_>, _>>()?;
    let way = match kind {
        RecipeKind::DryCureEquilibrium | RecipeKind::DryCureExcessSalt => Cured::Dry { green: meat },
        RecipeKind::GroundFermented | RecipeKind::GroundFresh => Cured::Comminuted { meat_block: meat },
        RecipeKind::Brine => Cured::Equilibrium { green: meat, pickle: brine },
    };
    Ok(IngoingBoth {
        nitrite: curing::nitrite(&cures, way)?,
        nitrate: curing::nitrate(&cures, way)?,
        method: way.method().words(),
    })
}

/// How much of a line is salt, per cent of its own weight: all of plain salt; of a cure what its pack says, or else all
/// that is not nitrite or nitrate, which leaves a carrier out of account.
pub fn salt_in(line: &RecipeLine, strength: Option<Strength>) -> Percent {
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
    use crate::recipes::{Per, Proportions};

    fn line(role: Role, percent: Decimal, per: Per) -> RecipeLine {
        RecipeLine {
            role,
            item: Named::new(ItemId(uuid::Uuid::from_u128(1)), role.word()),
            percent: Percent::new(percent),
            per,
            tolerance: Percent::ZERO,
            salt: None,
            sugar: None,
        }
    }

    fn strength(nitrite: Decimal) -> Strength {
        Strength { nitrite: Percent::new(nitrite), nitrate: Percent::ZERO }
    }

    /// The ppm of a recipe before anything is weighed: its parts to a hundred parts of meat.
    fn ppm(kind: RecipeKind, lines: &[RecipeLine], brine: Option<Percent>, nitrite: Decimal) -> Decimal {
        let proportions = Proportions::new(kind, lines, brine).expect("a recipe");
        let parts = proportions.parts(lines.len());
        let cures: Vec<_> = lines
            .iter()
            .zip(parts)
            .filter(|(line, _)| line.role == Role::Cure)
            .map(|(_, part)| (part, strength(nitrite)))
            .collect();
        let both = ingoing(kind, &cures, dec!(100), proportions.brine()).expect("figures");
        both.nitrite.exact
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
