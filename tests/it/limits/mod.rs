//! Limits of curing: adopting a set, confirming rows, the shop's own, and recipes and batches held against them.

mod making;
mod recipes;

use axum::http::StatusCode;
use flitchbook::batches;
use flitchbook::book::Form;
use flitchbook::evidence::Found;
use flitchbook::ids::{BatchId, LotId};
use flitchbook::limits::entry::LimitsAdopted;
use flitchbook::measure::Grams;
use flitchbook::standards::limits::Jurisdiction;

use crate::shop::{Cast, Larder, Page, Shop, Things, goes_to};

pub struct Story {
    pub shop: Shop,
    pub things: Things,
    pub larder: Larder,
}

pub async fn story(of: Option<Jurisdiction>) -> Story {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    if let Some(jurisdiction) = of {
        shop.sign(LimitsAdopted { jurisdiction }).await;
    }
    Story { shop, things, larder }
}

pub fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

impl Story {
    /// The form of a salami with so much cure, and more fields after it.
    pub fn salami<'a>(&self, cure: &'a str, more: &[(&'static str, &'a str)]) -> Vec<(&'static str, String)> {
        let mut fields = vec![
            ("name", "Pepper salami".to_owned()),
            ("kind", "ground and fermented".to_owned()),
            ("product", self.larder.salami.id.to_string()),
        ];
        for (role, item, percent) in [
            ("meat", self.larder.trim.id, "100"),
            ("salt", self.larder.salt.id, "2.5"),
            ("cure", self.larder.cure.id, cure),
        ] {
            fields.extend([("role", role.to_owned()), ("item", item.to_string())]);
            fields.extend([("percent", percent.to_owned()), ("per", "meat".to_owned())]);
        }
        fields.extend(more.iter().map(|(name, value)| (*name, (*value).to_owned())));
        fields
    }

    pub async fn post(&self, path: &str, fields: &[(&'static str, String)]) -> Page {
        let fields: Vec<_> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        self.shop.post(Cast::Curer, path, &fields).await
    }

    /// A batch of 2 kg of trim for a salami of 0.25 % cure, its meat taken; its address.
    pub async fn making(&self, meat: &str, unit: &str) -> String {
        let recipe = self.shop.salami_recipe(&self.larder).await;
        self.making_of(recipe.recipe.to_string(), meat, unit).await
    }

    pub async fn making_of(&self, recipe: String, meat: &str, unit: &str) -> String {
        let trim =
            self.shop.lot(&self.things, &self.larder.trim, Form::Trim, Grams::whole(60_000), None).await.lot;
        let cooler = self.things.cooler.id.to_string();
        let recipe = format!("{recipe}/1");
        let begun = [("recipe", recipe.as_str()), ("meat", meat), ("meat_unit", unit), ("place", &cooler)];
        let path = goes_to(&self.shop.post(Cast::Curer, "/batches/new", &begun).await);
        let trim = trim.to_string();
        let taken = [("lot", trim.as_str()), ("weight", meat), ("weight_unit", unit)];
        goes_to(&self.shop.post(Cast::Curer, &format!("{path}/meat"), &taken).await);
        path
    }

    pub async fn weigh(
        &self,
        path: &str,
        line: &str,
        lot: LotId,
        weight: &str,
        more: &[(&str, &str)],
    ) -> Page {
        let lot = lot.to_string();
        let mut fields = vec![("line", line), ("lot", &lot), ("weight", weight), ("weight_unit", "g")];
        fields.extend_from_slice(more);
        self.shop.post(Cast::Curer, &format!("{path}/ingredients"), &fields).await
    }

    pub async fn found(&self, path: &str) -> Found {
        let batch: BatchId = path.rsplit('/').next().unwrap().parse().unwrap();
        batches::cure_found(&mut self.shop.app.db().await.unwrap(), batch).await.unwrap()
    }
}

#[tokio::test]
async fn the_set_that_the_shop_adopts_is_listed_with_citation_base_and_mark() {
    let story = story(None).await;
    let page = story.shop.get(Cast::Inspector, "/limits").await;
    assert!(page.text.contains("has not said whose limits"));
    assert!(story.shop.get(Cast::Owner, "/setup").await.text.contains("href=\"/limits\""));
    let adopt = [("jurisdiction", "United States")];
    assert_eq!(story.shop.post(Cast::Curer, "/limits", &adopt).await.status, StatusCode::FORBIDDEN);
    let nobodys = story.shop.post(Cast::Owner, "/limits", &[("jurisdiction", "Atlantis")]).await;
    assert!(nobodys.error_at("jurisdiction").contains("Choose"));
    goes_to(&story.shop.post(Cast::Owner, "/limits", &adopt).await);
    let page = story.shop.get(Cast::Inspector, "/limits").await;
    for said in [
        "at most 156.25 ppm",
        "9 CFR 424.21(c)",
        "of the meat block",
        "off until taken up",
        "1/4 oz to 100 lb",
    ] {
        assert!(plain(&page.text).contains(said), "{said}");
    }
    assert!(page.text.contains("regulator"), "who decides stands on the page");
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn on_another_day_other_limits_are_in_force() {
    let story = story(Some(Jurisdiction::EuropeanUnion)).await;
    let states = |page: &Page| -> Vec<String> { page.all("td[data-name='How it stands'] .state") };
    let before = story.shop.get(Cast::Curer, "/limits?day=2025-10-08").await;
    assert_eq!(states(&before)[0], "not on this day");
    assert_eq!(states(&before)[4], "in force");
    let after = story.shop.get(Cast::Curer, "/limits?day=2025-10-09").await;
    assert_eq!(states(&after)[0], "in force");
    assert_eq!(states(&after)[4], "not on this day");
    assert!(after.text.contains("from 9 Oct 2025"));
}

#[tokio::test]
async fn a_row_to_be_confirmed_is_off_until_it_is_switched_on_by_its_document() {
    let story = story(Some(Jurisdiction::GreatBritain)).await;
    let salami = story.salami("0.25", &[]);
    let path = goes_to(&story.post("/recipes/new", &salami).await);
    assert!(story.shop.get(Cast::Curer, &path).await.all("table.limits tbody tr").is_empty());
    let row = "/limits/rows/gb-nitrite";
    let silent = story.shop.post(Cast::Owner, row, &[("on", "yes")]).await;
    assert!(silent.error_at("document").contains("document"), "{:?}", silent.all(".error"));
    let on = [("on", "yes"), ("document", "legislation.gov.uk, read 3 Nov 2026")];
    assert_eq!(story.shop.post(Cast::Curer, row, &on).await.status, StatusCode::FORBIDDEN);
    goes_to(&story.shop.post(Cast::Owner, row, &on).await);
    let page = story.shop.get(Cast::Curer, &path).await;
    // 0.25 % of a 6.25 % cure are 156.25 ppm: over 150.
    assert!(page.one("table.limits .state").contains("over the limit"));
    assert!(page.text.contains("confirmed by the shop: legislation.gov.uk"), "the citation no longer waits");
    assert!(!page.one("table.limits").contains("to be confirmed"));
    assert!(story.shop.get(Cast::Curer, row).await.text.contains("legislation.gov.uk"));
    goes_to(&story.shop.post(Cast::Owner, row, &[("on", "no"), ("reason", "wrong edition")]).await);
    assert!(story.shop.get(Cast::Curer, &path).await.all("table.limits tbody tr").is_empty());
    assert_eq!(story.shop.get(Cast::Curer, "/limits/rows/nowhere").await.status, StatusCode::NOT_FOUND);
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_looser_limit_of_the_shops_own_is_the_owners_with_reason_and_document_and_is_marked() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let own = |most: &'static str, reason: &'static str, document: &'static str| {
        vec![
            ("name", "salami"),
            ("substance", "nitrite"),
            ("way", "comminuted"),
            ("most", most),
            ("base", "meat block"),
            ("stated", "NaNO2"),
            ("reason", reason),
            ("document", document),
        ]
    };
    let post = async |cast, fields: Vec<(&str, &str)>| story.shop.post(cast, "/limits/own", &fields).await;
    assert_eq!(post(Cast::Curer, own("120", "stricter", "")).await.status, StatusCode::FORBIDDEN);
    assert!(!post(Cast::Owner, own("160", "", "letter")).await.error_at("reason").is_empty());
    assert!(post(Cast::Owner, own("160", "variance", "")).await.error_at("document").contains("looser"));
    assert!(!post(Cast::Owner, own("", "variance", "letter")).await.error_at("most").is_empty());
    goes_to(&post(Cast::Owner, own("160", "variance", "letter of 3 Nov 2026")).await);
    let salami = story.salami("0.2551", &[]);
    let path = goes_to(&story.post("/recipes/new", &salami).await);
    let held = story.shop.get(Cast::Inspector, &path).await.one("table.limits");
    assert!(
        held.contains("looser than the adopted limit") && held.contains("letter of 3 Nov 2026"),
        "{held}"
    );
    assert!(held.contains("within") && !held.contains("over the limit"), "{held}");
    let listed = story.shop.get(Cast::Inspector, "/limits").await;
    assert!(listed.text.contains("looser than the adopted limits"));
    // Laid aside, the adopted one holds again.
    let href = crate::batches::hrefs(&listed, "td a, th a")
        .into_iter()
        .find(|href| href.starts_with("/limits/own/"));
    let mut aside = own("160", "variance", "letter of 3 Nov 2026");
    aside.push(("retired", "yes"));
    goes_to(&story.shop.post(Cast::Owner, &href.unwrap(), &aside).await);
    assert!(story.shop.get(Cast::Inspector, &path).await.one("table.limits").contains("over the limit"));
    assert_eq!(story.shop.verify().await.findings, []);
}
