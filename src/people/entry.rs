//! What the book says of the shop and its people.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::ids::PersonId;
use crate::measure::{Currency, Grams, Initials, ShopZone, UnitSystem};
use crate::rights::Role;

/// The first line of every book: the shop. `shop.founded`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ShopFounded {
    pub name: String,
    pub address: String,
    /// Establishment or approval number; empty where the shop has none.
    pub number: String,
    pub system: UnitSystem,
    pub zone: ShopZone,
    pub currency: Currency,
    /// What the scale for cures and spices shows, in grams.
    pub small_division: Grams,
    /// What the scale for meat shows, in grams.
    pub large_division: Grams,
}

impl Entry for ShopFounded {
    const KIND: &'static str = "shop.founded";

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("{} opened this book", self.name)).why(self.address.replace('\n', ", "))
    }
}

/// Somebody who may sign from now on. `person.added`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PersonAdded {
    pub person: PersonId,
    pub name: String,
    /// What is typed to sign in, in lower case.
    pub sign_in: String,
    pub initials: Initials,
    pub roles: Vec<Role>,
}

impl Entry for PersonAdded {
    const KIND: &'static str = "person.added";

    fn effects(&self) -> Effects {
        Effects::none().opens(self.person).signs(self.person, &self.name, self.initials.to_string())
    }

    fn line(&self, _say: &Say) -> Line {
        let roles: Vec<&str> = self.roles.iter().map(|role| role.word()).collect();
        Line::new(format!("{} signs here as {}", self.name, self.initials)).why(roles.join(", "))
    }
}

/// A book has one shop.
pub fn found(shop: ShopFounded, founded: bool) -> Result<ShopFounded, Refusal> {
    if founded {
        return Err(Refusal::of("This book has its shop already. Sign in instead."));
    }
    Ok(shop)
}

/// Everyone has a role, or could not so much as read.
pub fn add(person: PersonAdded) -> Result<PersonAdded, Refusal> {
    if person.roles.is_empty() {
        return Err(Refusal::at("roles", "Give at least one role."));
    }
    Ok(person)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shop() -> ShopFounded {
        ShopFounded {
            name: "A shop".into(),
            address: "1 Lane".into(),
            number: String::new(),
            system: UnitSystem::Metric,
            zone: ShopZone::parse("Europe/London").expect("a zone"),
            currency: Currency::parse("GBP").expect("a currency"),
            small_division: Grams::new(rust_decimal::dec!(0.1)),
            large_division: Grams::whole(5),
        }
    }

    #[test]
    fn a_book_is_opened_once() {
        assert!(found(shop(), false).is_ok());
        assert!(found(shop(), true).is_err());
    }

    #[test]
    fn nobody_signs_without_a_role() {
        let person = PersonAdded {
            person: PersonId(uuid::Uuid::from_u128(1)),
            name: "Ada Okoro".into(),
            sign_in: "ada".into(),
            initials: Initials::of_name("Ada Okoro").expect("initials"),
            roles: vec![],
        };
        assert_eq!(add(person).expect_err("refused").field, "roles");
    }
}
