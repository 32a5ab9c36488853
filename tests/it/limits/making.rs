//! Batches held against the limits in force, at the scale and after it.

use axum::http::StatusCode;
use flitchbook::book::Form;
use flitchbook::evidence::Found;
use flitchbook::ids::{ItemId, Named};
use flitchbook::measure::{Grams, Percent};
use flitchbook::recipes::{RecipeKind, Role};
use flitchbook::standards::limits::Jurisdiction;
use rust_decimal::dec;
use uuid::Uuid;

use super::{Story, plain, story};
use crate::batches::hrefs;
use crate::shop::{Cast, goes_to, line};

#[tokio::test]
async fn two_grams_too_much_cure_are_refused_with_what_to_change() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let recipe = story.wide_recipe().await;
    let path = story.making_of(recipe, "2000", "g").await;
    let before = story.shop.lines().await;
    let batch = path.rsplit('/').next().unwrap().parse().unwrap();
    let mixed = story.shop.batch_now(batch).await.mix.grams;
    let page = story.weigh(&path, "2", story.larder.cure_lot, "7", &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let said = plain(&page.error_at("weight"));
    assert!(said.contains("156.25 ppm is the most"), "{said}");
    assert!(said.contains("Take out 2 g of this cure, which leaves 5 g"), "{said}");
    assert!(said.contains("800 g more meat"), "{said}");
    assert_eq!(story.shop.lines().await, before + 1, "that it was refused, and nothing else");
    assert_eq!(story.shop.batch_now(batch).await.mix.grams, mixed, "nothing is in the mix");
    assert_eq!(page.attribute("input[name=weight]", "value").as_deref(), Some("7"));
    goes_to(&story.weigh(&path, "2", story.larder.cure_lot, "5", &[]).await);
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_cure_that_is_refused_at_the_scale_is_a_deviation_until_it_is_answered() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let path = story.making("2000", "g").await;
    goes_to(&story.weigh(&path, "2", story.larder.salt_lot, "50", &[]).await);
    let lines = story.shop.lines().await;
    // 2 g more than the 5 g asked; then again, and more than the lot holds.
    for (grams, written) in [("7", 1), ("7.2", 1), ("5000", 1)] {
        let page = story.weigh(&path, "3", story.larder.cure_lot, grams, &[]).await;
        assert!(!page.error_at("weight").is_empty(), "{grams}");
        assert_eq!(page.error_at("weight").contains("among the deviations"), grams != "5000");
        assert_eq!(story.shop.lines().await, lines + written, "{grams}: once as long as it is open");
    }
    let deviations = story.shop.get(Cast::Reviewer, "/checks/deviations").await;
    let row = deviations.one("table tbody tr");
    assert!(row.contains("7 g of curing salt refused at the scale, 5 g asked"), "{row}");
    // Nothing of it went in: the right weight does, and nothing is on hold.
    goes_to(&story.weigh(&path, "3", story.larder.cure_lot, "5", &[]).await);
    let held: i64 =
        sqlx::query_scalar("SELECT count(*) FROM hold").fetch_one(&story.shop.app.book.pool).await.unwrap();
    assert_eq!(held, 0);
    assert_eq!(story.shop.verify().await.findings, []);
}

impl Story {
    /// A salami whose cure may be half as much again: what stops it is the limit alone.
    async fn wide_recipe(&self) -> String {
        let mut cure = line(Role::Cure, &self.larder.cure, dec!(0.25));
        cure.tolerance = Percent::new(dec!(50));
        let lines = vec![line(Role::Meat, &self.larder.trim, dec!(100)), cure];
        let recipe =
            self.shop.recipe("Wide", RecipeKind::GroundFermented, &self.larder.salami, lines, vec![]).await;
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
    assert!(page.one("table.limits tbody tr").contains("within"));
    // Struck from its row, it is weighed again.
    let strike = hrefs(&page, "td a.again").into_iter().last().unwrap();
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
    assert!(page.one("table.limits").contains("below the minimum"));
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
    assert!(
        plain(&sheet.text).contains("at most 156.25 ppm"),
        "the cure sheet has each figure with its limit"
    );
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn meat_taken_back_after_the_cure_stops_the_batch_until_the_cure_is_less() {
    let story = story(Some(Jurisdiction::UnitedStates)).await;
    let recipe = story.wide_recipe().await;
    let path = story.making_of(recipe, "1000", "g").await;
    let trim =
        story.shop.lot(&story.things, &story.larder.trim, Form::Trim, Grams::whole(5_000), None).await.lot;
    let trim = trim.to_string();
    let more = [("lot", trim.as_str()), ("weight", "1000"), ("weight_unit", "g")];
    goes_to(&story.shop.post(Cast::Curer, &format!("{path}/meat"), &more).await);
    goes_to(&story.weigh(&path, "2", story.larder.cure_lot, "3.5", &[]).await);
    // 3.5 g on 2 kg; then a kilo is taken back: 218.75 ppm.
    let page = story.shop.get(Cast::Curer, &path).await;
    let strikes = hrefs(&page, "table.lines a.strike");
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

#[tokio::test]
async fn a_cure_of_unknown_strength_is_refused_at_the_scale_and_its_recipe_says_so() {
    let story = story(None).await;
    let grey = Named::new(ItemId(Uuid::from_u128(392)), "grey cure");
    story.shop.item(&grey, Form::Ingredient).await;
    let lot = story.shop.lot(&story.things, &grey, Form::Ingredient, Grams::whole(500), None).await.lot;
    let lines = vec![line(Role::Meat, &story.larder.trim, dec!(100)), line(Role::Cure, &grey, dec!(0.25))];
    let recipe =
        story.shop.recipe("Grey", RecipeKind::GroundFermented, &story.larder.salami, lines, vec![]).await;
    let page = story.shop.get(Cast::Curer, &recipe.recipe.path()).await;
    assert!(page.one(".notice.wait").contains("states the strength of grey cure"), "{}", page.one("main"));
    let rows = page.all("table tbody tr");
    assert!(
        rows.iter().any(|row| row.contains("grey cure") && row.contains("strength not recorded")),
        "{rows:?}"
    );

    let path = story.making_of(recipe.recipe.to_string(), "2000", "g").await;
    let before = story.shop.lines().await;
    let page = story.weigh(&path, "2", lot, "5", &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let said = page.error_at("lot");
    assert!(said.contains("no strength recorded"), "{:?}", page.all(".error"));
    assert!(said.contains("the per cent of nitrite and nitrate that its pack states"), "{said}");
    assert!(
        page.one("select[name=lot]").contains("no strength recorded"),
        "{}",
        page.one("select[name=lot]")
    );
    assert_eq!(story.shop.lines().await, before, "nothing is in the mix");
    assert_eq!(story.shop.verify().await.findings, []);
}
