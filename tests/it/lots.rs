//! The page of a lot, counting it, and finding it by its code.

use axum::http::StatusCode;
use flitchbook::measure::Grams;
use time::Duration;

use crate::shop::{Cast, Shop, goes_to};

#[tokio::test]
async fn a_piece_shows_the_way_it_came_and_that_it_is_not_for_sale() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let page = shop.get(Cast::Inspector, &made.pieces[0].lot.path()).await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.all(".stamp"), ["Not for sale"]);
    let way = page.all("ol.way li");
    assert!(way[0].starts_with("Hazelrigg Farm"), "{way:?}");
    assert!(way[1].contains("pork loin"), "{way:?}");
    assert!(way[2].contains("recipe version 1"), "{way:?}");
    assert!(way[3].contains("this piece"), "{way:?}");
    let went = page.all("table.fold tbody th");
    assert_eq!(went, ["pork loin", "sea salt", "curing salt"]);
    assert!(page.all("form[method=post]").is_empty());
}

#[tokio::test]
async fn what_stands_before_sale_is_a_list_of_recorded_facts() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    for _ in 0..3 {
        // Whoever comes every three weeks stays signed in.
        shop.later(Duration::days(20));
        for cast in [Cast::Owner, Cast::Curer, Cast::Reviewer] {
            shop.get(cast, "/hanging").await;
        }
    }
    let code = made.pieces[0].code.to_string();
    let fields = [
        ("code", code.as_str()),
        ("known", &code),
        ("weight", "1290"),
        ("weight_unit", "g"),
        ("again", "yes"),
    ];
    goes_to(&shop.post(Cast::Curer, "/hanging/weigh", &fields).await);
    let page = shop.get(Cast::Curer, &made.pieces[0].lot.path()).await;
    let stands = page.all("ol.stands li");
    for (word, what) in [
        ("met", "curing salt weighed in, 9 g"),
        ("met", "60 days in drying"),
        ("met", "Loss of 35 %: 35.5 %"),
        ("not yet", "Release by a person"),
    ] {
        let stands_there = stands.iter().any(|stand| stand.starts_with(word) && stand.contains(what));
        assert!(stands_there, "{word}, {what}: {stands:?}");
    }
    assert!(!page.text.to_lowercase().contains("is safe"));
    shop.release(&made).await;
    let page = shop.get(Cast::Curer, &made.pieces[0].lot.path()).await;
    assert!(page.all(".stamp").is_empty());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_carcass_shows_where_it_came_from_and_what_became_of_it() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await;
    let opened =
        shop.post(Cast::Cutter, "/block", &[("lot", &carcass.lot.to_string()), ("cut_list", "")]).await;
    let breakdown = goes_to(&opened);
    let (collar, cooler) = (things.collar.id.to_string(), things.cooler.id.to_string());
    let cut = [
        ("cut", collar.as_str()),
        ("weight", "7.18"),
        ("weight_unit", "kg"),
        ("pieces", "2"),
        ("goes_to", "whole-muscle cure"),
        ("place", &cooler),
    ];
    goes_to(&shop.post(Cast::Cutter, &breakdown, &cut).await);
    let page = shop.get(Cast::Cutter, &carcass.lot.path()).await;
    assert!(page.one("dl.facts").contains("Hazelrigg Farm"), "{}", page.one("dl.facts"));
    assert_eq!(page.one("table.fold tbody th"), "26328-01.01 pork collar");
    assert_eq!(page.all("table.fold tbody .num"), ["7.180 kg", "7.180 kg"]);
    assert_eq!(page.attribute("dl.facts a[href*=breakdowns]", "href"), Some(breakdown));
}

#[tokio::test]
async fn a_count_that_finds_less_needs_a_reason_and_can_be_struck() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let path = format!("{}/count", larder.salt_lot.path());
    let page =
        shop.post(Cast::Cutter, &path, &[("weight", "24"), ("weight_unit", "kg"), ("reason", "")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("reason").contains("Say why"), "{}", page.error_at("reason"));
    assert_eq!(page.attribute("#f-weight", "value").as_deref(), Some("24"));
    let fields = [("weight", "24"), ("weight_unit", "kg"), ("reason", "spilt at the mixer")];
    assert_eq!(goes_to(&shop.post(Cast::Cutter, &path, &fields).await), larder.salt_lot.path());
    assert_eq!(shop.lot_now(larder.salt_lot).await.grams, Grams::whole(24_000));
    let page = shop.get(Cast::Cutter, &larder.salt_lot.path()).await;
    assert_eq!(page.one("table.fold tbody th"), "missing");
    let strike = page.attribute("a.strike", "href").unwrap();
    goes_to(&shop.post(Cast::Cutter, &strike, &[("reason", "found the bucket")]).await);
    assert_eq!(shop.lot_now(larder.salt_lot).await.grams, Grams::whole(25_000));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_sack_can_be_counted_empty_and_a_form_sent_twice_is_one_count() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let path = format!("{}/count", larder.pepper_lot.path());
    let id = shop.get(Cast::Owner, &path).await.form_id();
    let fields = [("id", id.as_str()), ("weight", "0"), ("weight_unit", "g"), ("reason", "the tin is empty")];
    goes_to(&shop.post_raw(Cast::Owner, &path, &fields).await);
    let lines = shop.lines().await;
    goes_to(&shop.post_raw(Cast::Owner, &path, &fields).await);
    assert_eq!(shop.lines().await, lines);
    assert!(shop.lot_now(larder.pepper_lot).await.grams.is_zero());
    assert_eq!(shop.get(Cast::Owner, &larder.pepper_lot.path()).await.all(".stamp"), ["Nothing left"]);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_count_that_cannot_be_is_refused_with_what_was_typed_kept() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let salt = shop.carcass(&things, 90_000).await;
    let path = format!("{}/count", salt.lot.path());
    let lines = shop.lines().await;
    let long = "7".repeat(300);
    for weight in ["", "-1", "much", "3 stone", "1e12", &long] {
        let page = shop.post(Cast::Owner, &path, &[("weight", weight), ("reason", "x")]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{weight:.20}");
        assert!(!page.error_at("weight").is_empty(), "{weight:.20}");
        assert_eq!(page.attribute("#f-weight", "value").as_deref(), Some(weight));
    }
    let piece = format!("{}/count", made.pieces[0].lot.path());
    let page = shop.post(Cast::Owner, &piece, &[("weight", "1 kg"), ("reason", "x")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let fields = [("weight", "80 kg"), ("reason", "x")];
    assert_eq!(shop.post(Cast::Inspector, &path, &fields).await.status, StatusCode::FORBIDDEN);
    assert_eq!(shop.post(Cast::Stranger, &path, &fields).await.status, StatusCode::UNAUTHORIZED);
    let nobody = "/lots/00000000-0000-7000-8000-0000000000ff";
    assert_eq!(
        shop.post(Cast::Owner, &format!("{nobody}/count"), &fields).await.status,
        StatusCode::NOT_FOUND
    );
    for path in [nobody, "/lots/26329-02", &format!("{nobody}/count")] {
        assert_eq!(shop.get(Cast::Owner, path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn any_way_of_typing_or_scanning_a_code_leads_to_its_page() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let (code, page) = (made.pieces[0].code.to_string(), made.pieces[0].lot.path());
    let asked = |text: &str| format!("/find?{}", serde_html_form::to_string([("code", text)]).unwrap());
    for text in [
        code.clone(),
        format!(" L {code} "),
        format!("LOT{code}"),
        format!("https://book.example/t/{code}"),
        format!("https://book.example{page}"),
    ] {
        assert_eq!(goes_to(&shop.get(Cast::Cutter, &asked(&text)).await), page, "{text}");
    }
    assert_eq!(goes_to(&shop.get(Cast::Cutter, &format!("/t/{code}")).await), page);
    assert_eq!(goes_to(&shop.get(Cast::Cutter, &format!("/t/l{code}")).await), page);
    assert_eq!(goes_to(&shop.get(Cast::Cutter, &asked(&made.code.to_string())).await), made.batch.path());
}

#[tokio::test]
async fn a_code_that_is_on_no_tag_stays_typed_and_the_trace_is_offered() {
    let shop = Shop::open().await;
    for (text, query) in [("26001-77.03", "26001-77.03"), ("UK 201 00417", "UK+201+00417")] {
        let page = shop.get(Cast::Cutter, &format!("/find?code={query}")).await;
        assert_eq!(page.status, StatusCode::NOT_FOUND, "{text}");
        assert_eq!(page.attribute("#f-code", "value").as_deref(), Some(text));
        assert_eq!(page.attribute("main p a", "href"), Some(format!("/trace?code={query}")));
    }
    assert_eq!(shop.get(Cast::Cutter, "/t/nothing").await.status, StatusCode::NOT_FOUND);
    let empty = shop.get(Cast::Cutter, "/find?code=+").await;
    assert_eq!((empty.status, empty.one("h1")), (StatusCode::OK, "Find by code".to_owned()));
    assert!(empty.all(".errors").is_empty());
    assert_eq!(shop.get(Cast::Stranger, "/find?code=26001-77").await.status, StatusCode::SEE_OTHER);
}
