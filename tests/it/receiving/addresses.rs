//! Each address of the area: who gets in, what is not there, what it is not used for.

use axum::body::Body;
use axum::http::{Request, StatusCode};

use super::Door;
use crate::shop::{Cast, goes_to};

const NOWHERE: &str = "01890000-0000-7000-8000-00000000beef";

/// Every address, and whether only some may open it.
fn addresses(door: &Door) -> Vec<String> {
    vec![
        "/receiving".into(),
        "/receiving/suppliers".into(),
        door.things.farm.id.path(),
        "/receiving/deliveries/new".into(),
        door.path.clone(),
        format!("{}?item={}", door.path, door.things.loin.id),
        "/receiving/checks".into(),
    ]
}

#[tokio::test]
async fn who_takes_deliveries_in_opens_every_page_of_the_area() {
    let door = Door::open().await;
    for cast in [Cast::Owner, Cast::Cutter, Cast::Curer] {
        for path in addresses(&door) {
            let page = door.shop.get(cast, &path).await;
            assert_eq!(page.status, StatusCode::OK, "{cast:?} {path}: {}", page.text);
            assert_eq!(page.all("h1").len(), 1, "{path}");
        }
    }
}

#[tokio::test]
async fn who_is_not_signed_in_is_sent_to_the_sign_in_and_writes_nothing() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    for path in addresses(&door) {
        assert!(goes_to(&door.shop.get(Cast::Stranger, &path).await).starts_with("/sign-in?next="), "{path}");
        if path != "/receiving" {
            let page = door.shop.post(Cast::Stranger, &path, &[("name", "x")]).await;
            assert_eq!(page.status, StatusCode::UNAUTHORIZED, "{path}");
        }
    }
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn an_inspector_reads_the_area_finds_no_form_in_it_and_writes_nothing() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    for path in addresses(&door) {
        let page = door.shop.get(Cast::Inspector, &path).await;
        if path.ends_with("/new") {
            assert_eq!(page.status, StatusCode::FORBIDDEN);
        } else {
            assert_eq!(page.status, StatusCode::OK, "{path}");
            assert_eq!(page.all("main form"), [""; 0], "{path}");
        }
        if path != "/receiving" {
            let page = door.shop.post(Cast::Inspector, &path, &[("name", "x")]).await;
            assert_eq!(page.status, StatusCode::FORBIDDEN, "{path}");
        }
    }
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn what_no_book_has_is_not_found() {
    let door = Door::open().await;
    for area in ["suppliers", "deliveries"] {
        for id in [NOWHERE, "26328-01", "%00"] {
            let path = format!("/receiving/{area}/{id}");
            assert_eq!(door.shop.get(Cast::Owner, &path).await.status, StatusCode::NOT_FOUND, "{path}");
            let page = door.shop.post(Cast::Owner, &path, &[("name", "x")]).await;
            assert_eq!(page.status, StatusCode::NOT_FOUND, "{path}");
        }
    }
}

#[tokio::test]
async fn a_page_is_not_used_in_another_way_than_its_own() {
    let door = Door::open().await;
    for path in addresses(&door) {
        let request = Request::delete(&path).header("sec-fetch-site", "same-origin");
        let page = door.shop.send(Cast::Owner, request, Body::empty()).await;
        assert_eq!(page.status, StatusCode::METHOD_NOT_ALLOWED, "{path}");
    }
    let page = door.shop.post(Cast::Owner, "/receiving", &[]).await;
    assert_eq!(page.status, StatusCode::METHOD_NOT_ALLOWED);
}

#[tokio::test]
async fn an_empty_area_says_what_belongs_there_and_offers_the_first_step() {
    let shop = crate::shop::Shop::open().await;
    let page = shop.get(Cast::Cutter, "/receiving").await;
    assert_eq!(page.one("main a.act"), "Add a supplier");
    assert!(page.one(".empty").contains("who brings it"), "{}", page.one(".empty"));
    shop.things().await;
    let page = shop.get(Cast::Cutter, "/receiving").await;
    assert_eq!(page.all("main a.act"), ["Take in a delivery"]);
    assert_eq!(shop.get(Cast::Inspector, "/receiving").await.all("main a.act"), [""; 0]);
}
