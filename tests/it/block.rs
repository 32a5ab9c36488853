//! At the block, through the router and a real database.

use axum::http::StatusCode;

use crate::shop::{Cast, Shop, Things, goes_to};

/// A shop with a carcass of 92.4 kg on the block; the address of its breakdown.
async fn on_the_block() -> (Shop, Things, String) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await;
    let opened =
        shop.post(Cast::Cutter, "/block", &[("lot", &carcass.lot.to_string()), ("cut_list", "")]).await;
    let path = goes_to(&opened);
    (shop, things, path)
}

fn collar<'a>(things: &'a Fields, weight: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("cut", things.collar.as_str()),
        ("weight", weight),
        ("weight_unit", "kg"),
        ("pieces", "2"),
        ("goes_to", "whole-muscle cure"),
        ("place", things.cooler.as_str()),
    ]
}

struct Fields {
    collar: String,
    cooler: String,
}

impl Fields {
    fn of(things: &Things) -> Self {
        Self { collar: things.collar.id.to_string(), cooler: things.cooler.id.to_string() }
    }
}

#[tokio::test]
async fn a_signed_cut_shows_at_once_and_the_balance_moves() {
    let (shop, things, path) = on_the_block().await;
    let fields = Fields::of(&things);
    assert_eq!(goes_to(&shop.post(Cast::Cutter, &path, &collar(&fields, "7.18")).await), path);
    let page = shop.get(Cast::Cutter, &path).await;
    assert_eq!(page.all("dl.figures dd.big"), ["92.40 kg", "7.180 kg", "85.22 kg"]);
    assert_eq!(page.one("table.lines tbody tr .initials"), "CU");
    assert_eq!(shop.grams("26328-01.01").await.decimal(), rust_decimal::dec!(7180));
    assert_eq!(shop.grams("26328-01").await.decimal(), rust_decimal::dec!(85220));
}

#[tokio::test]
async fn a_weight_is_understood_in_pounds_and_ounces() {
    let (shop, things, path) = on_the_block().await;
    shop.post(Cast::Cutter, &path, &collar(&Fields::of(&things), "2 lb 8 oz")).await;
    // 2.5 lb at 453.59237 g to the pound (NIST SP 811, appendix B).
    assert_eq!(shop.grams("26328-01.01").await.decimal(), rust_decimal::dec!(1133.98));
}

#[tokio::test]
async fn a_cut_heavier_than_what_lies_on_the_block_is_refused_and_stays_typed() {
    let (shop, things, path) = on_the_block().await;
    let before = shop.lines().await;
    let page = shop.post(Cast::Cutter, &path, &collar(&Fields::of(&things), "92.41")).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("weight").contains("92.40"), "{}", page.error_at("weight"));
    assert_eq!(page.attribute("input[name=weight]", "value").as_deref(), Some("92.41"));
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn a_form_sent_twice_is_one_cut() {
    let (shop, things, path) = on_the_block().await;
    let id = shop.get(Cast::Cutter, &path).await.form_id();
    let fields = Fields::of(&things);
    let mut sent = vec![("id", id.as_str())];
    sent.extend(collar(&fields, "7.18"));
    shop.post_raw(Cast::Cutter, &path, &sent).await;
    let before = shop.lines().await;
    assert_eq!(goes_to(&shop.post_raw(Cast::Cutter, &path, &sent).await), path);
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn another_weight_on_a_form_that_was_signed_before_is_not_lost_in_silence() {
    let (shop, things, path) = on_the_block().await;
    let id = shop.get(Cast::Cutter, &path).await.form_id();
    let fields = Fields::of(&things);
    for weight in ["7.18", "3.02"] {
        let mut sent = vec![("id", id.as_str())];
        sent.extend(collar(&fields, weight));
        let page = shop.post_raw(Cast::Cutter, &path, &sent).await;
        if weight == "3.02" {
            assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
            assert!(page.one(".errors").contains("signed before"), "{}", page.one(".errors"));
            assert_eq!(page.attribute("input[name=weight]", "value").as_deref(), Some("3.02"));
        }
    }
}

#[tokio::test]
async fn an_inspector_reads_the_breakdown_and_weighs_nothing() {
    let (shop, things, path) = on_the_block().await;
    assert_eq!(shop.get(Cast::Inspector, &path).await.status, StatusCode::OK);
    assert!(shop.get(Cast::Inspector, &path).await.all("form.sheet").is_empty());
    let page = shop.post(Cast::Inspector, &path, &collar(&Fields::of(&things), "1")).await;
    assert_eq!(page.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_wrong_line_is_struck_and_its_weight_lies_on_the_block_again() {
    let (shop, things, path) = on_the_block().await;
    shop.post(Cast::Cutter, &path, &collar(&Fields::of(&things), "7.62")).await;
    let strike = shop.get(Cast::Cutter, &path).await.attribute("a.strike", "href").unwrap();
    let struck = shop.post(Cast::Cutter, &strike, &[("reason", "knife lay on the scale")]).await;
    assert_eq!(struck.status, StatusCode::SEE_OTHER, "{}", struck.text);
    let page = shop.get(Cast::Cutter, &path).await;
    assert_eq!(page.all("dl.figures dd.big")[2], "92.40 kg");
    assert!(page.one("tr.struck").contains("by CU: knife lay on the scale"), "{}", page.one("tr.struck"));
    assert!(shop.grams("26328-01.01").await.is_zero());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_strike_between_two_lines_does_not_move_their_shares_to_other_lines() {
    let (shop, things, path) = on_the_block().await;
    let fields = Fields::of(&things);
    shop.post(Cast::Cutter, &path, &collar(&fields, "9.24")).await;
    shop.post(Cast::Cutter, &path, &collar(&fields, "7.62")).await;
    let strike = shop.get(Cast::Cutter, &path).await.attribute("a.strike", "href").unwrap();
    shop.post(Cast::Cutter, &strike, &[("reason", "typed twice")]).await;
    let page = shop.get(Cast::Cutter, &path).await;
    let shares = page.all("table.lines tbody tr:not(.struck) .second");
    assert_eq!(shares.iter().filter(|share| !share.is_empty()).collect::<Vec<_>>(), ["10.0 %"]);
    assert_eq!(page.one("table.lines tbody tr:not(.struck) .second"), "10.0 %");
}

#[tokio::test]
async fn what_cannot_be_a_cut_is_refused_at_its_field_and_stays_typed() {
    let (shop, things, path) = on_the_block().await;
    let fields = Fields::of(&things);
    let (long, foreign) = ("9".repeat(200), uuid::Uuid::from_u128(9).to_string());
    let (carcass, before) = (things.carcass.id.to_string(), shop.lines().await);
    for (field, wrong) in [
        ("cut", ""),
        ("cut", "collar"),
        ("cut", &foreign),
        ("cut", &carcass),
        ("weight", ""),
        ("weight", "0"),
        ("weight", "-3"),
        ("weight", "3 stone"),
        ("weight", "900000"),
        ("weight", &long),
        ("pieces", "0"),
        ("pieces", "two"),
        ("goes_to", ""),
        ("goes_to", "the moon"),
        ("place", ""),
        ("place", "cooler"),
        ("place", &foreign),
        ("fat", "120"),
        ("fat", "20"),
        ("when", "2026-02-30T10:00"),
        ("when", "2026-11-25T10:00"),
    ] {
        let mut sent = collar(&fields, "3.18");
        sent.retain(|(name, _)| *name != field);
        sent.push((field, wrong));
        let page = shop.post(Cast::Cutter, &path, &sent).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field} {wrong}");
        assert!(!page.error_at(field).is_empty(), "{field} {wrong}: {}", page.all(".errors").join(" "));
        if field != "weight" {
            assert_eq!(page.attribute("input[name=weight]", "value").as_deref(), Some("3.18"));
        }
    }
    assert_eq!(shop.lines().await, before);
    let nowhere = format!("/block/breakdowns/{foreign}");
    for path in [nowhere.clone(), format!("{nowhere}/source"), format!("{nowhere}/closing")] {
        let page = shop.post(Cast::Cutter, &path, &[("weight", "1"), ("reason", "none")]).await;
        assert_eq!(page.status, StatusCode::NOT_FOUND, "{path}");
        assert_eq!(shop.get(Cast::Cutter, &nowhere).await.status, StatusCode::NOT_FOUND);
    }
}
