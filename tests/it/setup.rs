//! What the shop has: things, places, instruments.

use axum::http::StatusCode;
use flitchbook::web::fresh_id;

use crate::shop::{Cast, Page, Shop, goes_to};

const LISTS: [&str; 3] = ["/setup/items", "/setup/places", "/setup/instruments"];

const SALT: &[(&str, &str)] = &[
    ("name", "grey sea salt"),
    ("form", "ingredient"),
    ("species", ""),
    ("label_name", "sea salt"),
    ("number", ""),
    ("sales_price", ""),
];
const RAIL: &[(&str, &str)] = &[
    ("name", "rail B"),
    ("kind", "rail"),
    ("within", ""),
    ("read_every", "12"),
    ("note", "the probe hangs at its far end"),
];
const PROBE: &[(&str, &str)] = &[("name", "probe 3"), ("measures", "temperature")];

fn usual(list: &str) -> &'static [(&'static str, &'static str)] {
    match list {
        "/setup/items" => SALT,
        "/setup/places" => RAIL,
        _ => PROBE,
    }
}

fn with<'a>(fields: &[(&'a str, &'a str)], field: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    let mut all: Vec<_> = fields.iter().copied().filter(|(name, _)| *name != field).collect();
    all.push((field, value));
    all
}

/// The page of the first row of a list.
async fn first(shop: &Shop, list: &str) -> String {
    shop.get(Cast::Owner, list).await.attribute("table a", "href").unwrap()
}

fn value(page: &Page, field: &str) -> Option<String> {
    page.attribute(&format!("[name={field}]"), "value")
}

#[tokio::test]
async fn the_set_up_leads_everybody_to_its_lists() {
    let shop = Shop::open().await;
    shop.things().await;
    let links = |page: &Page| page.all("ul.tiles h2");
    let owner = shop.get(Cast::Owner, "/setup").await;
    assert!(links(&owner).contains(&"People".to_owned()), "{:?}", links(&owner));
    assert!(links(&shop.get(Cast::Inspector, "/setup").await).contains(&"People".to_owned()));
    for n in 1..=links(&owner).len() {
        let href = owner.attribute(&format!("ul.tiles li:nth-child({n}) a"), "href").unwrap();
        assert_eq!(shop.get(Cast::Owner, &href).await.status, StatusCode::OK, "{href}");
    }
    assert!(goes_to(&shop.get(Cast::Stranger, "/setup").await).starts_with("/sign-in"));
}

#[tokio::test]
async fn an_empty_list_says_what_belongs_there_and_offers_the_first_step_to_the_owner() {
    let shop = Shop::open().await;
    for list in LISTS {
        let page = shop.get(Cast::Owner, list).await;
        assert_eq!(page.attribute(".empty a.act", "href").unwrap(), format!("{list}/new"));
        let page = shop.get(Cast::Inspector, list).await;
        assert!(page.all(".empty a").is_empty() && page.all(".empty").len() == 1, "{list}");
    }
}

#[tokio::test]
async fn the_owner_adds_and_changes_what_the_shop_has() {
    let shop = Shop::open().await;
    for list in LISTS {
        goes_to(&shop.post(Cast::Owner, list, usual(list)).await);
        let path = first(&shop, list).await;
        let page = shop.get(Cast::Owner, &path).await;
        for (field, typed) in usual(list).iter().filter(|(field, _)| ["name", "read_every"].contains(field)) {
            assert_eq!(value(&page, field).as_deref(), Some(*typed), "{list} {field}");
        }
        goes_to(&shop.post(Cast::Owner, &path, &with(usual(list), "name", "another name")).await);
        assert!(shop.get(Cast::Owner, list).await.one("table").contains("another name"), "{list}");
        assert_eq!(shop.get(Cast::Owner, list).await.all("tbody tr").len(), 1, "{list}");
    }
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn everyone_reads_the_lists_and_only_the_owner_writes_them() {
    let shop = Shop::open().await;
    for list in LISTS {
        goes_to(&shop.post(Cast::Owner, list, usual(list)).await);
        let path = first(&shop, list).await;
        let before = shop.lines().await;
        for cast in [Cast::Cutter, Cast::Curer, Cast::Reviewer, Cast::Inspector] {
            assert_eq!(shop.get(cast, list).await.status, StatusCode::OK);
            assert!(shop.get(cast, list).await.all("a.act").is_empty());
            assert_eq!(shop.get(cast, &format!("{list}/new")).await.status, StatusCode::FORBIDDEN);
            for address in [list, path.as_str()] {
                let page = shop.post(cast, address, usual(list)).await;
                assert_eq!(page.status, StatusCode::FORBIDDEN, "{cast:?} {address}");
            }
        }
        for address in [list, path.as_str()] {
            assert!(goes_to(&shop.get(Cast::Stranger, address).await).starts_with("/sign-in"));
            assert_eq!(
                shop.post(Cast::Stranger, address, usual(list)).await.status,
                StatusCode::UNAUTHORIZED
            );
        }
        for nothing in [format!("{list}/{}", fresh_id()), format!("{list}/not-an-id")] {
            assert_eq!(shop.get(Cast::Owner, &nothing).await.status, StatusCode::NOT_FOUND, "{nothing}");
            let page = shop.post(Cast::Owner, &nothing, usual(list)).await;
            assert_eq!(page.status, StatusCode::NOT_FOUND, "{nothing}");
        }
        assert_eq!(shop.lines().await, before);
    }
}

#[tokio::test]
async fn what_cannot_be_read_stands_at_its_field_and_what_was_typed_stays() {
    let shop = Shop::open().await;
    for list in LISTS {
        goes_to(&shop.post(Cast::Owner, list, usual(list)).await);
    }
    let before = shop.lines().await;
    let long = "a".repeat(400);
    let foreign = fresh_id().to_string();
    for (list, field, typed, says) in [
        ("/setup/items", "name", "", "Give the name"),
        ("/setup/items", "name", long.as_str(), "too long"),
        ("/setup/items", "name", "GREY sea  SALT", "has this name"),
        ("/setup/items", "form", "jelly", "Choose what form"),
        ("/setup/items", "form", "", "Choose what form"),
        ("/setup/items", "form", "cut", ""), /* meat of no animal: said at the species */
        ("/setup/items", "allergens", "salt", "not in the list"),
        ("/setup/items", "sales_price", "-4", ""),
        ("/setup/items", "sales_price", "dear", ""),
        ("/setup/items", "sales_price", "€4.20", ""),
        ("/setup/items", "sales_price", &"9".repeat(40), ""),
        ("/setup/items", "number", long.as_str(), "too long"),
        ("/setup/places", "name", "", "Give the name"),
        ("/setup/places", "name", "Rail b", "has this name"),
        ("/setup/places", "kind", "attic", "Choose what it is"),
        ("/setup/places", "within", "elsewhere", "Choose the place"),
        ("/setup/places", "within", foreign.as_str(), "no such place"),
        ("/setup/places", "read_every", "0", "whole number from 1"),
        ("/setup/places", "read_every", "-3", "whole number from 1"),
        ("/setup/places", "read_every", "1000", "to 336"),
        ("/setup/places", "read_every", "often", "whole number"),
        ("/setup/places", "note", long.as_str(), "too long"),
        ("/setup/instruments", "name", "", "Give the name"),
        ("/setup/instruments", "name", "PROBE 3", "has this name"),
        ("/setup/instruments", "measures", "luck", "Choose what it measures"),
    ] {
        let mut fields = usual(list).to_vec();
        if field != "name" {
            fields = with(&fields, "name", "something new");
        }
        let page = shop.post(Cast::Owner, list, &with(&fields, field, typed)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{list} {field} {typed}");
        let at = if typed == "cut" { "species" } else { field };
        let said = page.error_at(at);
        assert!(!said.is_empty() && said.contains(says), "{list} {field} {typed}: {said}");
        if field != "name" {
            assert_eq!(value(&page, "name").as_deref(), Some("something new"));
        }
    }
    for list in LISTS {
        let page = shop.post_raw(Cast::Owner, list, usual(list)).await;
        assert!(page.one(".errors").contains("without its number"), "{list}");
    }
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn a_form_that_is_sent_twice_adds_one_thing() {
    let shop = Shop::open().await;
    for list in LISTS {
        let id = shop.get(Cast::Owner, &format!("{list}/new")).await.form_id();
        let fields = with(usual(list), "id", &id);
        goes_to(&shop.post_raw(Cast::Owner, list, &fields).await);
        let lines = shop.lines().await;
        goes_to(&shop.post_raw(Cast::Owner, list, &fields).await);
        assert_eq!(shop.lines().await, lines, "{list}");
    }
}

#[tokio::test]
async fn what_is_no_longer_used_is_offered_nowhere_and_can_come_back() {
    let shop = Shop::open().await;
    for list in LISTS {
        goes_to(&shop.post(Cast::Owner, list, usual(list)).await);
        let path = first(&shop, list).await;
        goes_to(&shop.post(Cast::Owner, &path, &with(usual(list), "retired", "yes")).await);
    }
    let mut conn = shop.app.db().await.unwrap();
    assert!(flitchbook::setup::items(&mut conn, &[]).await.unwrap().is_empty());
    assert!(flitchbook::setup::places(&mut conn).await.unwrap().is_empty());
    assert!(flitchbook::setup::instruments(&mut conn).await.unwrap().is_empty());
    assert!(shop.get(Cast::Owner, "/setup/items").await.all("tbody tr").is_empty());
    let all = shop.get(Cast::Owner, "/setup/items?retired=yes").await;
    assert!(all.one("tbody tr").contains("no longer used"), "{}", all.text);
    for list in ["/setup/places", "/setup/instruments"] {
        let path = first(&shop, list).await;
        goes_to(&shop.post(Cast::Owner, &path, usual(list)).await);
    }
    assert_eq!(flitchbook::setup::places(&mut conn).await.unwrap().len(), 1);
    assert_eq!(flitchbook::setup::instruments(&mut conn).await.unwrap().len(), 1);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_list_of_things_is_shown_by_form_and_by_letters() {
    let shop = Shop::open().await;
    shop.things().await;
    shop.post(Cast::Owner, "/setup/items", SALT).await;
    let names =
        async |query: &str| shop.get(Cast::Inspector, &format!("/setup/items{query}")).await.all("tbody th");
    assert_eq!(names("").await.len(), 4);
    assert_eq!(names("?form=cut").await, ["pork collar", "pork loin"]);
    assert_eq!(names("?name=LOIN").await, ["pork loin"]);
    assert_eq!(names("?form=ingredient&name=sea").await, ["grey sea salt"]);
    assert!(names("?form=casing").await.is_empty());
    assert_eq!(names("?form=nonsense").await.len(), 4);
}

#[tokio::test]
async fn allergens_are_picked_from_the_two_laws_and_a_price_comes_back_as_it_was() {
    let shop = Shop::open().await;
    let page = shop.get(Cast::Owner, "/setup/items/new").await;
    let picks = page.all("input[name=allergens]").len();
    // Nine of 21 U.S.C. 321(qq) are among the fourteen of Regulation (EU) 1169/2011, Annex II, wheat apart.
    assert_eq!(picks, 15);
    assert!(page.text.contains("US, EU"));
    let mut fields = with(SALT, "sales_price", "12.5/kg");
    fields.extend([("allergens", "milk"), ("allergens", "mustard"), ("by_product", "yes")]);
    let path = goes_to(&shop.post(Cast::Owner, "/setup/items", &fields).await);
    let page = shop.get(Cast::Owner, &path).await;
    assert_eq!(value(&page, "sales_price").as_deref(), Some("12.5"));
    assert_eq!(page.all("input[name=allergens][checked]").len(), 2);
    assert!(page.attribute("input[name=by_product][checked]", "value").is_some());
    let read = shop.get(Cast::Inspector, &path).await;
    assert!(read.one("dl.facts").contains("milk, mustard") && read.one("dl.facts").contains("£12.50/kg"));
}

#[tokio::test]
async fn a_thing_that_has_lots_keeps_its_form() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    shop.carcass(&things, 92_400).await;
    let path = things.carcass.id.path();
    let fields = [("name", "pig carcass"), ("form", "side"), ("species", "pig")];
    let page = shop.post(Cast::Owner, &path, &fields).await;
    assert!(page.error_at("form").contains("its form stays"), "{}", page.text);
    let fields = [("name", "hog carcass"), ("form", "carcass"), ("species", "pig")];
    assert_eq!(goes_to(&shop.post(Cast::Owner, &path, &fields).await), path);
}

#[tokio::test]
async fn a_place_is_not_given_up_while_something_lies_in_it_or_hangs_within() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    shop.carcass(&things, 92_400).await;
    let cooler = format!("/setup/places/{}", things.cooler.id);
    let gone = [("name", "cooler 1"), ("kind", "cooler"), ("retired", "yes")];
    let page = shop.post(Cast::Owner, &cooler, &gone).await;
    assert!(page.error_at("retired").contains("one lot"), "{}", page.text);
    let within = things.cooler.id.to_string();
    goes_to(&shop.post(Cast::Owner, "/setup/places", &with(RAIL, "within", &within)).await);
    let page = shop.get(Cast::Owner, "/setup/places").await;
    let rail = page.attribute("tbody tr:nth-child(2) a", "href").unwrap();
    let rail_id = rail.rsplit('/').next().unwrap();
    let around = [("name", "cooler 1"), ("kind", "cooler"), ("within", rail_id)];
    let page = shop.post(Cast::Owner, &cooler, &around).await;
    assert_eq!(page.error_at("within"), "A place is not inside itself.");
    assert_eq!(shop.verify().await.findings, []);
}
