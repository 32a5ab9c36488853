//! Salt in the water phase, and what salt alone says of water activity: an upper bound, which never replaces a meter.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::Percent;

/// The published list: grams of salt to 100 g of **water**, and the water activity of that solution at 25 °C. Chirife and del
/// Pilar Buera 1996. Beyond its end nothing is read from it.
pub const LIST: [(Decimal, Decimal); 7] = [
    (Decimal::from_parts(35, 0, 0, false, 1), Decimal::from_parts(98, 0, 0, false, 2)),
    (Decimal::from_parts(7, 0, 0, false, 0), Decimal::from_parts(96, 0, 0, false, 2)),
    (Decimal::from_parts(10, 0, 0, false, 0), Decimal::from_parts(94, 0, 0, false, 2)),
    (Decimal::from_parts(13, 0, 0, false, 0), Decimal::from_parts(92, 0, 0, false, 2)),
    (Decimal::from_parts(16, 0, 0, false, 0), Decimal::from_parts(90, 0, 0, false, 2)),
    (Decimal::from_parts(194, 0, 0, false, 1), Decimal::from_parts(88, 0, 0, false, 2)),
    (Decimal::from_parts(22, 0, 0, false, 0), Decimal::from_parts(86, 0, 0, false, 2)),
];

/// Water activity of a saturated solution of salt at 25 °C, the lowest that salt alone reaches: 0.753 (published, 0.753 to
/// 0.755).
pub const SATURATED: Decimal = Decimal::from_parts(753, 0, 0, false, 3);

/// Molar mass of sodium chloride, g/mol, from standard atomic weights.
const SODIUM_CHLORIDE: Decimal = Decimal::from_parts(58_443, 0, 0, false, 3);

/// Salt and water of a product, per cent of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SaltAndWater {
    salt: Decimal,
    water: Decimal,
}

impl SaltAndWater {
    /// Salt 0 % or more, water above 0 %, together at most 100 %. Error: outside that.
    pub fn new(salt: Percent, water: Percent) -> Result<Self, BadFigure> {
        let salt = figure::not_negative(salt.decimal(), "salt")?;
        let water = figure::above_zero(water.decimal(), "moisture")?;
        if salt + water > Decimal::ONE_HUNDRED {
            return Err(BadFigure::OverHundred { what: "salt and moisture together" });
        }
        Ok(Self { salt, water })
    }

    /// What it is after drying by a share of its weight: water goes, salt stays. Loss 0 to 100 %, less than all the water.
    /// Error: outside that. Source: arithmetic.
    pub fn dried(self, loss: Percent) -> Result<Self, BadFigure> {
        let loss = figure::share(loss, "loss")? * Decimal::ONE_HUNDRED;
        if loss >= self.water {
            return Err(BadFigure::PartOverWhole { part: "water that was lost", whole: "water in it" });
        }
        let left = Decimal::ONE_HUNDRED - loss;
        Ok(Self {
            salt: self.salt * Decimal::ONE_HUNDRED / left,
            water: (self.water - loss) * Decimal::ONE_HUNDRED / left,
        })
    }

    /// Salt, per cent of the product, unrounded.
    pub const fn salt(self) -> Decimal {
        self.salt
    }

    /// Water, per cent of the product, unrounded.
    pub const fn water(self) -> Decimal {
        self.water
    }

    /// Salt in the water phase, per cent, unrounded: salt × 100 ÷ (moisture + salt). Source: Ontario fish processing
    /// guidelines, F.B.14.14.
    pub fn water_phase_salt(self) -> Decimal {
        share(self.salt, self.water)
    }

    /// Grams of salt to 100 g of water, unrounded. Source: arithmetic.
    pub fn to_hundred_of_water(self) -> Decimal {
        self.salt * Decimal::ONE_HUNDRED / self.water
    }

    /// What water activity is at most, by salt alone: the list's row at or below the salt that there is. `None` under the first.
    /// Other things dissolved, and drying, make it lower. Source: Chirife and del Pilar Buera 1996.
    pub fn at_most(self) -> Option<Decimal> {
        let salt = self.to_hundred_of_water();
        LIST.iter().rev().find(|(grams, _)| *grams <= salt).map(|(_, activity)| *activity)
    }
}

/// Salt in the water phase, per cent, unrounded, of weights in any one unit: salt × 100 ÷ (water + salt). Both zero or more,
/// together above zero. Error: outside that. Source: Ontario fish processing guidelines, F.B.14.14.
pub fn water_phase_salt(salt: Decimal, water: Decimal) -> Result<Decimal, BadFigure> {
    let (salt, water) = (figure::not_negative(salt, "salt")?, figure::not_negative(water, "water")?);
    figure::above_zero(salt + water, "water and salt")?;
    Ok(share(salt, water))
}

fn share(salt: Decimal, water: Decimal) -> Decimal {
    salt * Decimal::ONE_HUNDRED / (water + salt)
}

/// Grams of salt to 100 g of water, of moles of it to a kilogram of water, unrounded. Source: molar mass.
pub fn of_molality(moles: Decimal) -> Decimal {
    moles * SODIUM_CHLORIDE / Decimal::TEN
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::standards::figure::{dec, printed};

    fn of(salt: &str, water: &str) -> SaltAndWater {
        SaltAndWater::new(Percent::new(dec(salt)), Percent::new(dec(water))).expect("salt and water")
    }

    #[test]
    fn salt_is_counted_on_the_water_phase() {
        assert_eq!(water_phase_salt(dec("3"), dec("65")), Ok(of("3", "65").water_phase_salt()));
        assert!(water_phase_salt(Decimal::ZERO, Decimal::ZERO).is_err());
        assert_eq!(printed(of("3", "65").water_phase_salt(), 2), "4.41");
        let dried = of("2.8", "60").dried(Percent::new(dec("35"))).expect("less than all the water");
        assert_eq!((printed(dried.salt(), 2), printed(dried.water(), 2)), ("4.31".into(), "38.46".into()));
        assert_eq!(printed(dried.water_phase_salt(), 2), "10.07");
    }

    #[test]
    fn the_list_gives_an_upper_bound_row_by_row() {
        for (grams, activity) in LIST {
            let at = SaltAndWater { salt: grams, water: Decimal::ONE_HUNDRED };
            assert_eq!(at.at_most(), Some(activity));
            let below = SaltAndWater { salt: grams - dec("0.0001"), water: Decimal::ONE_HUNDRED };
            assert!(below.at_most().is_none_or(|bound| bound > activity));
        }
        assert_eq!(of("20", "50").at_most(), Some(dec("0.86")), "past the end the last row stands");
        assert!(LIST.iter().all(|(_, activity)| *activity > SATURATED));
        assert_eq!(printed(of_molality(dec("6")), 2), "35.07");
    }

    #[test]
    fn what_is_no_product_is_refused() {
        let new =
            |salt: &str, water: &str| SaltAndWater::new(Percent::new(dec(salt)), Percent::new(dec(water)));
        assert!(new("-1", "60").is_err());
        assert!(new("1", "0").is_err());
        assert!(new("41", "60").is_err());
        assert!(new("40", "60").is_ok());
        assert!(of("2.8", "60").dried(Percent::new(dec("60"))).is_err());
        assert!(of("2.8", "60").dried(Percent::new(dec("-1"))).is_err());
    }

    proptest! {
        #[test]
        fn drying_keeps_all_the_salt(salt in 1_i64..1_000, water in 4_000_i64..8_000, loss in 0_i64..3_900) {
            let percent = |hundredths| Percent::new(Decimal::new(hundredths, 2));
            let raw = SaltAndWater::new(percent(salt), percent(water)).unwrap();
            let dried = raw.dried(percent(loss)).unwrap();
            let left = Decimal::ONE_HUNDRED - percent(loss).decimal();
            prop_assert!((dried.salt() * left / Decimal::ONE_HUNDRED - raw.salt()).abs() < dec("0.0000001"));
            prop_assert!(dried.water_phase_salt() >= raw.water_phase_salt());
        }
    }
}
