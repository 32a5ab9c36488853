//! Moisture to protein: what a dry or semi-dry sausage may be called. A naming check, and no evidence of safety.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::{Percent, Ph};

/// A name with the most moisture that it allows to one part of protein. From memory of United States labelling policy, to be
/// confirmed; the regulator decides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Name {
    DrySausage,
    /// With a pH of 5.0 or less.
    SemiDrySausage,
    Genoa,
    Pepperoni,
}

impl Name {
    pub const ALL: [Self; 4] = [Self::DrySausage, Self::SemiDrySausage, Self::Genoa, Self::Pepperoni];

    pub const fn words(self) -> &'static str {
        match self {
            Self::DrySausage => "dry sausage",
            Self::SemiDrySausage => "semi-dry sausage",
            Self::Genoa => "Genoa salami type",
            Self::Pepperoni => "pepperoni type",
        }
    }

    /// The most parts of moisture to one of protein.
    pub const fn most(self) -> Decimal {
        match self {
            Self::DrySausage => Decimal::from_parts(19, 0, 0, false, 1),
            Self::SemiDrySausage => Decimal::from_parts(31, 0, 0, false, 1),
            Self::Genoa => Decimal::from_parts(23, 0, 0, false, 1),
            Self::Pepperoni => Decimal::from_parts(16, 0, 0, false, 1),
        }
    }

    /// The highest pH that it allows, where it names one.
    const fn ph(self) -> Option<Decimal> {
        match self {
            Self::SemiDrySausage => Some(Decimal::from_parts(50, 0, 0, false, 1)),
            _ => None,
        }
    }

    /// Whether analysis lets it be called so; `None` where the name asks for a pH that was not measured. Moisture 0 to 100 %,
    /// protein above 0 to 100 %. Compared unrounded: just at the limit is met. Error: outside that.
    pub fn fits(
        self,
        moisture: Percent,
        protein: Percent,
        ph: Option<Ph>,
    ) -> Result<Option<bool>, BadFigure> {
        ratio(moisture, protein)?;
        let moist = moisture.decimal() <= self.most() * protein.decimal();
        Ok(match (moist, self.ph(), ph) {
            (false, ..) => Some(false),
            (true, None, _) => Some(true),
            (true, Some(_), None) => None,
            (true, Some(most), Some(measured)) => Some(measured.decimal() <= most),
        })
    }
}

/// Parts of moisture to one of protein, unrounded. Moisture 0 to 100 %, protein above 0 to 100 %. Error: outside that.
/// Source: moisture ÷ protein, common practice.
pub fn ratio(moisture: Percent, protein: Percent) -> Result<Decimal, BadFigure> {
    let moisture = figure::share(moisture, "moisture")?;
    Ok(moisture / figure::above_zero(figure::share(protein, "protein")?, "protein")?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::parse_ph;
    use crate::standards::figure::{dec, printed};

    fn percent(text: &str) -> Percent {
        Percent::new(dec(text))
    }

    #[test]
    fn a_name_is_met_at_its_limit_and_not_a_step_past_it() {
        let protein = percent("20");
        for (name, most) in [(Name::DrySausage, "38"), (Name::Genoa, "46"), (Name::Pepperoni, "32")] {
            assert_eq!(name.fits(percent(most), protein, None), Ok(Some(true)), "{name:?}");
            let past = Percent::new(dec(most) + dec("0.0001"));
            assert_eq!(name.fits(past, protein, None), Ok(Some(false)), "{name:?}");
        }
        assert_eq!(printed(ratio(percent("38"), protein).expect("protein"), 2), "1.90");
    }

    #[test]
    fn semi_dry_asks_for_its_ph_too() {
        let fits = |ph: Option<&str>| {
            let ph = ph.map(|text| parse_ph(text).expect("a pH"));
            Name::SemiDrySausage.fits(percent("62"), percent("20"), ph).expect("protein")
        };
        assert_eq!((fits(Some("5.0")), fits(Some("5.01")), fits(None)), (Some(true), Some(false), None));
        assert_eq!(Name::SemiDrySausage.fits(percent("63"), percent("20"), None), Ok(Some(false)));
    }

    #[test]
    fn no_protein_makes_no_ratio() {
        assert!(ratio(percent("50"), Percent::ZERO).is_err());
        assert!(ratio(percent("101"), percent("20")).is_err());
    }
}
