//! Batches, from the meat to the released piece, through the router and a real database.

mod making;
mod pages;
mod stages;

use flitchbook::book::Form;
use flitchbook::ids::LotId;
use flitchbook::measure::Grams;

use crate::shop::{Cast, Larder, Page, Shop, Things, goes_to};

/// Two loins of 3,600 g together, and a batch begun for them.
pub struct Loins {
    pub shop: Shop,
    pub things: Things,
    pub larder: Larder,
    pub loin: LotId,
    pub path: String,
}

pub async fn loins() -> Loins {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let recipe = shop.loin_recipe(&larder).await;
    let loin = shop.lot(&things, &things.loin, Form::Cut, Grams::whole(3_600), None).await.lot;
    let begun = shop
        .post(
            Cast::Curer,
            "/batches/new",
            &[
                ("recipe", &format!("{}/1", recipe.recipe)),
                ("meat", "3.6"),
                ("meat_unit", "kg"),
                ("place", &larder.fridge.id.to_string()),
            ],
        )
        .await;
    let path = goes_to(&begun);
    Loins { shop, things, larder, loin, path }
}

impl Loins {
    pub async fn page(&self) -> Page {
        self.shop.get(Cast::Curer, &self.path).await
    }

    pub async fn post(&self, noun: &str, fields: &[(&str, &str)]) -> Page {
        self.shop.post(Cast::Curer, &format!("{}/{noun}", self.path), fields).await
    }

    pub async fn muscle(&self, weight: &str) -> Page {
        self.post("meat", &[("lot", &self.loin.to_string()), ("weight", weight), ("weight_unit", "g")]).await
    }

    pub async fn weigh(&self, line: &str, lot: LotId, weight: &str) -> Page {
        let lot = lot.to_string();
        self.post("ingredients", &[("line", line), ("lot", &lot), ("weight", weight), ("weight_unit", "g")])
            .await
    }

    /// Both muscles, salt and cure weighed, and the cure laid on.
    pub async fn cured(&self) {
        goes_to(&self.muscle("2000").await);
        goes_to(&self.muscle("1600").await);
        goes_to(&self.weigh("1", self.larder.salt_lot, "99").await);
        goes_to(&self.weigh("2", self.larder.cure_lot, "9").await);
        goes_to(&self.post("cure", &[]).await);
    }
}

/// The addresses of all links that fit, in their order.
pub fn hrefs(page: &Page, selector: &str) -> Vec<String> {
    let html = scraper::Html::parse_document(&page.text);
    let selector = scraper::Selector::parse(selector).unwrap();
    html.select(&selector).filter_map(|found| found.value().attr("href").map(ToOwned::to_owned)).collect()
}
