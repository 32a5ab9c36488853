//! What follows the making: stages, what is due, release.

use axum::http::StatusCode;
use flitchbook::batches;
use flitchbook::recipes::Stage;
use time::Duration;

use super::{hrefs, loins};
use crate::shop::{Cast, MORNING, Shop, goes_to};

#[tokio::test]
async fn loins_go_from_the_cut_into_cure_and_on_to_drying_and_release() {
    let story = loins().await;
    assert!(story.page().await.one("form.sheet h2").contains("Take a muscle"));
    goes_to(&story.muscle("2000").await);
    goes_to(&story.muscle("1600").await);
    // 2.75 % of 3,600 g.
    let page = story.page().await;
    assert!(page.one("form.sheet h2").contains("Weigh sea salt"));
    assert_eq!(page.one("form.sheet dd.big"), "99 g");
    goes_to(&story.weigh("1", story.larder.salt_lot, "100").await);
    assert!(story.page().await.one("form.sheet h2").contains("Weigh curing salt"));
    goes_to(&story.weigh("2", story.larder.cure_lot, "9").await);
    let page = story.page().await;
    assert!(page.one("form.sheet h2").contains("Lay the cure on"));
    // USDA FSIS Directive 7620.3, dry cured: 9 g × 6.25 % over 3,600 g.
    assert!(
        page.text.contains("of the green weight")
            && page.all("dl.figures dd.big").contains(&"156 ppm".into())
    );
    goes_to(&story.post("cure", &[]).await);
    // 109 g over 2,000 and 1,600 g.
    assert_eq!(story.shop.grams("26328-06.01").await.to_string(), "2060.56");
    assert_eq!(story.shop.grams("26328-06.02").await.to_string(), "1648.44");
    let fridge = story.larder.fridge.id.to_string();
    let chamber = story.larder.chamber.id.to_string();
    goes_to(&story.post("stages", &[("stage", "curing"), ("place", &fridge)]).await);
    story.shop.later(Duration::days(14));
    goes_to(&story.post("stages", &[("stage", "drying"), ("place", &chamber)]).await);
    let leads = story.shop.get(Cast::Reviewer, &format!("{}?act=release", story.path)).await;
    let release = goes_to(&leads);
    let batch = story.path.rsplit('/').next().unwrap().parse().unwrap();
    let pieces: Vec<_> = story.shop.batch_now(batch).await.pieces.iter().map(|piece| piece.lot.id).collect();
    story.shop.evidence(batch, story.larder.cured_loin.id, &pieces).await;
    let page = story.shop.get(Cast::Reviewer, &release).await;
    let first = page.attribute("input[name=pieces]", "value").unwrap();
    let fields = [("pieces", first.as_str()), ("note", "the cut is even")];
    goes_to(&story.shop.post(Cast::Reviewer, &release, &fields).await);
    let page = story.page().await;
    assert!(page.one(".stamp").contains("Not for sale"), "one piece still waits");
    assert_eq!(
        page.all("td[data-name='How it stands'] .state").iter().filter(|s| *s == "released").count(),
        1
    );
    assert!(!page.text.to_lowercase().contains("safe to eat"));
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn stages_follow_the_recipe_or_say_why_not() {
    let story = loins().await;
    story.cured().await;
    let fridge = story.larder.fridge.id.to_string();
    for (stage, place, when, field) in [
        ("drying", fridge.as_str(), "", "reason"),
        ("released", &fridge, "", "stage"),
        ("", &fridge, "", "stage"),
        ("curing", "", "", "place"),
        ("curing", "00000000-0000-7000-8000-000000000000", "", "place"),
        ("curing", &fridge, "2026-11-01T08:00", "when"),
        ("curing", &fridge, "2027-11-01T08:00", "when"),
    ] {
        let page = story.post("stages", &[("stage", stage), ("place", place), ("when", when)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{stage} {when}");
        assert!(!page.error_at(field).is_empty(), "{stage} {when}: {:?}", page.all(".error"));
    }
    goes_to(&story.post("stages", &[("stage", "curing"), ("place", &fridge)]).await);
    let waits = story.page().await;
    assert!(waits.one("section.sheet").contains("lasts until 8 Dec 09:40"), "{}", waits.one("section.sheet"));
    assert!(waits.all("form.sheet").is_empty());
    story.shop.later(Duration::days(13));
    let early = story.post("stages", &[("stage", "drying"), ("place", &fridge)]).await;
    assert!(early.error_at("reason").contains("24 h short"), "{}", early.error_at("reason"));
    let said = [("stage", "drying"), ("place", fridge.as_str()), ("reason", "thin muscles")];
    goes_to(&story.post("stages", &said).await);
    assert!(story.page().await.one("table.lines .state").contains("not as planned"));
    // Struck, it cures again.
    let strike = hrefs(&story.page().await, "a.strike")[0].clone();
    goes_to(&story.shop.post(Cast::Curer, &strike, &[("reason", "not yet")]).await);
    let code = "26328-06".parse().unwrap();
    let mix =
        flitchbook::book::db::lot_by_code(&mut story.shop.app.db().await.unwrap(), &code).await.unwrap();
    assert!(mix.is_some());
    assert!(story.page().await.text.contains("curing, in curing fridge"));
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_batch_is_due_when_its_stage_has_had_its_hours() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let due = batches::due(&mut shop.app.db().await.unwrap()).await.unwrap();
    let [only] = due.as_slice() else { panic!("{due:?}") };
    assert_eq!((only.batch, only.stage, only.next), (made.batch, Stage::Drying, None));
    assert_eq!(only.over_at, MORNING + Duration::hours(1_440));
    assert_eq!(only.place_name, "chamber 1");
    shop.release(&made).await;
    assert!(batches::due(&mut shop.app.db().await.unwrap()).await.unwrap().is_empty());
    assert!(shop.get(Cast::Cutter, "/batches").await.text.contains("Released"));
}

#[tokio::test]
async fn a_release_is_somebodys_who_may_decide_and_never_of_a_held_piece() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let path = format!("/release/{}", made.batch);
    shop.evidence_of(&made).await;
    let piece = made.pieces[0].lot.to_string();
    for cast in [Cast::Cutter, Cast::Curer, Cast::Inspector] {
        let page = shop.post(cast, &path, &[("pieces", &piece)]).await;
        assert_eq!(page.status, StatusCode::FORBIDDEN, "{cast:?}");
    }
    let nothing = shop.post(Cast::Reviewer, &path, &[]).await;
    assert!(nothing.error_at("pieces").contains("Choose"), "{:?}", nothing.all(".error"));
    let foreign =
        shop.post(Cast::Reviewer, &path, &[("pieces", &uuid::Uuid::from_u128(3).to_string())]).await;
    assert_eq!(foreign.status, StatusCode::UNPROCESSABLE_ENTITY);
    goes_to(&shop.post(Cast::Owner, &path, &[("pieces", &piece)]).await);
    let twice = shop.post(Cast::Owner, &path, &[("pieces", &piece)]).await;
    assert!(twice.error_at("pieces").contains("released already"));
    goes_to(&shop.post(Cast::Owner, &path, &[("pieces", &made.pieces[1].lot.to_string())]).await);
    assert!(shop.get(Cast::Inspector, &made.batch.path()).await.one(".stamp").contains("Released"));
    // Struck, the batch dries again.
    let page = shop.get(Cast::Owner, &made.batch.path()).await;
    goes_to(&shop.post(Cast::Owner, &hrefs(&page, "a.strike")[0], &[("reason", "wrong piece")]).await);
    let batch = shop.batch_now(made.batch).await;
    assert_eq!(batch.stage, Stage::Drying);
    assert_eq!(batch.place.map(|place| place.name), Some("chamber 1".into()));
    assert_eq!(batch.pieces.iter().filter(|piece| piece.released).count(), 1);
    assert_eq!(shop.verify().await.findings, []);
}
