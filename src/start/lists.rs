//! The lists that come with the program: things and places, from `seed/`, and the cut lists of the block. What is shipped
//! becomes entries of the shop's own book, and the shop's own to change.

use serde::Deserialize;

use crate::block;
use crate::book::{Form, Pen};
use crate::error::{Refusal, Result};
use crate::ids::{ItemId, Named, PlaceId};
use crate::setup::entry::{self, ItemWritten, PlaceKind, PlaceStands, PlaceWritten};

const ITEMS: &str = include_str!("../../seed/items.json");
const PLACES: &str = include_str!("../../seed/places.json");

/// A thing as it is shipped.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShippedItem {
    pub name: String,
    pub form: Form,
    #[serde(default)]
    pub species: String,
    /// In a published specification of cuts: IMPS of the USDA, or UNECE porcine.
    #[serde(default)]
    pub number: String,
    #[serde(default)]
    pub label_name: String,
    #[serde(default)]
    pub allergens: Vec<String>,
    #[serde(default)]
    pub by_product: bool,
}

/// A place as it is shipped.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShippedPlace {
    pub name: String,
    pub kind: PlaceKind,
    /// The name of one that stands before it in the list.
    #[serde(default)]
    pub within: Option<String>,
    #[serde(default)]
    pub read_every: Option<u16>,
}

/// The things that are shipped.
pub fn shipped_items() -> Result<Vec<ShippedItem>> {
    Ok(serde_json::from_str(ITEMS).map_err(|why| anyhow::anyhow!("seed/items.json: {why}"))?)
}

/// The places that are shipped.
pub fn shipped_places() -> Result<Vec<ShippedPlace>> {
    Ok(serde_json::from_str(PLACES).map_err(|why| anyhow::anyhow!("seed/places.json: {why}"))?)
}

/// Writes the usual lists into an empty shop, each line an entry under the pen's own form.
pub async fn ship(pen: &mut Pen) -> Result<()> {
    ship_places(pen).await?;
    let items = ship_items(pen).await?;
    block::ship(pen, &items).await
}

async fn ship_items(pen: &mut Pen) -> Result<Vec<Named<ItemId>>> {
    let mut written = vec![];
    for item in shipped_items()? {
        let id = ItemId::made_by(pen.next().id);
        written.push(Named::new(id, item.name.clone()));
        let item = ItemWritten {
            item: id,
            name: item.name,
            form: item.form,
            species: item.species,
            label_name: item.label_name,
            number: item.number,
            allergens: item.allergens,
            sales_price: None,
            by_product: item.by_product,
            retired: false,
        };
        pen.append(entry::write_item(item, None)?).await?;
    }
    Ok(written)
}

async fn ship_places(pen: &mut Pen) -> Result<()> {
    let mut written: Vec<(String, PlaceId)> = vec![];
    for place in shipped_places()? {
        let within = match &place.within {
            Some(name) => {
                Some(written.iter().find(|(known, _)| known == name).map(|(_, id)| *id).ok_or_else(|| {
                    Refusal::of(format!("{} is in {name}, which is not in the list before it.", place.name))
                })?)
            }
            None => None,
        };
        let id = PlaceId::made_by(pen.next().id);
        written.push((place.name.clone(), id));
        let place = PlaceWritten {
            place: id,
            name: place.name,
            kind: place.kind,
            within,
            read_every: place.read_every,
            note: String::new(),
            retired: false,
        };
        pen.append(entry::write_place(place, &PlaceStands::default())?).await?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::standards::allergens::Allergen;

    #[test]
    fn every_shipped_thing_is_named_once_and_says_what_it_is() {
        let items = shipped_items().expect("read");
        let names: BTreeSet<String> = items.iter().map(|item| item.name.to_lowercase()).collect();
        assert_eq!(names.len(), items.len());
        for item in &items {
            let made = matches!(item.form, Form::Mix | Form::Piece | Form::Pack);
            assert!(!item.form.is_meat() || made || !item.species.is_empty(), "{}", item.name);
            assert!(item.name.chars().count() <= 120);
            for word in &item.allergens {
                assert!(Allergen::find(word).is_some(), "{}: {word}", item.name);
            }
        }
    }

    #[test]
    fn the_forms_that_a_shop_begins_with_are_all_there() {
        let items = shipped_items().expect("read");
        for form in [
            Form::Carcass,
            Form::Side,
            Form::Primal,
            Form::Cut,
            Form::Trim,
            Form::Bone,
            Form::Fat,
            Form::Offal,
            Form::Ingredient,
            Form::Casing,
            Form::Piece,
            Form::Pack,
        ] {
            assert!(items.iter().any(|item| item.form == form), "{}", form.word());
        }
        for name in ["pig carcass", "pork back fat", "sea salt", "water", "cure, short (nitrite)"] {
            assert!(items.iter().any(|item| item.name == name), "{name}");
        }
    }

    #[test]
    fn numbers_beside_a_cut_are_those_of_the_published_specifications() {
        // USDA Institutional Meat Purchase Specifications, fresh pork (series 400), and the UNECE standard for porcine
        // meat, carcases and cuts.
        let known = [
            ("pig carcass", "IMPS 400"),
            ("pork leg", "IMPS 401"),
            ("pork shoulder", "IMPS 403"),
            ("pork picnic", "IMPS 405"),
            ("pork picnic, boneless", "IMPS 405A"),
            ("pork butt", "IMPS 406"),
            ("pork butt, boneless", "IMPS 406A"),
            ("pork belly, skinless", "IMPS 409"),
            ("pork loin", "IMPS 410"),
            ("pig side", "UNECE 4001"),
            ("pork belly", "UNECE 4079"),
            ("pork fore feet", "UNECE 4175"),
            ("pork collar", "UNECE 4240"),
            ("pork tenderloin", "UNECE 4280"),
            ("pork belly, boneless", "UNECE 4329"),
        ];
        for item in shipped_items().expect("read").iter().filter(|item| !item.number.is_empty()) {
            assert!(
                known.contains(&(item.name.as_str(), item.number.as_str())),
                "{} {}",
                item.name,
                item.number
            );
        }
    }

    #[test]
    fn a_shipped_place_is_in_one_that_stands_before_it() {
        let places = shipped_places().expect("read");
        for (n, place) in places.iter().enumerate() {
            if let Some(within) = &place.within {
                assert!(places[..n].iter().any(|before| &before.name == within), "{}", place.name);
            }
        }
        for kind in PlaceKind::ALL {
            assert!(places.iter().any(|place| place.kind == kind), "{}", kind.word());
        }
    }
}
