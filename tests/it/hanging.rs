//! Hanging, moving and weighing in, through the router and a real database.

use axum::http::StatusCode;
use flitchbook::ids::{Named, PlaceId};
use flitchbook::measure::Grams;
use flitchbook::setup::entry::{PlaceKind, PlaceWritten};
use time::Duration;
use uuid::Uuid;

use crate::shop::{Cast, Made, Page, Shop, Things, goes_to};

const WEIGH: &str = "/hanging/weigh";

/// A shop with two loins in the stage drying: 2,000 g and 1,600 g green, each with 3 % of salt and cure on it.
async fn drying() -> (Shop, Things, Made) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    shop.later(Duration::days(7));
    (shop, things, made)
}

/// A rail in no chamber.
async fn rail(shop: &Shop) -> Named<PlaceId> {
    let rail = Named::new(PlaceId(Uuid::from_u128(401)), "rail B");
    let (place, name) = (rail.id, rail.name.clone());
    let note = String::new();
    let kind = PlaceKind::Rail;
    shop.sign(PlaceWritten { place, name, kind, within: None, read_every: None, note, retired: false }).await;
    rail
}

async fn weigh(shop: &Shop, code: &str, weight: &str, more: &[(&str, &str)]) -> Page {
    let mut fields = vec![("code", code), ("known", code), ("weight", weight), ("weight_unit", "g")];
    fields.extend_from_slice(more);
    shop.post(Cast::Curer, WEIGH, &fields).await
}

async fn signed(shop: &Shop, code: &str, weight: &str) -> String {
    goes_to(&weigh(shop, code, weight, &[]).await)
}

#[tokio::test]
async fn a_signed_weight_stands_on_top_and_the_code_field_waits_for_the_next_piece() {
    let (shop, _, made) = drying().await;
    let code = made.pieces[0].code.to_string();
    let next = signed(&shop, &code, "1900").await;
    let page = shop.get(Cast::Curer, &next).await;
    assert!(page.one("tr.fresh .what").contains(&code), "{}", page.one("tr.fresh"));
    assert_eq!(page.one("tr.fresh .figure"), "1.900 kg");
    assert_eq!(page.one("tr.fresh .second"), "\u{2212}160 g");
    assert!(page.attribute("#f-code", "autofocus").is_some());
    assert_eq!(shop.grams(&code).await, Grams::whole(1_900));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn loss_is_held_against_the_green_weight_and_never_against_the_weigh_in_before() {
    let (shop, _, made) = drying().await;
    let code = made.pieces[0].code.to_string();
    for weight in ["1900", "1700", "1500"] {
        signed(&shop, &code, weight).await;
        shop.later(Duration::days(7));
    }
    let page = shop.get(Cast::Curer, &format!("/lots/{}", made.pieces[0].lot)).await;
    // 2,000 g green, 1,500 g now: 25 % lost. Against the 1,700 g before it would read 11.8 %.
    assert_eq!(page.one("dl.figures .chief dd.big"), "25.0 %");
}

#[tokio::test]
async fn only_the_latest_weigh_in_can_be_struck_and_the_weight_before_counts_again() {
    let (shop, _, made) = drying().await;
    let code = made.pieces[0].code.to_string();
    let first = signed(&shop, &code, "1900").await;
    shop.later(Duration::days(7));
    let second = signed(&shop, &code, "1700").await;
    let seq = |address: &str| address.rsplit_once("signed=").unwrap().1.to_owned();
    let reason = [("reason", "read the hook beside it")];
    let refused = shop.post(Cast::Curer, &format!("/entries/{}/strike", seq(&first)), &reason).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.one(".errors").contains(&seq(&second)), "{}", refused.one(".errors"));
    goes_to(&shop.post(Cast::Curer, &format!("/entries/{}/strike", seq(&second)), &reason).await);
    assert_eq!(shop.grams(&code).await, Grams::whole(1_900));
    let page = shop.get(Cast::Curer, &format!("/lots/{}", made.pieces[0].lot)).await;
    assert_eq!(page.one("dl.figures .chief dd.big"), "5.0 %");
    assert_eq!(page.all("svg.chart circle.struck title").len(), 1);
    assert!(page.one("tr.struck").contains("read the hook beside it"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_gain_is_signed_only_with_its_reason() {
    let (shop, _, made) = drying().await;
    let code = made.pieces[0].code.to_string();
    signed(&shop, &code, "1900").await;
    let page = weigh(&shop, &code, "1912", &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("reason").contains("12 g more"), "{}", page.error_at("reason"));
    assert_eq!(page.attribute("#f-weight", "value").as_deref(), Some("1912"));
    goes_to(&weigh(&shop, &code, "1912", &[("reason", "rind was wet")]).await);
    assert_eq!(shop.grams(&code).await, Grams::whole(1_912));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_weight_of_another_hook_is_asked_about_before_it_is_signed() {
    let (shop, _, made) = drying().await;
    let code = made.pieces[0].code.to_string();
    let lines = shop.lines().await;
    assert!(shop.get(Cast::Curer, &format!("{WEIGH}?code={code}")).await.all("#f-again").is_empty());
    // From 2,060 g to 1,700 g is 18 points of 2,000 g green.
    let page = weigh(&shop, &code, "1700", &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("again").contains("18.0 %"), "{}", page.error_at("again"));
    assert_eq!(shop.lines().await, lines);
    goes_to(&weigh(&shop, &code, "1700", &[("again", "yes")]).await);
    assert_eq!(shop.grams(&code).await, Grams::whole(1_700));
}

#[tokio::test]
async fn a_scanned_code_shows_its_piece_and_writes_nothing() {
    let (shop, _, made) = drying().await;
    let code = made.pieces[1].code.to_string();
    let lines = shop.lines().await;
    let fields = [("code", code.as_str()), ("known", ""), ("weight", ""), ("weight_unit", "kg")];
    let next = goes_to(&shop.post(Cast::Curer, WEIGH, &fields).await);
    let page = shop.get(Cast::Curer, &next).await;
    assert_eq!(page.one("form.sheet h2 .code"), code);
    assert!(page.attribute("#f-weight", "autofocus").is_some());
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn a_round_offers_the_pieces_of_a_place_one_after_another() {
    let (shop, _, made) = drying().await;
    let place = shop.lot_now(made.pieces[0].lot).await.place.unwrap().to_string();
    let codes: Vec<String> = made.pieces.iter().map(|piece| piece.code.to_string()).collect();
    let page = shop.get(Cast::Curer, &format!("{WEIGH}?place={place}")).await;
    assert_eq!(page.attribute("#f-code", "value").as_ref(), Some(&codes[0]));
    let next = goes_to(&weigh(&shop, &codes[0], "1950", &[("place", &place)]).await);
    let page = shop.get(Cast::Curer, &next).await;
    assert_eq!(page.attribute("#f-code", "value").as_ref(), Some(&codes[1]));
    let next = goes_to(&weigh(&shop, &codes[1], "1580", &[("place", &place)]).await);
    let page = shop.get(Cast::Curer, &next).await;
    assert!(page.one("main .soft").contains("all 2 pieces here are weighed in today"));
}

#[tokio::test]
async fn a_form_sent_twice_is_one_weigh_in() {
    let (shop, _, made) = drying().await;
    let code = made.pieces[0].code.to_string();
    let id = shop.get(Cast::Curer, &format!("{WEIGH}?code={code}")).await.form_id();
    let fields =
        [("id", id.as_str()), ("code", &code), ("known", &code), ("weight", "1.9"), ("weight_unit", "kg")];
    let first = goes_to(&shop.post_raw(Cast::Curer, WEIGH, &fields).await);
    let lines = shop.lines().await;
    assert_eq!(goes_to(&shop.post_raw(Cast::Curer, WEIGH, &fields).await), first);
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn a_weigh_in_that_cannot_be_read_or_cannot_be_is_refused_with_what_was_typed_kept() {
    let (shop, things, made) = drying().await;
    let code = made.pieces[0].code.to_string();
    let carcass = shop.carcass(&things, 90_000).await.code.to_string();
    signed(&shop, &code, "2000").await;
    let long = "9".repeat(300);
    let lines = shop.lines().await;
    let cases: &[(&str, &str, &str, &str)] = &[
        // field that says no, code, weight, when
        ("code", "", "1900", ""),
        ("code", "no code at all", "1900", ""),
        ("code", &long, "1900", ""),
        ("code", "26001-99.01", "1900", ""),
        ("code", &carcass, "1900", ""),
        ("weight", &code, "", ""),
        ("weight", &code, "0", ""),
        ("weight", &code, "-3", ""),
        ("weight", &code, "two pounds", ""),
        ("weight", &code, "3 stone", ""),
        ("weight", &code, &long, ""),
        ("weight", &code, "1e9 kg", ""),
        ("reason", &code, "90 kg", ""),
        ("again", &code, "1.9 g", ""),
        ("when", &code, "1900", "2026-13-41T09:00"),
        ("when", &code, "1900", "2031-01-01T09:00"),
        ("when", &code, "1900", "2026-11-01T09:00"),
    ];
    for (field, code, weight, when) in cases {
        let fields =
            [("code", *code), ("known", *code), ("weight", *weight), ("weight_unit", "g"), ("when", *when)];
        let page = shop.post(Cast::Curer, WEIGH, &fields).await;
        let case = format!("{field}: {code:.30} {weight:.30} {when}");
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{case}");
        assert!(!page.error_at(field).is_empty(), "{case}: {}", page.one(".errors"));
        assert_eq!(page.attribute("#f-code", "value").as_deref(), Some(*code), "{case}");
        assert_eq!(page.attribute("#f-weight", "value").as_deref(), Some(*weight), "{case}");
        assert_eq!(shop.lines().await, lines, "{case}");
    }
    let no_scale = [("scale", "00000000-0000-7000-8000-0000000000ff")];
    assert_eq!(weigh(&shop, &code, "1900", &no_scale).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    let without_number =
        [("code", code.as_str()), ("known", &code), ("weight", "1900"), ("weight_unit", "g")];
    let page = shop.post_raw(Cast::Curer, WEIGH, &without_number).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(shop.lines().await, lines);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn who_may_not_hang_reads_and_signs_nothing() {
    let (shop, _, made) = drying().await;
    let code = made.pieces[0].code.to_string();
    let place = shop.lot_now(made.pieces[0].lot).await.place.unwrap();
    for path in ["/hanging", WEIGH, "/hanging/move", &place.path()] {
        assert_eq!(shop.get(Cast::Inspector, path).await.status, StatusCode::OK, "{path}");
        assert!(shop.get(Cast::Inspector, path).await.all("form[method=post]").is_empty(), "{path}");
        assert_eq!(shop.get(Cast::Stranger, path).await.status, StatusCode::SEE_OTHER, "{path}");
    }
    let lines = shop.lines().await;
    let fields = [("code", code.as_str()), ("weight", "1900"), ("codes", &code), ("to", "")];
    for path in [WEIGH, "/hanging/move"] {
        assert_eq!(shop.post(Cast::Inspector, path, &fields).await.status, StatusCode::FORBIDDEN, "{path}");
        assert_eq!(shop.post(Cast::Stranger, path, &fields).await.status, StatusCode::UNAUTHORIZED, "{path}");
    }
    assert_eq!(shop.lines().await, lines);
    let nowhere = "/hanging/places/00000000-0000-7000-8000-0000000000ff";
    assert_eq!(shop.get(Cast::Curer, nowhere).await.status, StatusCode::NOT_FOUND);
    assert_eq!(shop.get(Cast::Curer, "/hanging/places/cooler").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn ticked_pieces_move_and_a_struck_move_brings_them_back() {
    let (shop, _, made) = drying().await;
    let rail = rail(&shop).await;
    let chamber = shop.lot_now(made.pieces[0].lot).await.place.unwrap();
    let lots: Vec<String> = made.pieces.iter().map(|piece| piece.lot.to_string()).collect();
    let to = rail.id.to_string();
    let fields = [("lot", lots[0].as_str()), ("lot", &lots[1]), ("to", &to)];
    assert_eq!(goes_to(&shop.post(Cast::Curer, "/hanging/move", &fields).await), rail.id.path());
    let page = shop.get(Cast::Curer, &rail.id.path()).await;
    assert_eq!(page.all("table tbody th .code").len(), 2);
    let lot = shop.get(Cast::Curer, &format!("/lots/{}", lots[0])).await;
    assert!(lot.one(".headline + .soft").contains("rail B"), "{}", lot.one(".headline + .soft"));
    let strike = lot.attribute("a.strike", "href").unwrap();
    goes_to(&shop.post(Cast::Curer, &strike, &[("reason", "wrong rail")]).await);
    assert_eq!(shop.lot_now(made.pieces[0].lot).await.place, Some(chamber));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn one_piece_hangs_on_a_hook_and_leaves_it_when_it_is_moved() {
    let (shop, _, made) = drying().await;
    let rail = rail(&shop).await;
    let chamber = shop.lot_now(made.pieces[0].lot).await.place.unwrap().to_string();
    let code = made.pieces[0].code.to_string();
    let to = rail.id.to_string();
    goes_to(&shop.post(Cast::Curer, "/hanging/move", &[("codes", &code), ("to", &to), ("hook", "14")]).await);
    let path = format!("/lots/{}", made.pieces[0].lot);
    assert!(shop.get(Cast::Curer, &path).await.one(".headline + .soft").ends_with("rail B, hook 14"));
    goes_to(&shop.post(Cast::Curer, "/hanging/move", &[("codes", &code), ("to", &chamber)]).await);
    assert!(!shop.get(Cast::Curer, &path).await.one(".headline + .soft").contains("hook"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_move_that_cannot_be_is_refused_with_what_was_typed_kept() {
    let (shop, _, made) = drying().await;
    let to = rail(&shop).await.id.to_string();
    let there = shop.lot_now(made.pieces[0].lot).await.place.unwrap().to_string();
    let code = made.pieces[0].code.to_string();
    let both = format!("{code}\n{}", made.pieces[1].code);
    let lines = shop.lines().await;
    let long = "x".repeat(50);
    let cases: &[(&str, &str, &str, &str, &str)] = &[
        ("codes", "", &to, "", ""),
        ("codes", "collar", &to, "", ""),
        ("codes", "26001-99.01", &to, "", ""),
        ("to", &code, "", "", ""),
        ("to", &code, "chamber", "", ""),
        ("to", &code, "00000000-0000-7000-8000-0000000000ff", "", ""),
        ("to", &code, &there, "", ""),
        ("hook", &both, &to, "14", ""),
        ("hook", &code, &to, &long, ""),
        ("when", &code, &to, "", "tomorrow"),
        ("when", &code, &to, "", "2031-01-01T09:00"),
    ];
    for (field, codes, to, hook, when) in cases {
        let fields = [("codes", *codes), ("to", *to), ("hook", *hook), ("when", *when)];
        let page = shop.post(Cast::Curer, "/hanging/move", &fields).await;
        let case = format!("{field}: {codes} {to} {hook:.10} {when}");
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{case}");
        assert!(!page.error_at(field).is_empty(), "{case}: {}", page.one(".errors"));
        assert_eq!(page.one("#f-codes"), codes.split_whitespace().collect::<Vec<_>>().join(" "), "{case}");
    }
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn the_chambers_show_how_far_along_their_pieces_are_and_what_is_due() {
    let (shop, _, made) = drying().await;
    signed(&shop, &made.pieces[0].code.to_string(), "1900").await;
    let page = shop.get(Cast::Curer, "/hanging").await;
    let tile = page.one("a.tile.due");
    assert!(tile.contains("2 pieces"), "{tile}");
    assert!(tile.contains("driest 5.0 %, wettest 0.0 %"), "{tile}");
    assert!(tile.contains("1 due on the scale"), "{tile}");
}

#[tokio::test]
async fn what_a_piece_loses_in_cure_is_purge() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let made = shop.dry_cure_of(&things, &larder).await;
    shop.stage(&made, flitchbook::recipes::Stage::Curing, &larder.fridge).await;
    shop.later(Duration::days(2));
    signed(&shop, &made.pieces[0].code.to_string(), "2000").await;
    let purge: i64 = sqlx::query_scalar("SELECT sum(grams)::bigint FROM movement WHERE account = 'purge'")
        .fetch_one(&shop.app.book.pool)
        .await
        .unwrap();
    assert_eq!(purge, 60);
    assert_eq!(shop.verify().await.findings, []);
}
