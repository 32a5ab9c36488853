//! Dockets.

use axum::http::StatusCode;
use time::Duration;

use super::{Door, docket};
use crate::shop::{Cast, goes_to};

const NEW: &str = "/receiving/deliveries/new";

#[tokio::test]
async fn a_docket_is_opened_and_stands_under_its_day() {
    let door = Door::open().await;
    let page = door.page().await;
    assert_eq!(page.one("h1"), "Delivery from Hazelrigg Farm");
    assert!(page.one("main p.soft").starts_with("docket D-118, 24 Nov 09:40"), "{}", page.one("main p.soft"));
    let list = door.shop.get(Cast::Inspector, "/receiving").await;
    assert_eq!(list.one("h2"), "Today, Tuesday 24 November");
    assert_eq!(list.all("tbody th"), ["Hazelrigg Farm"]);
    door.shop.later(Duration::DAY);
    docket(&door.shop, &door.things, "D-121").await;
    let list = door.shop.get(Cast::Cutter, "/receiving").await;
    assert_eq!(list.all("h2"), ["Today, Wednesday 25 November", "Yesterday, Tuesday 24 November"]);
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_same_docket_number_is_warned_of_and_taken_when_somebody_has_looked() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    let supplier = door.things.farm.id.to_string();
    for number in ["D-118", "d-118 "] {
        let fields = [("supplier", supplier.as_str()), ("docket", number)];
        let page = door.shop.post(Cast::Cutter, NEW, &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(page.error_at("docket").contains("24 Nov 2026"), "{}", page.error_at("docket"));
        assert!(page.attribute("input[name=again]", "type").is_some());
    }
    assert_eq!(door.shop.lines().await, before);
    let fields = [("supplier", supplier.as_str()), ("docket", "D-118"), ("again", "yes")];
    goes_to(&door.shop.post(Cast::Cutter, NEW, &fields).await);
    assert_eq!(door.shop.lines().await, before + 1);
}

#[tokio::test]
async fn what_comes_without_a_docket_is_taken_down_and_says_so_twice() {
    let door = Door::open().await;
    for _ in 0..2 {
        let path = docket(&door.shop, &door.things, "").await;
        let page = door.shop.get(Cast::Cutter, &path).await;
        assert!(page.one("main p.soft").starts_with("no docket"), "{}", page.one("main p.soft"));
    }
}

#[tokio::test]
async fn a_bad_docket_is_refused_at_its_field_and_what_was_typed_stays() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    let (supplier, long) = (door.things.farm.id.to_string(), "9".repeat(121));
    let foreign = door.things.cooler.id.to_string();
    for (field, typed) in [
        ("supplier", ""),
        ("supplier", "Hazelrigg Farm"),
        ("supplier", foreign.as_str()),
        ("docket", long.as_str()),
        ("vehicle", "cold"),
        ("vehicle", "3 kg"),
        ("vehicle", "-300"),
        ("vehicle", "1000"),
        ("when", "24/11/2026 09:40"),
        ("when", "2026-02-30T09:40"),
        ("when", "2026-11-24T09:50"),
        ("when", "2025-11-22T09:40"),
    ] {
        let usual = [("supplier", supplier.as_str()), ("docket", "D-130"), ("vehicle", "2"), ("when", "")];
        let page = door.shop.post(Cast::Cutter, NEW, &super::with(&usual, &[(field, typed)])).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {typed}");
        assert_ne!(page.error_at(field), "", "{field}: {typed}\n{}", page.text);
        if field != "docket" {
            assert_eq!(page.attribute("input[name=docket]", "value").as_deref(), Some("D-130"));
        }
    }
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_docket_sent_twice_is_one_delivery() {
    let door = Door::open().await;
    let id = door.shop.get(Cast::Cutter, NEW).await.form_id();
    let supplier = door.things.farm.id.to_string();
    let fields = [("id", id.as_str()), ("supplier", supplier.as_str()), ("docket", "D-131")];
    let path = goes_to(&door.shop.post_raw(Cast::Cutter, NEW, &fields).await);
    let before = door.shop.lines().await;
    assert_eq!(goes_to(&door.shop.post_raw(Cast::Cutter, NEW, &fields).await), path);
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_delivery_is_struck_only_after_its_lines() {
    let door = Door::open().await;
    goes_to(&door.loin(Cast::Cutter, &[]).await);
    let strikes = door.page().await;
    let html = scraper::Html::parse_document(&strikes.text);
    let links = scraper::Selector::parse("a.strike").unwrap();
    let hrefs: Vec<&str> = html.select(&links).filter_map(|link| link.value().attr("href")).collect();
    let [line, delivery] = hrefs.as_slice() else { panic!("two lines: {hrefs:?}") };
    let why = [("reason", "docket of another day")];
    let page = door.shop.post(Cast::Cutter, delivery, &why).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.one(".errors").contains("first"), "{}", page.one(".errors"));
    goes_to(&door.shop.post(Cast::Cutter, line, &why).await);
    goes_to(&door.shop.post(Cast::Cutter, delivery, &why).await);
    let page = door.page().await;
    assert_eq!(page.one(".headline .stamp"), "Struck");
    assert_eq!(page.all("form.sheet"), [""; 0]);
    let page = door.loin(Cast::Cutter, &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "nothing is taken in on a struck docket");
    assert_eq!(door.shop.get(Cast::Cutter, "/receiving").await.all("tbody th"), [""; 0]);
    docket(&door.shop, &door.things, "D-118").await;
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_docket_written_up_the_next_day_has_its_lots_in_the_day_when_it_came() {
    let door = Door::open().await;
    let supplier = door.things.farm.id.to_string();
    let fields = [("supplier", supplier.as_str()), ("docket", "D-117"), ("when", "2026-11-23T16:20")];
    let path = goes_to(&door.shop.post(Cast::Cutter, NEW, &fields).await);
    let door = Door { path, ..door };
    goes_to(&door.loin(Cast::Cutter, &[]).await);
    assert_eq!(door.shop.grams("26327-01").await.decimal(), rust_decimal::dec!(8400));
    let page = door.page().await;
    assert_eq!(page.one("table.lines tbody .later"), "written 24 Nov 09:40");
    assert_eq!(door.shop.verify().await.findings, []);
}
