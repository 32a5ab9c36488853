//! The first start, signing in, and who may do what.

use axum::body::Body;
use axum::http::{Request, StatusCode};

use crate::shop::{Cast, PASSWORD, Shop, goes_to};

const FIRST: &[(&str, &str)] = &[
    ("shop", "Whitcombe & Daughter"),
    ("address", "3 Tannery Row\nElverford"),
    ("number", ""),
    ("system", "metric"),
    ("zone", "Europe/London"),
    ("currency", "GBP"),
    ("small_division", "0.1 g"),
    ("large_division", "5 g"),
    ("name", "Orla Whitcombe"),
    ("initials", ""),
    ("sign_in", "Orla"),
    ("password", PASSWORD),
];

fn with<'a>(field: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    FIRST.iter().map(|(name, old)| (*name, if *name == field { value } else { *old })).collect()
}

#[tokio::test]
async fn an_empty_book_shows_one_page_that_makes_the_shop_and_its_owner() {
    let shop = Shop::unopened().await;
    assert_eq!(goes_to(&shop.get(Cast::Stranger, "/block").await), "/start");
    assert_eq!(shop.get(Cast::Stranger, "/start").await.all("h1"), ["Open the book"]);
    assert_eq!(goes_to(&shop.post(Cast::Stranger, "/start", FIRST).await), "/sign-in");
    assert_eq!(shop.lines().await, 2);
    assert_eq!(goes_to(&shop.get(Cast::Stranger, "/start").await), "/sign-in");
}

#[tokio::test]
async fn a_second_shop_is_not_opened_in_the_same_book() {
    let shop = Shop::unopened().await;
    shop.post(Cast::Stranger, "/start", FIRST).await;
    let again = shop.post(Cast::Stranger, "/start", &with("shop", "Another")).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(shop.lines().await, 2);
}

#[tokio::test]
async fn a_short_password_opens_no_book_and_what_was_typed_stays() {
    let shop = Shop::unopened().await;
    let page = shop.post(Cast::Stranger, "/start", &with("password", "short")).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("password").contains("at least 10"), "{}", page.error_at("password"));
    assert_eq!(page.attribute("input[name=shop]", "value").as_deref(), Some("Whitcombe & Daughter"));
    assert!(!page.text.contains("value=\"short\""));
    assert_eq!(shop.lines().await, 0);
}

#[tokio::test]
async fn the_right_password_signs_in_and_the_cookie_is_kept_from_scripts_and_other_sites() {
    let shop = Shop::open().await;
    let fields = [("sign_in", "CASS"), ("password", PASSWORD), ("next", "/block")];
    let page = shop.post(Cast::Stranger, "/sign-in", &fields).await;
    assert_eq!(goes_to(&page), "/block");
    let cookie = page.headers["set-cookie"].to_str().unwrap();
    for part in ["HttpOnly", "SameSite=Lax", "Secure", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
}

#[tokio::test]
async fn a_wrong_password_and_an_unknown_name_are_told_the_same() {
    let shop = Shop::open().await;
    let wrong = shop.post(Cast::Stranger, "/sign-in", &[("sign_in", "cass"), ("password", "no")]).await;
    let unknown = shop.post(Cast::Stranger, "/sign-in", &[("sign_in", "nobody"), ("password", "no")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.error_at("sign_in"), unknown.error_at("sign_in"));
    assert_eq!(wrong.attribute("input[name=sign_in]", "value").as_deref(), Some("cass"));
}

#[tokio::test]
async fn a_stranger_is_led_to_the_sign_in_and_back() {
    let shop = Shop::open().await;
    assert_eq!(goes_to(&shop.get(Cast::Stranger, "/block?a=b").await), "/sign-in?next=%2Fblock%3Fa%3Db");
}

#[tokio::test]
async fn a_form_of_another_site_is_not_taken() {
    let shop = Shop::open().await;
    let foreign = Request::post("/me/sign-out").header("sec-fetch-site", "cross-site");
    let page = shop.send(Cast::Owner, foreign, Body::from("id=")).await;
    assert_eq!(page.status, StatusCode::FORBIDDEN);
    assert_eq!(shop.get(Cast::Owner, "/me").await.status, StatusCode::OK);
}

#[tokio::test]
async fn who_signs_out_is_out() {
    let shop = Shop::open().await;
    assert_eq!(goes_to(&shop.post(Cast::Cutter, "/me/sign-out", &[]).await), "/sign-in");
    assert!(goes_to(&shop.get(Cast::Cutter, "/me").await).starts_with("/sign-in"));
}

#[tokio::test]
async fn every_page_forbids_foreign_scripts_and_frames() {
    let shop = Shop::open().await;
    for path in ["/me", "/block", "/nothing-here"] {
        let policy =
            shop.get(Cast::Owner, path).await.headers["content-security-policy"].to_str().unwrap().to_owned();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe-inline"), "{policy}");
    }
}

#[tokio::test]
async fn an_address_that_is_not_in_the_book_says_so_inside_the_frame() {
    let shop = Shop::open().await;
    let page = shop.get(Cast::Owner, "/block/breakdowns/not-an-id").await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
    assert_eq!(page.all("h1"), ["Nothing stands here"]);
    assert_eq!(page.all("header.top .shop"), ["Whitcombe & Daughter"]);
}
