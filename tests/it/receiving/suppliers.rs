//! Who brings it.

use axum::http::StatusCode;

use super::{Door, with};
use crate::shop::{Cast, goes_to};

const LIST: &str = "/receiving/suppliers";

const SPICES: &[(&str, &str)] = &[
    ("name", "Penhallow Spices"),
    ("address", "Unit 4, Quarry Lane\nElverford"),
    ("number", ""),
    ("contact", "Joss, 01632 960 114"),
    ("papers", "Allergen statement of 3 March 2026"),
];

#[tokio::test]
async fn the_owner_adds_a_supplier_and_approves_it_until_a_day() {
    let door = Door::open().await;
    let fields = with(SPICES, &[("approved_until", "2027-06-30")]);
    let path = goes_to(&door.shop.post(Cast::Owner, LIST, &fields).await);
    let page = door.shop.get(Cast::Owner, &path).await;
    assert_eq!(page.one("h1"), "Penhallow Spices");
    assert_eq!(page.one(".headline .state"), "approved until 30 Jun 2027");
    assert!(page.all("dl.facts dd").contains(&"Unit 4, Quarry Lane, Elverford".to_owned()), "{}", page.text);
    let list = door.shop.get(Cast::Inspector, LIST).await;
    assert_eq!(list.all("tbody th"), ["Hazelrigg Farm", "Penhallow Spices"]);
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_cutter_notes_a_supplier_who_is_then_not_approved() {
    let door = Door::open().await;
    let page = door.shop.get(Cast::Cutter, LIST).await;
    assert_eq!(page.attribute("[name=approved_until]", "name"), None);
    let path = goes_to(&door.shop.post(Cast::Cutter, LIST, SPICES).await);
    assert_eq!(door.shop.get(Cast::Cutter, &path).await.one(".headline .state"), "not approved");
}

#[tokio::test]
async fn a_cutter_approves_nobody_even_with_a_form_of_their_own_making() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    let fields = with(SPICES, &[("approved_until", "2027-06-30")]);
    let page = door.shop.post(Cast::Cutter, LIST, &fields).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.one(".errors").contains("Only the owner"), "{}", page.one(".errors"));
    let farm = door.things.farm.id.path();
    let retired = with(SPICES, &[("name", "Hazelrigg Farm"), ("retired", "yes")]);
    assert_eq!(door.shop.post(Cast::Cutter, &farm, &retired).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_cutter_mends_an_address_and_the_approval_stays() {
    let door = Door::open().await;
    let farm = door.things.farm.id.path();
    let fields = with(SPICES, &[("name", "Hazelrigg Farm"), ("address", "Hazelrigg Lane 9, Elverford")]);
    goes_to(&door.shop.post(Cast::Cutter, &farm, &fields).await);
    let page = door.shop.get(Cast::Cutter, &farm).await;
    assert_eq!(page.one(".headline .state"), "approved until 31 Mar 2027");
    assert!(page.all("dl.facts dd").contains(&"Hazelrigg Lane 9, Elverford".to_owned()));
    assert_eq!(page.all("table.lines tbody tr").len(), 3, "what the book said before stays readable");
}

#[tokio::test]
async fn a_retired_supplier_stays_in_the_list_and_brings_nothing_more() {
    let door = Door::open().await;
    let farm = door.things.farm.id.path();
    let fields = with(SPICES, &[("name", "Hazelrigg Farm"), ("retired", "yes")]);
    goes_to(&door.shop.post(Cast::Owner, &farm, &fields).await);
    let list = door.shop.get(Cast::Owner, LIST).await;
    assert_eq!(list.one("tbody .state"), "no longer used");
    let new = door.shop.get(Cast::Cutter, "/receiving/deliveries/new").await;
    assert_eq!(new.all("select[name=supplier] option"), [""; 0]);
    let supplier = door.things.farm.id.to_string();
    let fields = [("supplier", supplier.as_str()), ("docket", "D-119")];
    let page = door.shop.post(Cast::Cutter, "/receiving/deliveries/new", &fields).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_bad_supplier_is_refused_at_its_field_and_what_was_typed_stays() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    let (long, very_long) = ("x".repeat(121), "y ".repeat(1100));
    for (field, typed) in [
        ("name", ""),
        ("name", "   "),
        ("name", "Hazelrigg Farm"),
        ("name", long.as_str()),
        ("name", "a\u{202e}b"),
        ("address", ""),
        ("address", very_long.as_str()),
        ("number", long.as_str()),
        ("contact", long.as_str()),
        ("papers", very_long.as_str()),
        ("approved_until", "30/06/2027"),
        ("approved_until", "2027-02-30"),
        ("approved_until", "0027-02-03"),
    ] {
        let page = door.shop.post(Cast::Owner, LIST, &with(SPICES, &[(field, typed)])).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {typed}");
        assert_ne!(page.error_at(field), "", "{field}: {typed}");
        if field != "contact" {
            assert_eq!(
                page.attribute("input[name=contact]", "value").as_deref(),
                Some("Joss, 01632 960 114")
            );
        }
    }
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_supplier_sent_twice_is_added_once() {
    let door = Door::open().await;
    let id = door.shop.get(Cast::Owner, LIST).await.form_id();
    let fields = with(SPICES, &[("id", id.as_str())]);
    let path = goes_to(&door.shop.post_raw(Cast::Owner, LIST, &fields).await);
    let before = door.shop.lines().await;
    assert_eq!(goes_to(&door.shop.post_raw(Cast::Owner, LIST, &fields).await), path);
    assert_eq!(door.shop.lines().await, before);
    let page = door.shop.post_raw(Cast::Owner, LIST, SPICES).await;
    assert!(page.one(".errors").contains("without its number"), "{}", page.text);
}

#[tokio::test]
async fn the_page_of_a_supplier_shows_what_it_brought() {
    let door = Door::open().await;
    goes_to(&door.loin(Cast::Cutter, &[]).await);
    let page = door.shop.get(Cast::Inspector, &door.things.farm.id.path()).await;
    let rows = page.all("table.table tbody th");
    assert_eq!(rows, ["D-118", "26328-01 pork loin"], "{}", page.text);
    assert_eq!(page.attribute("table.table tbody th a", "href").as_deref(), Some(door.path.as_str()));
}
