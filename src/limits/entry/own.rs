//! The shop's own limits: a stricter one, one that the regulator gave, or, by the owner alone, a looser one.

use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use time::Date;

use super::shipped::band;
use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::ids::CuringLimitId;
use crate::measure::{Ppm, maybe_date};
use crate::standards::curing::{NitrateAs, NitriteAs};
use crate::standards::limits::{Base, Limit, Mark, Measured, Product, StatedAs, Substance, Way};

/// A limit of the shop's own, new or changed. `curing-limit.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CuringLimitWritten {
    pub limit: CuringLimitId,
    pub name: String,
    pub substance: Substance,
    /// The method that it holds for; all where it is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub way: Option<Way>,
    /// The product that it holds for; all where it is none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product: Option<Product>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least: Option<Ppm>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most: Option<Ppm>,
    pub base: Base,
    pub stated: StatedAs,
    pub reason: String,
    /// The document that it rests on; a looser one cannot be without.
    #[serde(default)]
    pub document: String,
    #[serde(default, with = "maybe_date", skip_serializing_if = "Option::is_none")]
    pub from: Option<Date>,
    /// The last day.
    #[serde(default, with = "maybe_date", skip_serializing_if = "Option::is_none")]
    pub until: Option<Date>,
    /// The adopted rows that it is looser than, and so stands instead of.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub instead_of: Vec<String>,
    #[serde(default)]
    pub retired: bool,
}

impl CuringLimitWritten {
    /// As it is held against a figure.
    pub fn as_limit(&self) -> Limit {
        Limit {
            key: self.limit.to_string(),
            name: self.name.clone(),
            substance: self.substance,
            measured: Measured::Ingoing,
            ways: self.way.into_iter().collect(),
            products: self.product.into_iter().collect(),
            not_for: Vec::new(),
            not_for_in: Vec::new(),
            least: self.least,
            most: self.most,
            required: None,
            base: self.base,
            stated: self.stated,
            said: String::new(),
            citation: if self.document.is_empty() { "the shop's own".into() } else { self.document.clone() },
            mark: Mark::Read,
            may_adopt: false,
            from: self.from,
            until: self.until,
            note: self.reason.clone(),
        }
    }
}

impl Entry for CuringLimitWritten {
    const KIND: &'static str = "curing-limit.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.limit)
    }

    fn line(&self, _say: &Say) -> Line {
        let retired = if self.retired { ", laid aside" } else { "" };
        let document = if self.document.is_empty() { String::new() } else { format!("; {}", self.document) };
        let line = Line::new(format!("The shop's own limit {}{retired}", self.name))
            .why(format!("{}{document}", self.reason))
            .figure(band(&self.as_limit()));
        if self.instead_of.is_empty() || self.retired {
            line
        } else {
            line.alarm("looser than the adopted limits")
        }
    }
}

/// A limit has its ends the right way round and is stated in its own substance. Where it is looser than what is in force
/// (`adopted`), only the owner writes it, with the document that it rests on, and it names what it stands instead of.
pub fn write_own(
    mut own: CuringLimitWritten,
    adopted: &[Limit],
    owner: bool,
) -> Result<CuringLimitWritten, Refusal> {
    match (own.least, own.most) {
        (None, None) => return Err(Refusal::at("most", "Give the least, the most, or both.")),
        (Some(least), Some(most)) if least > most => {
            return Err(Refusal::at("most", "The most is below the least."));
        }
        _ => {}
    }
    if own.until.zip(own.from).is_some_and(|(until, from)| until < from) {
        return Err(Refusal::at("until", "It ends before it begins."));
    }
    if !is_of(own.substance, own.stated) {
        let message = format!("A limit on {} is not stated as {}.", own.substance.word(), own.stated.word());
        return Err(Refusal::at("stated", message));
    }
    if own.reason.is_empty() {
        return Err(Refusal::at("reason", "Say why the shop sets it."));
    }
    own.instead_of = if own.retired { Vec::new() } else { looser_than(&own, adopted) };
    if own.instead_of.is_empty() {
        return Ok(own);
    }
    if !owner {
        return Err(Refusal::at(
            "most",
            "This is looser than the limits in force. Only the owner may set it.",
        ));
    }
    if own.document.is_empty() {
        let message =
            "This is looser than the limits in force. Name the document in which the regulator allows it.";
        return Err(Refusal::at("document", message));
    }
    Ok(own)
}

fn is_of(substance: Substance, stated: StatedAs) -> bool {
    use StatedAs::{
        NitrateIon, NitriteIon, PotassiumNitrate, PotassiumNitrite, SodiumNitrate, SodiumNitrite,
    };
    match stated {
        StatedAs::Weighed => true,
        SodiumNitrite | PotassiumNitrite | NitriteIon => substance == Substance::Nitrite,
        SodiumNitrate | PotassiumNitrate | NitrateIon => substance == Substance::Nitrate,
    }
}

/// The keys of the rows in force that speak of the same thing and that it is looser than.
fn looser_than(own: &CuringLimitWritten, adopted: &[Limit]) -> Vec<String> {
    let looser = adopted.iter().filter(|row| {
        row.substance == own.substance
            && row.measured == Measured::Ingoing
            && meets(own, row)
            && looser(own, row)
    });
    looser.map(|row| row.key.clone()).collect()
}

/// Whether some product made some way falls under both.
fn meets(own: &CuringLimitWritten, row: &Limit) -> bool {
    let ways: Vec<Way> = own.way.map_or_else(|| Way::ALL.to_vec(), |way| vec![way]);
    let products: Vec<Product> = own.product.map_or_else(|| Product::ALL.to_vec(), |product| vec![product]);
    ways.iter()
        .any(|way| products.iter().any(|product| row.holds_for(*way, *product) && bases_meet(own, row, *way)))
}

fn bases_meet(own: &CuringLimitWritten, row: &Limit, way: Way) -> bool {
    let of = |base: Base| if base == Base::ByMethod { way.base() } else { base };
    of(own.base) == of(row.base)
}

/// Both figures times the molar mass of the other's salt, so that nothing is divided.
fn looser(own: &CuringLimitWritten, row: &Limit) -> bool {
    let (mine, theirs) = (mass(own.substance, own.stated), mass(row.substance, row.stated));
    let over = own.most.zip(row.most).is_some_and(|(a, b)| a.decimal() * theirs > b.decimal() * mine);
    let under = own.least.zip(row.least).is_some_and(|(a, b)| a.decimal() * theirs < b.decimal() * mine);
    over || under
}

/// Of what a figure is stated as; a salt as weighed is taken as the sodium salt.
fn mass(substance: Substance, stated: StatedAs) -> Decimal {
    match (substance, stated) {
        (_, StatedAs::PotassiumNitrite) => NitriteAs::Potassium.molar_mass(),
        (_, StatedAs::NitriteIon) => NitriteAs::Ion.molar_mass(),
        (_, StatedAs::PotassiumNitrate) => NitrateAs::Potassium.molar_mass(),
        (_, StatedAs::NitrateIon) => NitrateAs::Ion.molar_mass(),
        (Substance::Nitrite, _) => NitriteAs::Sodium.molar_mass(),
        (Substance::Nitrate, _) => NitrateAs::Sodium.molar_mass(),
        (Substance::Ascorbate | Substance::AscorbicAcid, _) => Decimal::ONE,
    }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;
    use crate::standards::limits::{Jurisdiction, shipped};

    fn adopted(of: Jurisdiction) -> Vec<Limit> {
        let rows = shipped(of).expect("a list that reads").limits;
        rows.into_iter().filter(|row| !row.waits()).collect()
    }

    fn own(most: Decimal, stated: StatedAs) -> CuringLimitWritten {
        CuringLimitWritten {
            limit: CuringLimitId(uuid::Uuid::from_u128(1)),
            name: "salami".into(),
            substance: Substance::Nitrite,
            way: Some(Way::Comminuted),
            product: None,
            least: None,
            most: Some(Ppm::new(most)),
            base: Base::MeatBlock,
            stated,
            reason: "our regulator wants it".into(),
            document: String::new(),
            from: None,
            until: None,
            instead_of: vec![],
            retired: false,
        }
    }

    #[test]
    fn a_stricter_limit_needs_only_its_reason() {
        let rows = adopted(Jurisdiction::UnitedStates);
        let written = write_own(own(dec!(120), StatedAs::SodiumNitrite), &rows, false).expect("stricter");
        assert!(written.instead_of.is_empty());
        let silent = CuringLimitWritten { reason: String::new(), ..own(dec!(120), StatedAs::Weighed) };
        assert_eq!(write_own(silent, &rows, true).expect_err("no reason").field, "reason");
    }

    #[test]
    fn exactly_as_strict_is_not_looser_and_a_ten_thousandth_more_is() {
        let rows = adopted(Jurisdiction::UnitedStates);
        assert!(write_own(own(dec!(156.25), StatedAs::Weighed), &rows, false).is_ok());
        assert!(write_own(own(dec!(156.2501), StatedAs::Weighed), &rows, false).is_err());
    }

    #[test]
    fn a_looser_limit_is_the_owners_with_a_document_and_names_what_it_stands_instead_of() {
        let rows = adopted(Jurisdiction::UnitedStates);
        let looser = || own(dec!(200), StatedAs::SodiumNitrite);
        assert_eq!(write_own(looser(), &rows, false).expect_err("not the owner").field, "most");
        assert_eq!(write_own(looser(), &rows, true).expect_err("no document").field, "document");
        let written = CuringLimitWritten { document: "letter of 3 Nov 2026".into(), ..looser() };
        let written = write_own(written, &rows, true).expect("the owner's");
        assert_eq!(written.instead_of, ["us-comminuted-nitrite"]);
        let say = Say { system: crate::measure::UnitSystem::Metric };
        assert_eq!(written.line(&say).alarm, Some("looser than the adopted limits"));
    }

    #[test]
    fn limits_are_compared_as_the_same_ion() {
        let mut rows = adopted(Jurisdiction::EuropeanUnion);
        rows.retain(|row| row.key == "eu-nitrite");
        // 119.97 ppm of NaNO2 are 79.995 of NO2; 120 are 80.015.
        assert!(write_own(own(dec!(119.97), StatedAs::SodiumNitrite), &rows, false).is_ok());
        assert!(write_own(own(dec!(120), StatedAs::SodiumNitrite), &rows, false).is_err());
    }

    #[test]
    fn a_limit_is_stated_in_its_own_substance_with_its_ends_the_right_way_round() {
        let wrong = own(dec!(100), StatedAs::NitrateIon);
        assert_eq!(write_own(wrong, &[], true).expect_err("nitrate").field, "stated");
        let crossed =
            CuringLimitWritten { least: Some(Ppm::new(dec!(101))), ..own(dec!(100), StatedAs::Weighed) };
        assert_eq!(write_own(crossed, &[], true).expect_err("crossed").field, "most");
    }
}
