//! The mixing sheet.

use axum::http::StatusCode;

use crate::shop::{Cast, Page, Shop};

async fn ask(query: &str) -> Page {
    let shop = Shop::open().await;
    shop.get(Cast::Cutter, &format!("/sanitizer?{query}")).await
}

#[tokio::test]
async fn a_teaspoon_of_strong_bleach_in_two_quarts_is_over_the_cap_and_of_weak_is_not() {
    let page = ask("label=5.25&water=2&water_unit=qt&product=1&product_unit=tsp").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.one("dl.figures .chief").contains("136.4"), "{}", page.one("dl.figures"));
    let rows = page.all("table.table tbody tr");
    assert!(rows[1].contains("not more than 200 ppm") && !rows[1].contains("not met"), "{rows:?}");
    let page = ask("label=8.25&water=2&water_unit=qt&product=1&product_unit=tsp").await;
    assert!(page.one("dl.figures .chief").contains("214.3"));
    assert!(page.all("table.table tbody tr")[1].contains("not met"));
    assert!(page.one("main").contains("Above 200 ppm"));
    let page = ask("label=7.5&water=2&water_unit=qt&product=1&product_unit=tsp").await;
    assert!(page.one("main").contains("above it by mass"));
}

#[tokio::test]
async fn the_dose_for_a_strength_and_what_a_strip_meets() {
    let page = ask("label=5.25&water=2&water_unit=qt&product_unit=tsp&target=100").await;
    assert!(page.one("dl.figures .chief").contains("3.61"), "{}", page.one("dl.figures"));
    let page = ask("strip=50&temperature=24&ph=8").await;
    let rows = page.all("table.table tbody tr");
    assert!(rows[3].contains("at least 75 °F (23.9 °C)"), "{rows:?}");
    assert!(rows.iter().all(|row| !row.contains("not met")), "{rows:?}");
    let page = ask("strip=50&temperature=23&ph=8.01").await;
    assert!(page.all("table.table tbody tr")[3].contains("not met"));
}

#[tokio::test]
async fn what_cannot_be_reckoned_stands_at_its_field_and_stays_typed() {
    let blank = ask("").await;
    assert_eq!(blank.status, StatusCode::OK);
    assert!(blank.one("main").contains("Never mix bleach"));
    let page = ask("label=0&water=&water_unit=qt&product=&product_unit=tsp&target=abc").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("label").contains("more than 0"));
    assert_eq!(page.error_at("water"), "Give how much water.");
    assert!(!page.error_at("target").is_empty());
    assert_eq!(page.attribute("#f-target", "value").as_deref(), Some("abc"));
    let page = ask("label=0.01&water=1&water_unit=l&product_unit=ml&target=200").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = ask("strip=-1&temperature=hot&ph=15").await;
    assert!(!page.error_at("strip").is_empty() && !page.error_at("ph").is_empty());
    assert!(!page.error_at("temperature").is_empty());
    let page = ask("label=6&water=1&water_unit=bucket&product=1&product_unit=tsp").await;
    assert_eq!(page.error_at("water"), "Choose the unit.");
}
