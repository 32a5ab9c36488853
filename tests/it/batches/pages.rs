//! Beginning a batch, who may, the cure sheet, a form sent twice.

use axum::http::StatusCode;
use flitchbook::measure::Grams;

use super::{hrefs, loins};
use crate::shop::{Cast, Shop, goes_to};

#[tokio::test]
async fn an_ingredient_form_sent_twice_is_one_weighing() {
    let story = loins().await;
    goes_to(&story.muscle("3600").await);
    let id = story.page().await.form_id();
    let lot = story.larder.salt_lot.to_string();
    let fields = [("id", id.as_str()), ("line", "1"), ("lot", &lot), ("weight", "99")];
    let path = format!("{}/ingredients", story.path);
    goes_to(&story.shop.post_raw(Cast::Curer, &path, &fields).await);
    let before = story.shop.lines().await;
    goes_to(&story.shop.post_raw(Cast::Curer, &path, &fields).await);
    assert_eq!(story.shop.lines().await, before);
    let without = story.shop.post_raw(Cast::Curer, &path, &fields[1..]).await;
    assert_eq!(without.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn a_batch_is_begun_by_a_recipe_in_use_for_some_meat() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let recipe = shop.loin_recipe(&larder).await;
    let chosen = format!("{}/1", recipe.recipe);
    let fridge = larder.fridge.id.to_string();
    let before = shop.lines().await;
    for (choice, meat, place, when, field) in [
        ("", "3", fridge.as_str(), "", "recipe"),
        ("no-recipe/1", "3", &fridge, "", "recipe"),
        ("00000000-0000-7000-8000-000000000000/1", "3", &fridge, "", "recipe"),
        (&format!("{}/9", recipe.recipe), "3", &fridge, "", "recipe"),
        (&chosen, "", &fridge, "", "meat"),
        (&chosen, "-3", &fridge, "", "meat"),
        (&chosen, "3 C", &fridge, "", "meat"),
        (&chosen, "3", "", "", "place"),
        (&chosen, "3", &things.loin.id.to_string(), "", "place"),
        (&chosen, "3", &fridge, "2027-01-01T08:00", "when"),
    ] {
        let fields = [("recipe", choice), ("meat", meat), ("place", place), ("when", when)];
        let page = shop.post(Cast::Curer, "/batches/new", &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{choice} {meat} {place} {when}");
        assert!(!page.error_at(field).is_empty(), "{choice} {meat} {place} {when}: {:?}", page.all(".error"));
        assert_eq!(page.attribute("input[name=meat]", "value").as_deref(), Some(meat));
    }
    assert_eq!(shop.lines().await, before);
    let aside = format!("{}/retirement", recipe.recipe.path());
    goes_to(&shop.post(Cast::Curer, &aside, &[("retired", "yes")]).await);
    let fields = [("recipe", chosen.as_str()), ("meat", "3"), ("place", &fridge)];
    let page = shop.post(Cast::Curer, "/batches/new", &fields).await;
    assert!(page.error_at("recipe").contains("laid aside"));
}

#[tokio::test]
async fn a_version_that_a_batch_was_made_by_stays_as_it_was() {
    let story = loins().await;
    goes_to(&story.muscle("3600").await);
    let recipe = story.page().await.attribute("dl.facts a", "href").unwrap();
    assert!(recipe.ends_with("?version=1"), "{recipe}");
    let page = story.shop.get(Cast::Curer, &recipe).await;
    assert!(page.text.contains("2.75\u{a0}%"));
}

#[tokio::test]
async fn who_may_not_cure_reads_the_batch_and_signs_nothing() {
    let story = loins().await;
    let lot = story.loin.to_string();
    for cast in [Cast::Cutter, Cast::Reviewer, Cast::Inspector] {
        assert_eq!(story.shop.get(cast, "/batches").await.status, StatusCode::OK);
        let page = story.shop.get(cast, &story.path).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.all("form.sheet").is_empty());
        assert_eq!(story.shop.get(cast, &format!("{}/sheet", story.path)).await.status, StatusCode::OK);
        assert_eq!(story.shop.get(cast, "/batches/new").await.status, StatusCode::FORBIDDEN);
        for noun in ["meat", "ingredients", "cure", "pieces", "stages"] {
            let page = story.shop.post(cast, &format!("{}/{noun}", story.path), &[("lot", &lot)]).await;
            assert_eq!(page.status, StatusCode::FORBIDDEN, "{cast:?} {noun}");
        }
    }
    assert_eq!(story.shop.get(Cast::Stranger, &story.path).await.status, StatusCode::SEE_OTHER);
    let nowhere = "/batches/00000000-0000-7000-8000-000000000000";
    assert_eq!(story.shop.get(Cast::Curer, nowhere).await.status, StatusCode::NOT_FOUND);
    assert_eq!(story.shop.get(Cast::Curer, &format!("{nowhere}/sheet")).await.status, StatusCode::NOT_FOUND);
    let fields = [("lot", lot.as_str()), ("weight", "1"), ("weight_unit", "g")];
    let page = story.shop.post(Cast::Curer, &format!("{nowhere}/meat"), &fields).await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_cure_sheet_says_targets_actuals_lots_and_where_the_meat_came_from() {
    let story = loins().await;
    let empty = story.shop.get(Cast::Curer, &format!("{}/sheet", story.path)).await;
    assert!(empty.all(".room").len() > 8, "room for initials and weights");
    story.cured().await;
    let page = story.shop.get(Cast::Curer, &format!("{}/sheet", story.path)).await;
    assert!(page.one("h1").contains("26328-06"));
    assert!(page.text.contains("<svg class=\"qr\""));
    assert!(page.text.contains("Hazelrigg Farm"));
    assert!(page.text.contains("99 g") && page.text.contains("156"));
    assert!(page.text.contains("2 to 4 °C") && page.text.contains("regulator"));
    assert_eq!(page.attribute("body", "class").as_deref(), Some("paper a4"));
    let letter = story.shop.get(Cast::Curer, &format!("{}/sheet?paper=letter", story.path)).await;
    assert_eq!(letter.attribute("body", "class").as_deref(), Some("paper letter"));
    assert!(page.text.contains("Not for sale"));
}

#[tokio::test]
async fn a_batch_begun_by_mistake_is_struck_before_anything_goes_into_it() {
    let story = loins().await;
    let strike = hrefs(&story.page().await, "a.strike")[0].clone();
    goes_to(&story.muscle("2000").await);
    let refused = story.shop.post(Cast::Curer, &strike, &[("reason", "twice")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let muscle = hrefs(&story.page().await, "a.strike")[0].clone();
    goes_to(&story.shop.post(Cast::Curer, &muscle, &[("reason", "wrong loin")]).await);
    goes_to(&story.shop.post(Cast::Curer, &strike, &[("reason", "twice")]).await);
    assert_eq!(story.page().await.status, StatusCode::NOT_FOUND);
    assert_eq!(story.shop.lot_now(story.loin).await.grams, Grams::whole(3_600));
    assert_eq!(story.shop.verify().await.findings, []);
}
