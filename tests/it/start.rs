//! The first start: one page that makes the shop, its owner and the usual lists.

use axum::http::StatusCode;
use flitchbook::start::{shipped_items, shipped_places};

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
async fn the_page_offers_the_usual_lists_and_they_are_written_in_the_same_stroke() {
    let shop = Shop::unopened().await;
    let page = shop.get(Cast::Stranger, "/start").await;
    assert!(page.attribute("input[name=usual]", "checked").is_some());
    let mut fields = FIRST.to_vec();
    fields.push(("usual", "yes"));
    assert_eq!(goes_to(&shop.post(Cast::Stranger, "/start", &fields).await), "/sign-in");
    let things = shipped_items().unwrap().len() + shipped_places().unwrap().len();
    assert!(usize::try_from(shop.lines().await).unwrap() >= 2 + things);
    let mut conn = shop.app.db().await.unwrap();
    let items = flitchbook::setup::items(&mut conn, &[]).await.unwrap();
    assert_eq!(items.len(), shipped_items().unwrap().len());
    let loin = items.iter().find(|item| item.name == "pork loin").unwrap();
    assert_eq!(loin.number, "IMPS 410");
    let places = flitchbook::setup::places(&mut conn).await.unwrap();
    let rail = places.iter().find(|place| place.name == "chamber 1, rail B").unwrap();
    let chamber = places.iter().find(|place| place.name == "chamber 1").unwrap();
    assert_eq!(rail.within, Some(chamber.id));
    let lists: i64 =
        sqlx::query_scalar("SELECT count(*) FROM cut_list").fetch_one(&shop.app.book.pool).await.unwrap();
    assert!(lists > 0, "the cut lists name things of the same pen");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_owner_of_a_new_book_signs_in_and_finds_an_empty_list() {
    let shop = Shop::unopened().await;
    shop.post(Cast::Stranger, "/start", FIRST).await;
    let fields = [("sign_in", "orla"), ("password", PASSWORD), ("next", "/setup/items")];
    assert_eq!(goes_to(&shop.post(Cast::Stranger, "/sign-in", &fields).await), "/setup/items");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_first_start_that_is_sent_twice_opens_one_book() {
    let shop = Shop::unopened().await;
    let id = shop.get(Cast::Stranger, "/start").await.form_id();
    let mut fields = vec![("id", id.as_str())];
    fields.extend_from_slice(FIRST);
    assert_eq!(goes_to(&shop.post_raw(Cast::Stranger, "/start", &fields).await), "/sign-in");
    assert_eq!(goes_to(&shop.post_raw(Cast::Stranger, "/start", &fields).await), "/sign-in");
    assert_eq!(shop.lines().await, 2);
}

#[tokio::test]
async fn what_cannot_be_read_stands_at_its_field_and_opens_no_book() {
    let shop = Shop::unopened().await;
    let long = "a".repeat(500);
    for (field, value, says) in [
        ("shop", "", "Give the shop's name"),
        ("shop", long.as_str(), "too long"),
        ("address", long.as_str(), "too long"),
        ("number", long.as_str(), "too long"),
        ("system", "stone", ""),
        ("zone", "Atlantis/Capital", ""),
        ("currency", "groats", ""),
        ("small_division", "0", ""),
        ("small_division", "-1 g", ""),
        ("large_division", "a little", ""),
        ("name", " ", "Give your name"),
        ("initials", "A1", "one to four letters"),
        ("sign_in", "", "name to sign in with"),
        ("password", long.as_str(), "longer than"),
    ] {
        let page = shop.post(Cast::Stranger, "/start", &with(field, value)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {value}");
        assert!(
            !page.error_at(field).is_empty() && page.error_at(field).contains(says),
            "{field}: {}",
            page.text
        );
    }
    let page = shop.post_raw(Cast::Stranger, "/start", FIRST).await;
    assert!(page.one(".errors").contains("without its number"), "{}", page.text);
    assert_eq!(shop.lines().await, 0);
}
