//! Limits of curing: adopting a set, confirming rows, the shop's own, and recipes and batches held against them.

use axum::http::StatusCode;
use flitchbook::batches;
use flitchbook::book::Form;
use flitchbook::evidence::Found;
use flitchbook::ids::{BatchId, LotId, Named};
use flitchbook::limits::entry::LimitsAdopted;
use flitchbook::measure::{Grams, Percent};
use flitchbook::receiving::entry::Goods;
use flitchbook::recipes::{RecipeKind, Role};
use flitchbook::standards::limits::Jurisdiction;
use rust_decimal::dec;

use crate::shop::{Cast, Larder, Page, Shop, Things, goes_to, line};

struct Story {
    shop: Shop,
    things: Things,
    larder: Larder,
}

async fn story(of: Option<Jurisdiction>) -> Story {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    if let Some(jurisdiction) = of {
        shop.sign(LimitsAdopted { jurisdiction }).await;
    }
    Story { shop, things, larder }
}

fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ")
}

impl Story {
    /// The form of a salami with so much cure, and more fields after it.
    fn salami<'a>(&self, cure: &'a str, more: &[(&'static str, &'a str)]) -> Vec<(&'static str, String)> {
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

    async fn post(&self, path: &str, fields: &[(&'static str, String)]) -> Page {
        let fields: Vec<_> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        self.shop.post(Cast::Curer, path, &fields).await
    }

    /// A batch of 2 kg of trim for a salami of 0.25 % cure, its meat taken; its address.
    async fn making(&self, meat: &str, unit: &str) -> String {
        let recipe = self.shop.salami_recipe(&self.larder).await;
        self.making_of(recipe.recipe.to_string(), meat, unit).await
    }

    async fn making_of(&self, recipe: String, meat: &str, unit: &str) -> String {
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

    async fn weigh(&self, path: &str, line: &str, lot: LotId, weight: &str, more: &[(&str, &str)]) -> Page {
        let lot = lot.to_string();
        let mut fields = vec![("line", line), ("lot", &lot), ("weight", weight), ("weight_unit", "g")];
        fields.extend_from_slice(more);
        self.shop.post(Cast::Curer, &format!("{path}/ingredients"), &fields).await
    }

    async fn found(&self, path: &str) -> Found {
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
    for said in ["at most 156.25 ppm", "9 CFR 424.21(c)", "of the meat block", "off until taken up", "1/4 oz to 100 lb"] {
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
    assert!(story.shop.get(Cast::Curer, &path).await.all("table.held tbody tr").is_empty());
    let row = "/limits/rows/gb-nitrite";
    let silent = story.shop.post(Cast::Owner, row, &[("on", "yes")]).await;
    assert!(silent.error_at("document").contains("document"), "{:?}", silent.all(".error"));
    let on = [("on", "yes"), ("document", "legislation.gov.uk, read 3 Nov 2026")];
    assert_eq!(story.shop.post(Cast::Curer, row, &on).await.status, StatusCode::FORBIDDEN);
    goes_to(&story.shop.post(Cast::Owner, row, &on).await);
    let page = story.shop.get(Cast::Curer, &path).await;
    // 0.25 % of a 6.25 % cure are 156.25 ppm: over 150.
    assert!(page.one("table.held .state").contains("over the limit"));
    assert!(story.shop.get(Cast::Curer, row).await.text.contains("legislation.gov.uk"));
    goes_to(&story.shop.post(Cast::Owner, row, &[("on", "no"), ("reason", "wrong edition")]).await);
    assert!(story.shop.get(Cast::Curer, &path).await.all("table.held tbody tr").is_empty());
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
    let held = story.shop.get(Cast::Inspector, &path).await.one("table.held");
    assert!(held.contains("looser than the adopted limit") && held.contains("letter of 3 Nov 2026"), "{held}");
    assert!(held.contains("within") && !held.contains("over the limit"), "{held}");
    let listed = story.shop.get(Cast::Inspector, "/limits").await;
    assert!(listed.text.contains("looser than the adopted limits"));
    // Laid aside, the adopted one holds again.
    let href = super::batches::hrefs(&listed, "td a, th a").into_iter().find(|href| href.starts_with("/limits/own/"));
    let mut aside = own("160", "variance", "letter of 3 Nov 2026");
    aside.push(("retired", "yes"));
    goes_to(&story.shop.post(Cast::Owner, &href.unwrap(), &aside).await);
    assert!(story.shop.get(Cast::Inspector, &path).await.one("table.held").contains("over the limit"));
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_recipe_over_by_one_ppm_shows_it() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    // 0.2516 % × 6.25 % are 157.25 ppm.
    let path = goes_to(&story.post("/recipes/new", &story.salami("0.2516", &[])).await);
    let page = story.shop.get(Cast::Curer, &path).await;
    let row = plain(&page.one("table.held tbody tr"));
    assert!(row.contains("157 ppm") && row.contains("over the limit"), "{row}");
    assert!(row.contains("too much by 1 ppm, or 0.02 g of curing salt to 1 kg of meat"), "{row}");
    let at = goes_to(&story.post("/recipes/new", &renamed(story.salami("0.25", &[]))).await);
    let page = story.shop.get(Cast::Curer, &at).await;
    assert!(page.one("table.held tbody tr").contains("within"), "exactly at the limit is met");
    assert!(page.text.contains("an assumed 65"), "which moisture the water phase rests on");
}

fn renamed(mut fields: Vec<(&'static str, String)>) -> Vec<(&'static str, String)> {
    fields[0].1 = "Another salami".into();
    fields
}

#[tokio::test]
async fn while_it_is_typed_a_recipe_is_reckoned_by_the_same_code_and_nothing_is_written() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let before = story.shop.lines().await;
    let typed = story.salami("0.2516", &[]);
    let fragment = story.post("/recipes/reckon", &typed).await;
    assert_eq!(fragment.status, StatusCode::OK);
    assert!(!fragment.text.contains("<html"), "a piece of a page");
    assert!(fragment.one("table.held").contains("over the limit"));
    // Without a script the button of the same form draws the page again, and what was typed stays.
    let again = story.post("/recipes/new", &story.salami("0.2516", &[("reckon", "yes")])).await;
    assert_eq!(again.status, StatusCode::OK);
    assert!(again.one("#reckoned").contains("over the limit"));
    assert_eq!(again.attribute("input[name=name]", "value").as_deref(), Some("Pepper salami"));
    let half = story.post("/recipes/reckon", &story.salami("", &[])).await;
    assert!(half.text.contains("Not reckoned yet") && half.text.contains("Line 3"), "{}", half.text);
    assert_eq!(story.shop.lines().await, before);
    let fields: Vec<_> = typed.iter().map(|(name, value)| (*name, value.as_str())).collect();
    assert_eq!(story.shop.post(Cast::Inspector, "/recipes/reckon", &fields).await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_bacon_with_nitrate_in_it_is_over_and_says_which_limit() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let long = Named::new(flitchbook::ids::ItemId(uuid::Uuid::from_u128(390)), "long cure");
    story.shop.item(&long, Form::Ingredient).await;
    let goods = Goods { nitrite: Some(Percent::new(dec!(6.25))), nitrate: Some(Percent::new(dec!(4))), ..Goods::default() };
    story.shop.lot(&story.things, &long, Form::Ingredient, Grams::whole(500), Some(goods)).await;
    let mut fields = story.salami("0.25", &[("falls_under", "bacon")]);
    fields[1].1 = "dry cure, equilibrium".into();
    for (name, value) in &mut fields {
        if *name == "item" && *value == story.larder.cure.id.to_string() {
            *value = long.id.to_string();
        }
    }
    let path = goes_to(&story.post("/recipes/new", &fields).await);
    let rows = story.shop.get(Cast::Curer, &path).await.all("table.held tbody tr");
    let nitrate = rows.iter().find(|row| row.contains("Nitrate, bacon")).unwrap();
    assert!(nitrate.contains("none") && nitrate.contains("over the limit"), "{nitrate}");
    let nitrite = rows.iter().find(|row| row.contains("Nitrite, bacon, dry cured")).unwrap();
    assert!(nitrite.contains("within"), "156 of 200 ppm: {nitrite}");
}

#[tokio::test]
async fn a_brine_says_how_it_is_used_and_the_figure_follows() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let brine = |more: &[(&'static str, &str)]| {
        let mut fields = vec![
            ("name", "Ham".to_owned()),
            ("kind", "brine".to_owned()),
            ("product", story.larder.cured_loin.id.to_string()),
            ("brine", "50".to_owned()),
        ];
        for (role, item, percent) in
            [("salt", story.larder.salt.id, "96.8"), ("cure", story.larder.cure.id, "3.2")]
        {
            fields.extend([("role", role.to_owned()), ("item", item.to_string())]);
            fields.extend([("percent", percent.to_owned()), ("per", "brine".to_owned())]);
        }
        fields.extend(more.iter().map(|(name, value)| (*name, (*value).to_owned())));
        fields
    };
    let reckoned = async |more: &[(&'static str, &str)]| {
        let page = story.post("/recipes/reckon", &brine(more)).await;
        plain(&page.one("table.held tbody td[data-name='Goes in']"))
    };
    // 3.2 % of a 6.25 % cure are 2,000 ppm of the pickle.
    assert!(reckoned(&[("way", "pumped or massaged"), ("pump", "10")]).await.starts_with("200 ppm"));
    assert!(reckoned(&[("way", "immersion, by pick-up"), ("pick_up", "8")]).await.starts_with("160 ppm"));
    let both = [("way", "pumped, then in a cover pickle"), ("pump", "8"), ("pick_up", "2")];
    assert!(reckoned(&both).await.starts_with("200 ppm"), "both count");
    // At equilibrium: 50 parts of pickle to 100 of meat.
    assert!(reckoned(&[]).await.starts_with("667 ppm of meat and pickle"));
    let silent = story.post("/recipes/new", &brine(&[("way", "pumped or massaged")])).await;
    assert!(silent.error_at("pump").contains("how much is pumped"), "{:?}", silent.all(".error"));
}

#[tokio::test]
async fn a_potassium_salt_is_received_as_what_its_pack_states() {
    let story = story(Some(Jurisdiction::EuropeanUnion)).await;
    let saltpetre = Named::new(flitchbook::ids::ItemId(uuid::Uuid::from_u128(391)), "potassium cure");
    story.shop.item(&saltpetre, Form::Ingredient).await;
    let goods = Goods {
        nitrite: Some(Percent::new(dec!(8.5104))),
        nitrite_salt: Some(flitchbook::standards::limits::Alkali::Potassium),
        ..Goods::default()
    };
    story.shop.lot(&story.things, &saltpetre, Form::Ingredient, Grams::whole(500), Some(goods)).await;
    let mut fields = story.salami("0.1", &[]);
    for (name, value) in &mut fields {
        if *name == "item" && *value == story.larder.cure.id.to_string() {
            *value = saltpetre.id.to_string();
        }
    }
    let page = story.post("/recipes/reckon", &fields).await;
    // 85.104 ppm of KNO2 are 46.005 ppm of the ion, and 68.995 of NaNO2.
    assert!(plain(&page.one("table.held")).contains("46 ppm of the meat block, as NO2"), "{}", page.one("table.held"));
    assert!(page.text.contains("as KNO2"), "{}", page.text);
}

#[tokio::test]
async fn two_grams_too_much_cure_are_refused_with_what_to_change() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let recipe = story.wide_recipe().await;
    let path = story.making_of(recipe, "2000", "g").await;
    let before = story.shop.lines().await;
    let page = story.weigh(&path, "2", story.larder.cure_lot, "7", &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let said = plain(&page.error_at("weight"));
    assert!(said.contains("156.25 ppm is the most"), "{said}");
    assert!(said.contains("Take out 2 g of this cure, which leaves 5 g"), "{said}");
    assert!(said.contains("800 g more meat"), "{said}");
    assert_eq!(story.shop.lines().await, before, "nothing is in the mix");
    assert_eq!(page.attribute("input[name=weight]", "value").as_deref(), Some("7"));
    goes_to(&story.weigh(&path, "2", story.larder.cure_lot, "5", &[]).await);
    assert_eq!(story.shop.verify().await.findings, []);
}

impl Story {
    /// A salami whose cure may be half as much again: what stops it is the limit alone.
    async fn wide_recipe(&self) -> String {
        let mut cure = line(Role::Cure, &self.larder.cure, dec!(0.25));
        cure.tolerance = Percent::new(dec!(50));
        let lines = vec![line(Role::Meat, &self.larder.trim, dec!(100)), cure];
        let recipe = self.shop.recipe("Wide", RecipeKind::GroundFermented, &self.larder.salami, lines, vec![]).await;
        recipe.recipe.to_string()
    }
}

#[tokio::test]
async fn ounces_pass_exactly_at_the_limit_and_a_thousandth_of_a_gram_more_does_not() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let path = story.making("100", "lb").await;
    goes_to(&story.weigh(&path, "2", story.larder.salt_lot, "2.5 lb", &[]).await);
    // 9 CFR 424.21(c): 1/4 oz of nitrite to 100 lb, as 4 oz of a 6.25 % cure.
    let over = story.weigh(&path, "3", story.larder.cure_lot, "113.4000", &[]).await;
    assert!(over.error_at("weight").contains("156.25 ppm is the most"), "{:?}", over.all(".error"));
    goes_to(&story.weigh(&path, "3", story.larder.cure_lot, "4 oz", &[]).await);
    let page = story.shop.get(Cast::Curer, &path).await;
    assert!(page.one("table.held tbody tr").contains("within"));
    // Struck from its row, it is weighed again.
    let strike = super::batches::hrefs(&page, "td a.again").into_iter().last().unwrap();
    goes_to(&story.shop.post(Cast::Curer, &strike, &[("reason", "wrong scale")]).await);
    let more = story.weigh(&path, "3", story.larder.cure_lot, "113.3990", &[]).await;
    assert!(more.error_at("weight").contains("156.25 ppm is the most"), "{:?}", more.all(".error"));
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_same_weighing_passes_in_one_shop_and_not_in_the_other() {
    let american = story(Some(Jurisdiction::UnitedStates)).await;
    let path = american.making("2000", "g").await;
    goes_to(&american.weigh(&path, "3", american.larder.cure_lot, "5", &[]).await);
    let european = story(Some(Jurisdiction::EuropeanUnion)).await;
    let path = european.making("2000", "g").await;
    let page = european.weigh(&path, "3", european.larder.cure_lot, "5", &[]).await;
    assert!(page.error_at("weight").contains("80 ppm is the most"), "{:?}", page.all(".error"));
    assert!(page.error_at("weight").contains("2023/2108"));
}

#[tokio::test]
async fn a_batch_below_a_minimum_is_answered_for_and_the_answer_is_kept() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let take_up = [("on", "yes"), ("reason", "we sell it chilled")];
    goes_to(&story.shop.post(Cast::Owner, "/limits/rows/us-refrigerated-minimum", &take_up).await);
    let recipe = story.wide_recipe().await;
    let path = story.making_of(recipe, "2000", "g").await;
    // 3.5 g on 2 kg: 109.375 ppm.
    let silent = story.weigh(&path, "2", story.larder.cure_lot, "3.5", &[]).await;
    assert!(silent.error_at("reason").contains("120 ppm are asked at least"), "{:?}", silent.all(".error"));
    goes_to(&story.weigh(&path, "2", story.larder.cure_lot, "3.5", &[("reason", "dried at once")]).await);
    let page = story.shop.get(Cast::Curer, &path).await;
    assert!(page.one("table.lines").contains("dried at once"));
    assert!(page.one("table.held").contains("below the minimum"));
}

#[tokio::test]
async fn what_is_found_of_the_cure_names_limit_figure_base_and_entries() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let path = story.making("2000", "g").await;
    assert!(matches!(story.found(&path).await, Found::NotYet { missing } if missing.contains("curing salt")));
    goes_to(&story.weigh(&path, "2", story.larder.salt_lot, "50", &[]).await);
    goes_to(&story.weigh(&path, "3", story.larder.cure_lot, "5", &[]).await);
    goes_to(&story.weigh(&path, "4", story.larder.pepper_lot, "6", &[]).await);
    assert!(matches!(story.found(&path).await, Found::NotYet { missing } if missing.contains("not stuffed")));
    let chamber = story.larder.chamber.id.to_string();
    let pieces = [("count", "4"), ("place", chamber.as_str()), ("all", "yes")];
    goes_to(&story.shop.post(Cast::Curer, &format!("{path}/pieces"), &pieces).await);
    let Found::Met { figure, by } = story.found(&path).await else { panic!("not met") };
    let figure = plain(&figure);
    assert!(figure.contains("156 ppm of the meat block, at most 156.25 ppm (9 CFR 424.21(c)"), "{figure}");
    assert_eq!(by.len(), 3, "meat, cure, stuffing: {by:?}");
    let sheet = story.shop.get(Cast::Curer, &format!("{path}/sheet")).await;
    assert!(plain(&sheet.text).contains("at most 156.25 ppm"), "the cure sheet has each figure with its limit");
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn meat_taken_back_after_the_cure_stops_the_batch_until_the_cure_is_less() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let recipe = story.wide_recipe().await;
    let path = story.making_of(recipe, "1000", "g").await;
    let trim = story.shop.lot(&story.things, &story.larder.trim, Form::Trim, Grams::whole(5_000), None).await.lot;
    let trim = trim.to_string();
    let more = [("lot", trim.as_str()), ("weight", "1000"), ("weight_unit", "g")];
    goes_to(&story.shop.post(Cast::Curer, &format!("{path}/meat"), &more).await);
    goes_to(&story.weigh(&path, "2", story.larder.cure_lot, "3.5", &[]).await);
    // 3.5 g on 2 kg; then a kilo is taken back: 218.75 ppm.
    let page = story.shop.get(Cast::Curer, &path).await;
    let strikes = super::batches::hrefs(&page, "table.lines a.strike");
    goes_to(&story.shop.post(Cast::Curer, &strikes[1], &[("reason", "wrong trim")]).await);
    let chamber = story.larder.chamber.id.to_string();
    let pieces = [("count", "4"), ("place", chamber.as_str()), ("all", "yes"), ("reason", "never mind")];
    let refused = story.shop.post(Cast::Curer, &format!("{path}/pieces"), &pieces).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.one(".errors").contains("156.25 ppm is the most"), "{}", refused.one(".errors"));
    let stage = [("stage", "resting"), ("place", chamber.as_str()), ("reason", "never mind")];
    let refused = story.shop.post(Cast::Curer, &format!("{path}/stages"), &stage).await;
    assert!(refused.one(".errors").contains("400 g more meat"), "{}", refused.one(".errors"));
    assert!(!story.found(&path).await.is_met());
}
