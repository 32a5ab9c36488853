//! The shop itself: the first line of every book, and what it says of itself later.

use serde::{Deserialize, Serialize};

use crate::book::{Entry, Line, Say};
use crate::error::Refusal;
use crate::measure::{Currency, Grams, ShopZone, UnitSystem};

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

/// All that the shop says of itself, said anew. `shop.changed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct ShopChanged(pub ShopFounded);

impl Entry for ShopChanged {
    const KIND: &'static str = "shop.changed";

    fn line(&self, _say: &Say) -> Line {
        let shop = &self.0;
        let mut said = vec![shop.address.replace('\n', ", "), shop.number.clone(), shop.zone.to_string()];
        said.retain(|text| !text.is_empty());
        Line::new(format!("{} says of itself", shop.name)).why(said.join("; "))
    }
}

/// A book has one shop.
pub fn found(shop: ShopFounded, founded: bool) -> Result<ShopFounded, Refusal> {
    if founded {
        return Err(Refusal::of("This book has its shop already. Sign in instead."));
    }
    Ok(shop)
}

/// The currency stays once there is money in the book: the sums that stand there are in it.
pub fn change_shop(shop: ShopChanged, now: Currency, money: bool) -> Result<ShopChanged, Refusal> {
    if money && shop.0.currency != now {
        let say = format!("There are prices in the book, and they are in {now}. The currency stays.");
        return Err(Refusal::at("currency", say));
    }
    Ok(shop)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shop(currency: &str) -> ShopFounded {
        ShopFounded {
            name: "A shop".into(),
            address: "1 Lane".into(),
            number: String::new(),
            system: UnitSystem::Metric,
            zone: ShopZone::parse("Europe/London").expect("a zone"),
            currency: Currency::parse(currency).expect("a currency"),
            small_division: Grams::new(rust_decimal::dec!(0.1)),
            large_division: Grams::whole(5),
        }
    }

    #[test]
    fn a_book_is_opened_once() {
        assert!(found(shop("GBP"), false).is_ok());
        assert!(found(shop("GBP"), true).is_err());
    }

    #[test]
    fn the_currency_stays_once_there_is_money_in_the_book() {
        let pounds = Currency::parse("GBP").expect("a currency");
        let changed = |currency| ShopChanged(shop(currency));
        assert_eq!(change_shop(changed("USD"), pounds, true).expect_err("refused").field, "currency");
        assert!(change_shop(changed("GBP"), pounds, true).is_ok());
        assert!(change_shop(changed("USD"), pounds, false).is_ok());
    }

    #[test]
    fn what_the_shop_says_anew_has_the_body_of_what_it_said_first() {
        let first = serde_json::to_string(&shop("GBP")).expect("written");
        assert_eq!(serde_json::to_string(&ShopChanged(shop("GBP"))).expect("written"), first);
    }
}
