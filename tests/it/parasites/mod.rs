//! Controls against parasites, freezings, cold and sanitizer, through the router and a real database.

mod cold;
mod sanitizer;

use axum::http::StatusCode;
use flitchbook::checks::Value;
use flitchbook::checks::entry::ReadingTaken;
use flitchbook::deviations::Subject;
use flitchbook::evidence::Found;
use flitchbook::hanging;
use flitchbook::ids::{BatchId, Named, PlaceId};
use flitchbook::measure::Celsius;
use flitchbook::parasites;
use flitchbook::recipes::Stage;
use flitchbook::setup::entry::{PlaceKind, PlaceWritten};
use time::Duration;
use uuid::Uuid;

use crate::shop::{Cast, Made, Shop, Things, goes_to};

/// A place of a kind.
async fn place(shop: &Shop, n: u128, name: &str, kind: PlaceKind) -> Named<PlaceId> {
    let place = Named::new(PlaceId(Uuid::from_u128(n)), name);
    let (id, name, note) = (place.id, name.to_owned(), String::new());
    shop.sign(PlaceWritten { place: id, name, kind, within: None, read_every: None, note, retired: false })
        .await;
    place
}

/// A temperature of a place, now.
async fn read(shop: &Shop, place: &Named<PlaceId>, hundredths: i32) {
    let value = Value::Temperature(Celsius::hundredths(hundredths));
    shop.sign(ReadingTaken { subject: Subject::Place(place.clone()), value, instrument: None }).await;
}

async fn found(shop: &Shop, batch: BatchId) -> Found {
    parasites::found(&mut shop.app.db().await.unwrap(), batch).await.unwrap()
}

async fn choose(shop: &Shop, made: &Made, fields: &[(&str, &str)]) -> crate::shop::Page {
    let path = format!("/parasites/products/{}", made.product.id);
    shop.post(Cast::Owner, &path, fields).await
}

fn missing(found: Found) -> String {
    match found {
        Found::NotYet { missing } => missing,
        other => panic!("{other:?}"),
    }
}

async fn salami() -> (Shop, Things, Made) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.salami(&things).await;
    (shop, things, made)
}

#[tokio::test]
async fn a_product_without_a_control_says_so_and_one_that_is_not_asked_for_has_its_reason() {
    let (shop, _, made) = salami().await;
    assert_eq!(
        missing(found(&shop, made.batch).await),
        "Choose what is done against parasites in pepper salami."
    );
    let page = choose(&shop, &made, &[("control", "not asked")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("reason").starts_with("Say why nothing is asked for"));
    goes_to(
        &choose(&shop, &made, &[("control", "not asked"), ("reason", "It is cooked by whoever buys it.")])
            .await,
    );
    assert!(found(&shop, made.batch).await.is_met());
    let page = shop.get(Cast::Curer, &format!("/batches/{}", made.batch)).await;
    assert!(page.one("main").contains("Parasites"), "the batch's page says it");
    let page = shop.get(Cast::Inspector, &format!("/parasites/{}", made.batch)).await;
    assert!(page.one("main").contains("address Trichinella only"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_modern_salt_fails_the_first_method_and_the_page_names_the_line() {
    let (shop, _, made) = salami().await;
    let fields = [
        ("control", "sausage-1"),
        ("document", "1 CRR-NY 318.10"),
        ("particle", "10 mm"),
        ("states", "uncoated"),
    ];
    goes_to(&choose(&shop, &made, &fields).await);
    // 50 g of salt and 93.75 % of 5 g of cure in 2,061 g: 2.65 %.
    let Found::Failed { what, .. } = found(&shop, made.batch).await else { panic!("not failed") };
    assert!(what.contains("salt: at least 3.33 %") && what.contains("found 2.65 %"), "{what}");
    let page = shop.get(Cast::Curer, &format!("/parasites/{}", made.batch)).await;
    assert_eq!(page.status, StatusCode::OK);
    let rows = page.all("table.table tbody tr");
    assert!(rows.iter().any(|row| row.contains("size of the meat") && row.contains("met")), "{rows:?}");
    assert!(rows.iter().any(|row| row.contains("days in the drying room")), "{rows:?}");
    assert!(page.attribute("table.table tbody a", "href").unwrap().starts_with("/entries/"));
}

#[tokio::test]
async fn what_is_from_memory_waits_until_the_shop_has_confirmed_it() {
    let (shop, _, made) = salami().await;
    let fields = [("control", "sausage-6"), ("document", "1 CRR-NY 318.10")];
    let page = choose(&shop, &made, &fields).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("control").contains("Confirm it against its text first"));
    assert_eq!(page.attribute("#f-document", "value").as_deref(), Some("1 CRR-NY 318.10"));
    let bad = shop.post(Cast::Owner, "/parasites/methods", &[("method", "sausage-1")]).await;
    assert_eq!(bad.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(bad.error_at("reason"), "Say which text it was held against, and who did.");
    let read = [("method", "sausage-6"), ("in_force", "yes"), ("reason", "Read in 1 CRR-NY 318.10.")];
    assert_eq!(shop.post(Cast::Curer, "/parasites/methods", &read).await.status, StatusCode::FORBIDDEN);
    goes_to(&shop.post(Cast::Owner, "/parasites/methods", &read).await);
    goes_to(&choose(&shop, &made, &fields).await);
    let said = missing(found(&shop, made.batch).await);
    assert!(said.contains("days in the drying room"), "{said}");
    // No longer rested on: what was chosen is not shown to be met.
    let off = [("method", "sausage-6"), ("in_force", "no"), ("reason", "The code has changed.")];
    goes_to(&shop.post(Cast::Owner, "/parasites/methods", &off).await);
    assert!(missing(found(&shop, made.batch).await).contains("has not confirmed"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_suppliers_papers_are_held_and_valid() {
    let (shop, things, made) = salami().await;
    let document = "Certificate of the programme";
    goes_to(&choose(&shop, &made, &[("control", "programme"), ("document", document)]).await);
    assert!(missing(found(&shop, made.batch).await).contains("no papers of Hazelrigg Farm are written"));
    let supplier = |until| flitchbook::receiving::entry::SupplierWritten {
        supplier: things.farm.id,
        name: things.farm.name.clone(),
        address: "Hazelrigg, Elverford".into(),
        number: "UK EF 201".into(),
        contact: String::new(),
        approved_until: until,
        papers: "certificate 7".into(),
        retired: false,
    };
    shop.sign(supplier(None)).await;
    assert!(found(&shop, made.batch).await.is_met());
    let before = shop.app.book.clock.now().date() - Duration::days(1);
    shop.sign(supplier(Some(before))).await;
    assert!(matches!(found(&shop, made.batch).await, Found::Failed { .. }));
}

#[tokio::test]
async fn a_freezing_is_found_from_where_the_lot_lay_and_from_what_is_stated() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let freezer = place(&shop, 421, "freezer 1", PlaceKind::Freezer).await;
    let trim = shop
        .lot(
            &things,
            &larder.trim,
            flitchbook::book::Form::Trim,
            flitchbook::measure::Grams::whole(2_000),
            None,
        )
        .await;
    let moved = hanging::entry::LotsMoved {
        lots: vec![Named::new(trim.lot, trim.code.to_string())],
        to: freezer.clone(),
        hook: String::new(),
    };
    shop.sign(moved).await;
    // 12 days at −20 °F, read every day: enough for the thicker group as well.
    for _ in 0..=12 {
        read(&shop, &freezer, -2_889).await;
        shop.later(Duration::days(1));
    }
    let made = shop.salami_from(&things, &larder, &trim).await;
    goes_to(&choose(&shop, &made, &[("control", "freezing"), ("document", "1 CRR-NY 318.10")]).await);
    let said = missing(found(&shop, made.batch).await);
    assert!(said.contains("thickness") && said.contains("chilled to not above 40 °F"), "{said}");
    assert!(!said.contains("days at or below"), "the placements show the days: {said}");

    let code = trim.code.to_string();
    let form = [("lots", code.as_str()), ("freezer", ""), ("thickness", "wide"), ("from", ""), ("to", "")];
    let page = shop.post(Cast::Curer, "/parasites/freezings", &form).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.error_at("freezer"), "Choose the freezer.");
    assert_eq!(page.error_at("from"), "Say when it was begun.");
    assert_eq!(page.attribute("#f-thickness", "value").as_deref(), Some("wide"));
    let id = freezer.id.to_string();
    let form = [
        ("lots", "26001-99"),
        ("freezer", id.as_str()),
        ("thickness", "120 mm"),
        ("from", "2026-11-24T10:00"),
        ("to", ""),
    ];
    let page = shop.post(Cast::Curer, "/parasites/freezings", &form).await;
    assert!(page.error_at("lots").contains("no lot 26001-99"));
    let page = shop.get(Cast::Inspector, "/parasites/freezings").await;
    assert!(page.all("form.sheet").is_empty());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn pages_that_are_not_there_are_not_found_and_a_stranger_signs_in() {
    let (shop, _, made) = salami().await;
    for path in ["/parasites", "/parasites/methods", "/parasites/freezings", "/sanitizer"] {
        assert_eq!(shop.get(Cast::Inspector, path).await.status, StatusCode::OK, "{path}");
        assert_eq!(shop.get(Cast::Stranger, path).await.status, StatusCode::SEE_OTHER, "{path}");
    }
    let nobody = Uuid::from_u128(9);
    for path in
        [format!("/parasites/{nobody}"), format!("/parasites/products/{nobody}"), format!("/cold/{nobody}")]
    {
        assert_eq!(shop.get(Cast::Owner, &path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    let path = format!("/parasites/products/{}", made.product.id);
    assert_eq!(
        shop.post(Cast::Curer, &path, &[("control", "programme")]).await.status,
        StatusCode::FORBIDDEN
    );
    let page = choose(&shop, &made, &[("control", "prayer"), ("particle", "wide"), ("states", "holy")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(page.error_at("control"), "Choose what is done against parasites.");
    assert!(!page.error_at("particle").is_empty());
    shop.stage(&made, Stage::Holding, &Named::new(PlaceId(Uuid::from_u128(302)), "chamber 1")).await;
    assert_eq!(shop.get(Cast::Owner, &format!("/parasites/{}", made.batch)).await.status, StatusCode::OK);
}
