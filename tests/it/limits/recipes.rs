//! Recipes held against the limits in force, written and while they are typed.

use axum::http::StatusCode;
use flitchbook::book::Form;
use flitchbook::ids::{ItemId, Named};
use flitchbook::measure::{Grams, Percent};
use flitchbook::receiving::entry::Goods;
use flitchbook::standards::limits::{Alkali, Jurisdiction};
use rust_decimal::dec;
use uuid::Uuid;

use super::{plain, story};
use crate::shop::{Cast, goes_to};

#[tokio::test]
async fn a_recipe_over_by_one_ppm_shows_it() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    // 0.2516 % × 6.25 % are 157.25 ppm.
    let path = goes_to(&story.post("/recipes/new", &story.salami("0.2516", &[])).await);
    let page = story.shop.get(Cast::Curer, &path).await;
    let row = plain(&page.one("table.limits tbody tr"));
    assert!(row.contains("157 ppm") && row.contains("over the limit"), "{row}");
    assert!(row.contains("too much by 1 ppm, or 0.02 g of curing salt to 1 kg of meat"), "{row}");
    let head = plain(&page.one("[role=alert]"));
    assert!(head.contains("Over a limit in force"), "{head}");
    assert!(head.contains("157 ppm would go in, and 156.25 ppm is the most (9 CFR 424.21(c)"), "{head}");
    let at = goes_to(&story.post("/recipes/new", &renamed(story.salami("0.25", &[]))).await);
    let page = story.shop.get(Cast::Curer, &at).await;
    assert!(page.one("table.limits tbody tr").contains("within"), "exactly at the limit is met");
    assert!(page.all("[role=alert]").is_empty(), "and nothing is said at its head");
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
    assert!(fragment.one("table.limits").contains("over the limit"));
    // Without a script the button of the same form draws the page again, and what was typed stays.
    let again = story.post("/recipes/new", &story.salami("0.2516", &[("reckon", "yes")])).await;
    assert_eq!(again.status, StatusCode::OK);
    assert!(again.one("#reckoned").contains("over the limit"));
    assert!(
        plain(&again.one("#over [role=alert]")).contains("156.25 ppm is the most"),
        "{}",
        again.one("#over")
    );
    assert!(plain(&fragment.one("[data-head]")).contains("156.25 ppm is the most"), "{}", fragment.text);
    let within = story.post("/recipes/new", &story.salami("0.25", &[("reckon", "yes")])).await;
    assert!(within.all("#over [role=alert]").is_empty());
    assert_eq!(again.attribute("input[name=name]", "value").as_deref(), Some("Pepper salami"));
    let half = story.post("/recipes/reckon", &story.salami("", &[])).await;
    assert!(half.text.contains("Not reckoned yet") && half.text.contains("Line 3"), "{}", half.text);
    assert_eq!(story.shop.lines().await, before);
    let fields: Vec<_> = typed.iter().map(|(name, value)| (*name, value.as_str())).collect();
    assert_eq!(
        story.shop.post(Cast::Inspector, "/recipes/reckon", &fields).await.status,
        StatusCode::FORBIDDEN
    );
}

#[tokio::test]
async fn a_bacon_with_nitrate_in_it_is_over_and_says_which_limit() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let long = Named::new(ItemId(Uuid::from_u128(390)), "long cure");
    story.shop.item(&long, Form::Ingredient).await;
    let goods = Goods {
        nitrite: Some(Percent::new(dec!(6.25))),
        nitrate: Some(Percent::new(dec!(4))),
        ..Goods::default()
    };
    story.shop.lot(&story.things, &long, Form::Ingredient, Grams::whole(500), Some(goods)).await;
    let mut fields = story.salami("0.25", &[("falls_under", "bacon")]);
    fields[1].1 = "dry cure, equilibrium".into();
    for (name, value) in &mut fields {
        if *name == "item" && *value == story.larder.cure.id.to_string() {
            *value = long.id.to_string();
        }
    }
    let path = goes_to(&story.post("/recipes/new", &fields).await);
    let rows = story.shop.get(Cast::Curer, &path).await.all("table.limits tbody tr");
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
        plain(&page.one("table.limits tbody td[data-name='Goes in']"))
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
    let saltpetre = Named::new(ItemId(Uuid::from_u128(391)), "potassium cure");
    story.shop.item(&saltpetre, Form::Ingredient).await;
    let goods = Goods {
        nitrite: Some(Percent::new(dec!(8.5104))),
        nitrite_salt: Some(Alkali::Potassium),
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
    assert!(
        plain(&page.one("table.limits")).contains("46 ppm of the meat block, as NO2"),
        "{}",
        page.one("table.limits")
    );
    assert!(page.text.contains("as KNO2"), "{}", page.text);
}
