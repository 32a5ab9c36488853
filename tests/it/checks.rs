//! Checks, deviations and holds, through the router and a real database.

use axum::http::StatusCode;
use flitchbook::checks::{self, On};
use flitchbook::ids::{InstrumentId, LotId, Named, PlaceId};
use flitchbook::recipes::Stage;
use flitchbook::setup::entry::{InstrumentWritten, Measures, PlaceKind, PlaceWritten};
use rust_decimal::dec;
use time::Duration;
use uuid::Uuid;

use crate::shop::{Cast, MORNING, Shop, Things, goes_to};

/// A shop with the usual limits, and a carcass of 92.4 kg in the cooler; the carcass's code.
async fn with_limits() -> (Shop, Things, String) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await;
    goes_to(&shop.post(Cast::Owner, "/checks/limits/usual", &[]).await);
    (shop, things, carcass.code.to_string())
}

/// What the record form sends of the cooler's temperature.
fn cooler<'a>(place: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![("place", place), ("quantity", "temperature"), ("value", value), ("instrument", ""), ("when", "")]
}

async fn measure(shop: &Shop, things: &Things, value: &str) -> String {
    let place = things.cooler.id.to_string();
    goes_to(&shop.post(Cast::Cutter, "/checks/record", &cooler(&place, value)).await)
}

/// A place more, of a kind, in another or in none.
async fn place(shop: &Shop, n: u128, name: &str, kind: PlaceKind, within: Option<PlaceId>) -> Named<PlaceId> {
    let place = Named::new(PlaceId(Uuid::from_u128(n)), name);
    let entry = PlaceWritten {
        place: place.id,
        name: name.into(),
        kind,
        within,
        read_every: Some(4),
        note: String::new(),
        retired: false,
    };
    shop.sign(entry).await;
    place
}

const WHOLE: [(&str, &str); 4] = [
    ("cause", "The door stood ajar behind the delivery; it was shut."),
    ("control", "3.1 °C at 10:30, read again with probe 2."),
    ("prevent", "A door closer is fitted and the morning round starts there."),
    ("product", "Core of the carcass at 3.4 °C, never above 4 °C."),
];

async fn held(shop: &Shop, code: &str) -> Option<String> {
    let code = code.parse().unwrap();
    let lot = flitchbook::book::db::lot_by_code(&mut shop.app.db().await.unwrap(), &code).await.unwrap();
    lot.unwrap().held
}

#[tokio::test]
async fn a_check_out_of_limits_holds_the_lots_in_the_place_and_asks_what_was_done() {
    let (shop, things, code) = with_limits().await;
    let deviation = measure(&shop, &things, "6.2").await;
    assert!(deviation.starts_with("/checks/deviations/"), "{deviation}");
    let page = shop.get(Cast::Cutter, &deviation).await;
    assert_eq!(page.one("h1"), "cooler 1 at 6.2 °C, limit at most 4.0 °C");
    assert!(page.one("table.table tbody").contains(&code));
    assert_eq!(page.all("form.sheet textarea").len(), 4);
    assert_eq!(
        held(&shop, &code).await.as_deref(),
        Some("cooler 1 at 6.2\u{a0}°C, limit at most 4.0\u{a0}°C")
    );
    let checks = shop.get(Cast::Cutter, "/checks").await;
    assert!(checks.one("table.lines").contains("1 lot on hold"), "{}", checks.one("table.lines"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_held_carcass_does_not_come_on_the_block_until_the_decision_is_signed() {
    let (shop, things, code) = with_limits().await;
    let lot = lot_of(&shop, &code).await;
    let deviation = measure(&shop, &things, "6.2").await;
    let opened = [("lot", lot.as_str()), ("cut_list", "")];
    let page = shop.post(Cast::Cutter, "/block", &opened).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.one(".errors").contains("is on hold: cooler 1 at 6.2"), "{}", page.one(".errors"));

    let action = format!("{deviation}/corrective-action");
    goes_to(&shop.post(Cast::Cutter, &action, &WHOLE).await);
    let decision = format!("{deviation}/decision");
    let words = ("words", "The core stayed cold.");
    let decided = [("every", "lift the hold"), ("lot", lot.as_str()), ("decision", ""), words];
    assert_eq!(shop.post(Cast::Cutter, &decision, &decided).await.status, StatusCode::FORBIDDEN);
    goes_to(&shop.post(Cast::Reviewer, &decision, &decided).await);
    assert_eq!(held(&shop, &code).await, None);
    goes_to(&shop.post(Cast::Cutter, "/block", &opened).await);
    let page = shop.get(Cast::Inspector, &deviation).await;
    assert_eq!(page.one(".stamp"), "closed");
    let lines = page.all("table.lines tbody tr .initials");
    assert_eq!(lines, ["RE", "CU", "CU"], "who decided, who acted, who measured");
    assert_eq!(shop.verify().await.findings, []);
}

async fn lot_of(shop: &Shop, code: &str) -> String {
    let code = code.parse().unwrap();
    let lot = flitchbook::book::db::lot_by_code(&mut shop.app.db().await.unwrap(), &code).await.unwrap();
    lot.unwrap().id.to_string()
}

#[tokio::test]
async fn it_is_not_closed_with_three_of_the_four_parts() {
    let (shop, things, code) = with_limits().await;
    let lot = lot_of(&shop, &code).await;
    let deviation = measure(&shop, &things, "6.2").await;
    for part in &WHOLE[..3] {
        goes_to(&shop.post(Cast::Cutter, &format!("{deviation}/corrective-action"), &[*part]).await);
    }
    let decided =
        [("every", "lift the hold"), ("lot", lot.as_str()), ("decision", ""), ("words", "It looked fine.")];
    let before = shop.lines().await;
    let page = shop.post(Cast::Owner, &format!("{deviation}/decision"), &decided).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(shop.lines().await, before);
    assert!(page.one(".errors").contains("What becomes of the product"), "{}", page.one(".errors"));
    assert!(held(&shop, &code).await.is_some());
    goes_to(&shop.post(Cast::Cutter, &format!("{deviation}/corrective-action"), &WHOLE[3..]).await);
    goes_to(&shop.post(Cast::Owner, &format!("{deviation}/decision"), &decided).await);
    assert_eq!(held(&shop, &code).await, None);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn exactly_at_the_limit_is_met_and_a_hundredth_past_it_is_not() {
    let (shop, things, code) = with_limits().await;
    assert_eq!(measure(&shop, &things, "4.0").await, "/checks");
    // 39.2 °F is 4 °C by definition of the scales.
    assert_eq!(measure(&shop, &things, "39.2 F").await, "/checks");
    assert_eq!(held(&shop, &code).await, None);
    assert!(measure(&shop, &things, "4,01").await.starts_with("/checks/deviations/"));
    assert!(held(&shop, &code).await.is_some());
    let record = shop.get(Cast::Inspector, "/checks/records").await;
    let values = record.all("table.table tbody td.num");
    assert_eq!(values, ["4.01 °C", "4.0 °C", "4.0 °C"]);
    let out = shop.get(Cast::Inspector, "/checks/records?out=yes").await;
    assert_eq!(out.all("table.table tbody td.num"), ["4.01 °C"]);
}

#[tokio::test]
async fn a_lot_that_two_deviations_hold_stays_held_when_one_is_decided() {
    let (shop, things, code) = with_limits().await;
    let lot = lot_of(&shop, &code).await;
    let (first, second) = (measure(&shop, &things, "6.2").await, measure(&shop, &things, "7.1").await);
    let decided =
        [("every", ""), ("lot", lot.as_str()), ("decision", "lift the hold"), ("words", "Core cold.")];
    for (deviation, still) in [(first, true), (second, false)] {
        goes_to(&shop.post(Cast::Cutter, &format!("{deviation}/corrective-action"), &WHOLE).await);
        goes_to(&shop.post(Cast::Owner, &format!("{deviation}/decision"), &decided).await);
        assert_eq!(held(&shop, &code).await.is_some(), still);
    }
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_is_kept_on_hold_stays_held_and_is_let_go_by_hand_later() {
    let (shop, things, code) = with_limits().await;
    let lot = lot_of(&shop, &code).await;
    let deviation = measure(&shop, &things, "6.2").await;
    let hold = shop.get(Cast::Owner, "/checks/holds").await;
    assert_eq!(hold.attribute("table.table td a", "href").unwrap(), deviation, "decided at its deviation");
    goes_to(&shop.post(Cast::Cutter, &format!("{deviation}/corrective-action"), &WHOLE).await);
    let decided = [
        ("every", "keep on hold"),
        ("lot", lot.as_str()),
        ("decision", ""),
        ("words", "Sampled; result awaited."),
    ];
    goes_to(&shop.post(Cast::Reviewer, &format!("{deviation}/decision"), &decided).await);
    assert!(held(&shop, &code).await.is_some());
    let own = shop.get(Cast::Owner, "/checks/holds").await.attribute("table.table td a", "href").unwrap();
    let words = [("words", "Result clear.")];
    assert_eq!(shop.post(Cast::Cutter, &own, &words).await.status, StatusCode::FORBIDDEN);
    goes_to(&shop.post(Cast::Reviewer, &own, &words).await);
    assert_eq!(held(&shop, &code).await, None);
    assert_eq!(shop.post(Cast::Reviewer, &own, &words).await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_hold_of_an_open_deviation_is_not_lifted_past_it() {
    let (shop, things, code) = with_limits().await;
    measure(&shop, &things, "6.2").await;
    let (lot, seq) = (lot_of(&shop, &code).await, shop.lines().await);
    let page =
        shop.post(Cast::Owner, &format!("/checks/holds/{lot}/{seq}"), &[("words", "It is fine.")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.text.contains("decided there"), "{}", page.text);
    assert!(held(&shop, &code).await.is_some());
}

#[tokio::test]
async fn a_struck_check_lets_go_what_it_held() {
    let (shop, things, code) = with_limits().await;
    let deviation = measure(&shop, &things, "6.2").await;
    let strike = format!("/entries/{}/strike", shop.lines().await);
    goes_to(&shop.post(Cast::Cutter, &strike, &[("reason", "probe held in the hand")]).await);
    assert_eq!(held(&shop, &code).await, None);
    let page = shop.get(Cast::Owner, &deviation).await;
    assert_eq!(page.one(".stamp"), "struck");
    assert!(page.all("form.sheet").is_empty());
    let late = shop.post(Cast::Owner, &format!("{deviation}/corrective-action"), &WHOLE).await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(late.one(".errors").contains("was struck"), "{}", late.one(".errors"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_check_whose_corrective_action_is_written_is_not_struck_before_that() {
    let (shop, things, code) = with_limits().await;
    let deviation = measure(&shop, &things, "6.2").await;
    let check = shop.lines().await;
    goes_to(&shop.post(Cast::Cutter, &format!("{deviation}/corrective-action"), &WHOLE[..1]).await);
    let reason = [("reason", "probe held in the hand")];
    let page = shop.post(Cast::Cutter, &format!("/entries/{check}/strike"), &reason).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    for seq in [check + 1, check] {
        goes_to(&shop.post(Cast::Cutter, &format!("/entries/{seq}/strike"), &reason).await);
    }
    assert_eq!(held(&shop, &code).await, None);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_struck_decision_holds_the_lots_again_but_not_for_a_check_that_was_struck() {
    let (shop, things, code) = with_limits().await;
    let lot = lot_of(&shop, &code).await;
    goes_to(&shop.post(Cast::Cutter, "/checks/holds", &[("code", &code), ("reason", "smells off")]).await);
    let laid = shop.lines().await;
    goes_to(
        &shop
            .post(Cast::Owner, &format!("/checks/holds/{lot}/{laid}"), &[("words", "It was the mop.")])
            .await,
    );
    let reason = [("reason", "wrong lot")];
    goes_to(&shop.post(Cast::Owner, &format!("/entries/{}/strike", laid + 1), &reason).await);
    assert_eq!(held(&shop, &code).await.as_deref(), Some("smells off"));

    goes_to(
        &shop
            .post(Cast::Owner, &format!("/checks/holds/{lot}/{laid}"), &[("words", "It was the mop.")])
            .await,
    );
    let lifted = shop.lines().await;
    goes_to(&shop.post(Cast::Owner, &format!("/entries/{laid}/strike"), &reason).await);
    goes_to(&shop.post(Cast::Owner, &format!("/entries/{lifted}/strike"), &reason).await);
    assert_eq!(held(&shop, &code).await, None);
    drop(things);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn only_what_lay_there_then_is_held_and_what_was_made_of_it_since() {
    let (shop, things, early) = with_limits().await;
    shop.later(Duration::hours(1));
    let carcass = shop.carcass(&things, 88_000).await;
    let late = carcass.code.to_string();
    // One collar comes off the early carcass before the reading of 09:50 is written down.
    let opened = [("lot", &*lot_of(&shop, &early).await), ("cut_list", "")].map(|(k, v)| (k, v.to_owned()));
    let opened: Vec<_> = opened.iter().map(|(k, v)| (*k, v.as_str())).collect();
    let block = goes_to(&shop.post(Cast::Cutter, "/block", &opened).await);
    let counter = place(&shop, 301, "counter", PlaceKind::Counter, None).await.id.to_string();
    let item = things.collar.id.to_string();
    let cut = [
        ("cut", item.as_str()),
        ("weight", "3.18"),
        ("weight_unit", "kg"),
        ("pieces", "1"),
        ("goes_to", "fresh counter"),
        ("place", counter.as_str()),
    ];
    goes_to(&shop.post(Cast::Cutter, &block, &cut).await);
    let cooler_id = things.cooler.id.to_string();
    let mut form = cooler(&cooler_id, "6.2");
    form.pop();
    form.push(("when", "2026-11-24T09:50"));
    goes_to(&shop.post(Cast::Cutter, "/checks/record", &form).await);
    assert!(held(&shop, &early).await.is_some());
    assert!(held(&shop, &format!("{early}.01")).await.is_some(), "the collar came off it after 09:50");
    assert_eq!(held(&shop, &late).await, None, "it came at 10:40");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_hangs_on_a_rail_is_held_with_its_chamber() {
    let (shop, things, _) = with_limits().await;
    let chamber = place(&shop, 302, "chamber 1", PlaceKind::Chamber, None).await;
    let rail = place(&shop, 303, "rail B", PlaceKind::Rail, Some(chamber.id)).await;
    let hung = shop.carcass(&Things { cooler: rail, ..things.clone() }, 40_000).await;
    let id = chamber.id.to_string();
    let form = [("place", id.as_str()), ("quantity", "humidity"), ("value", "91 %RH")];
    let deviation = goes_to(&shop.post(Cast::Curer, "/checks/record", &form).await);
    assert!(held(&shop, &hung.code.to_string()).await.is_some());
    let page = shop.get(Cast::Curer, &deviation).await;
    assert_eq!(page.one("h1"), "chamber 1 at 91 %RH, limit 65 to 85 %RH");
    assert_eq!(page.all("table.table tbody tr").len(), 1);
}

#[tokio::test]
async fn without_a_limit_it_is_a_reading_with_its_instrument() {
    let (shop, things, code) = with_limits().await;
    let instrument = InstrumentId(Uuid::from_u128(401));
    let entry =
        InstrumentWritten { instrument, name: "pH meter".into(), measures: Measures::Ph, retired: false };
    shop.sign(entry).await;
    let found = goes_to(&shop.get(Cast::Curer, &format!("/checks/record?code={code}")).await);
    assert_eq!(found, format!("/checks/record?lot={}", lot_of(&shop, &code).await));
    let lot = lot_of(&shop, &code).await;
    let instrument = instrument.to_string();
    let form =
        [("lot", lot.as_str()), ("quantity", "ph"), ("value", "5,62"), ("instrument", instrument.as_str())];
    assert_eq!(goes_to(&shop.post(Cast::Curer, "/checks/record", &form).await), "/checks");
    let line = shop.get(Cast::Curer, "/checks").await.all("table.lines tbody tr").pop().unwrap();
    assert!(line.starts_with("09:40 pH of 26328-01 with pH meter"), "{line}");
    assert!(line.contains("pH 5.62"), "{line}");
    let mut conn = shop.app.db().await.unwrap();
    let on = On::Lot(lot.parse().unwrap());
    let readings = checks::readings_of(&mut conn, on, MORNING, MORNING + Duration::hours(1)).await.unwrap();
    assert_eq!(readings.len(), 1);
    assert_eq!((readings[0].value.decimal(), readings[0].met), (dec!(5.62), None));
    drop(things);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_place_that_is_read_every_four_hours_is_due_and_then_late() {
    let (shop, _, _) = with_limits().await;
    let chamber = place(&shop, 302, "chamber 1", PlaceKind::Chamber, None).await;
    let due = async || {
        let now = shop.app.book.clock.now();
        checks::due(&mut shop.app.db().await.unwrap(), now).await.unwrap()
    };
    let first = due().await;
    assert_eq!(first.len(), 2, "its temperature and its humidity, which have limits");
    assert!(first.iter().all(|due| due.last.is_none() && due.due_at == MORNING));
    let id = chamber.id.to_string();
    for (quantity, value) in [("temperature", "12.5"), ("humidity", "78")] {
        let form = [("place", id.as_str()), ("quantity", quantity), ("value", value)];
        goes_to(&shop.post(Cast::Curer, "/checks/record", &form).await);
    }
    assert!(
        due().await.iter().all(|due| due.late_by.is_none() && due.due_at == MORNING + Duration::hours(4))
    );
    shop.later(Duration::hours(5));
    assert!(due().await.iter().all(|due| due.late_by == Some(Duration::hours(1))));
    let page = shop.get(Cast::Curer, "/checks").await;
    assert_eq!(page.all("table.lines .state.late"), ["late by 1 h", "late by 1 h"]);
}

#[tokio::test]
async fn an_older_check_keeps_the_limit_that_was_in_force_then() {
    let (shop, things, _) = with_limits().await;
    measure(&shop, &things, "3.8").await;
    let limits = shop.get(Cast::Owner, "/checks/limits").await;
    assert_eq!(limits.all("table.table tbody th").len(), 8);
    let coolers = href_of(&limits.text, "Coolers");
    let form = [
        ("name", "Coolers"),
        ("quantity", "temperature"),
        ("applies", "kind:cooler"),
        ("least", ""),
        ("most", "3"),
        ("source", "The shop's own plan."),
    ];
    assert_eq!(goes_to(&shop.post(Cast::Owner, &coolers, &form).await), "/checks/limits");
    measure(&shop, &things, "3.0").await;
    let record = shop.get(Cast::Owner, "/checks/records").await;
    let said = record.all("td[data-name=Limit]");
    assert_eq!(said, ["Coolers: at most 3.0 °C, met", "Coolers: at most 4.0 °C, met"]);
    let filtered = shop
        .get(Cast::Owner, &format!("/checks/records?limit={}", coolers.rsplit('/').next().unwrap()))
        .await;
    assert_eq!(filtered.all("td[data-name=Limit]").len(), 2);
}

/// The address of the link with this text.
fn href_of(html: &str, text: &str) -> String {
    let before = html.split(&format!("\">{text}</a>")).next().unwrap();
    before.rsplit("href=\"").next().unwrap().to_owned()
}

#[tokio::test]
async fn a_limit_is_written_for_one_place_and_the_usual_ones_are_taken_once() {
    let (shop, things, code) = with_limits().await;
    assert_eq!(
        shop.post(Cast::Owner, "/checks/limits/usual", &[]).await.status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    let applies = format!("place:{}", things.cooler.id);
    let form = [
        ("name", "Cooler 1, plan"),
        ("quantity", "temperature"),
        ("applies", applies.as_str()),
        ("least", "0"),
        ("most", "3"),
        ("source", "The shop's own plan."),
    ];
    goes_to(&shop.post(Cast::Owner, "/checks/limits", &form).await);
    let deviation = measure(&shop, &things, "3.5").await;
    let page = shop.get(Cast::Owner, &deviation).await;
    assert_eq!(page.one("h1"), "cooler 1 at 3.5 °C, limit 0.0 to 3.0 °C");
    let record = shop.get(Cast::Owner, "/checks/records").await;
    assert_eq!(
        record.one("td[data-name=Limit]"),
        "Cooler 1, plan: 0.0 to 3.0 °C, not met; Coolers: at most 4.0 °C, met"
    );
    assert!(held(&shop, &code).await.is_some());
    let twice = shop.post(Cast::Owner, "/checks/limits", &form).await;
    assert_eq!(twice.error_at("name"), "Another limit has this name.");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn an_inspector_reads_every_sheet_and_signs_nothing() {
    let (shop, things, code) = with_limits().await;
    let deviation = measure(&shop, &things, "6.2").await;
    let (lot, seq) = (lot_of(&shop, &code).await, shop.lines().await);
    let place = things.cooler.id.to_string();
    let record = format!("/checks/record?place={place}");
    let hold = format!("/checks/holds/{lot}/{seq}");
    let limit = href_of(&shop.get(Cast::Inspector, "/checks/limits").await.text, "Coolers");
    let pages =
        ["/checks", "/checks/record", &record, "/checks/records", "/checks/limits", "/checks/deviations"];
    for path in pages.into_iter().chain([deviation.as_str(), "/checks/holds", &hold, &limit]) {
        let page = shop.get(Cast::Inspector, path).await;
        assert_eq!(page.status, StatusCode::OK, "{path}");
        assert_eq!(page.all("main h1").len(), 1, "{path}");
        assert!(page.all("main form[method=post]").is_empty(), "{path}");
        let stranger = shop.get(Cast::Stranger, path).await;
        assert!(goes_to(&stranger).starts_with("/sign-in"), "{path}");
    }
    let before = shop.lines().await;
    let (action, decision) = (format!("{deviation}/corrective-action"), format!("{deviation}/decision"));
    let posts = ["/checks/record", "/checks/limits", "/checks/limits/usual", "/checks/holds"];
    for path in posts.into_iter().chain([&limit, &hold, &action, &decision].map(String::as_str)) {
        let page = shop.post(Cast::Inspector, path, &cooler(&place, "3")).await;
        assert_eq!(page.status, StatusCode::FORBIDDEN, "{path}");
        let page = shop.post(Cast::Stranger, path, &[]).await;
        assert_eq!(page.status, StatusCode::UNAUTHORIZED, "{path}");
    }
    for path in ["/checks/limits", "/checks/limits/usual", &limit] {
        assert_eq!(shop.post(Cast::Curer, path, &[]).await.status, StatusCode::FORBIDDEN, "{path}");
    }
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn what_is_not_there_is_not_found() {
    let (shop, _, _) = with_limits().await;
    let id = Uuid::from_u128(999);
    for path in [
        format!("/checks/limits/{id}"),
        format!("/checks/deviations/{id}"),
        format!("/checks/records/{id}"),
        format!("/checks/holds/{id}/3"),
        format!("/checks/record?place={id}"),
        format!("/checks/record?lot={id}"),
        format!("/checks/record?batch={id}"),
        "/checks/deviations/none".to_owned(),
    ] {
        assert_eq!(shop.get(Cast::Owner, &path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    let form = cooler("", "3");
    assert_eq!(shop.post(Cast::Owner, "/checks/record", &form).await.status, StatusCode::NOT_FOUND);
    let id = id.to_string();
    let form = cooler(&id, "3");
    assert_eq!(shop.post(Cast::Owner, "/checks/record", &form).await.status, StatusCode::NOT_FOUND);
    let found = shop.get(Cast::Owner, "/checks/record?code=26001-01").await;
    assert_eq!(found.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(found.error_at("code"), "No lot and no batch has the code 26001-01.");
    assert_eq!(found.attribute("main input[name=code]", "value").as_deref(), Some("26001-01"));
}

#[tokio::test]
async fn a_reading_that_cannot_be_is_refused_at_its_field_and_stays_typed() {
    let (shop, things, code) = with_limits().await;
    let place = things.cooler.id.to_string();
    let before = shop.lines().await;
    let foreign = Uuid::from_u128(999).to_string();
    let long = "3".repeat(200);
    for (quantity, value, instrument, when, field) in [
        ("", "3", "", "", "quantity"),
        ("weight", "3", "", "", "quantity"),
        ("temperature", "", "", "", "value"),
        ("temperature", "cold", "", "", "value"),
        ("temperature", "3 kg", "", "", "value"),
        ("temperature", "-300", "", "", "value"),
        ("temperature", "4000", "", "", "value"),
        ("temperature", &long, "", "", "value"),
        ("humidity", "-1", "", "", "value"),
        ("humidity", "101", "", "", "value"),
        ("ph", "14.1", "", "", "value"),
        ("water activity", "1.2", "", "", "value"),
        ("chlorine", "5001", "", "", "value"),
        ("chlorine", "-5", "", "", "value"),
        ("temperature", "3", "probe", "", "instrument"),
        ("temperature", "3", &foreign, "", "instrument"),
        ("temperature", "3", "", "2026-02-30T10:00", "when"),
        ("temperature", "3", "", "2026-11-24T10:00", "when"),
        ("temperature", "3", "", "2025-11-24T09:30", "when"),
    ] {
        let form = [
            ("place", place.as_str()),
            ("quantity", quantity),
            ("value", value),
            ("instrument", instrument),
            ("when", when),
        ];
        let page = shop.post(Cast::Cutter, "/checks/record", &form).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{form:?}");
        assert!(!page.error_at(field).is_empty(), "{form:?}");
        assert_eq!(page.attribute("input[name=value]", "value").as_deref(), Some(value), "{form:?}");
    }
    assert_eq!(shop.lines().await, before);
    assert_eq!(held(&shop, &code).await, None);
}

#[tokio::test]
async fn a_limit_or_a_hold_that_says_too_little_is_refused() {
    let (shop, _, code) = with_limits().await;
    let before = shop.lines().await;
    let limit = |name, quantity, applies, least, most, source| {
        [
            ("name", name),
            ("quantity", quantity),
            ("applies", applies),
            ("least", least),
            ("most", most),
            ("source", source),
        ]
    };
    let foreign = format!("place:{}", Uuid::from_u128(999));
    for (form, field) in [
        (limit("", "ph", "form:mix", "", "5.3", "plan"), "name"),
        (limit("coolers", "ph", "form:mix", "", "5.3", "plan"), "name"),
        (limit("pH", "", "form:mix", "", "5.3", "plan"), "quantity"),
        (limit("pH", "ph", "", "", "5.3", "plan"), "applies"),
        (limit("pH", "ph", "kind:cellar", "", "5.3", "plan"), "applies"),
        (limit("pH", "ph", &foreign, "", "5.3", "plan"), "applies"),
        (limit("pH", "ph", "form:mix", "", "", "plan"), "most"),
        (limit("pH", "ph", "form:mix", "6", "5.3", "plan"), "most"),
        (limit("pH", "ph", "form:mix", "4 C", "5.3", "plan"), "least"),
        (limit("pH", "ph", "form:mix", "", "15", "plan"), "most"),
        (limit("pH", "ph", "form:mix", "", "5.3", ""), "source"),
    ] {
        let page = shop.post(Cast::Owner, "/checks/limits", &form).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{form:?}");
        assert!(!page.error_at(field).is_empty(), "{form:?}\n{}", page.one(".errors"));
    }
    for (code, reason, field) in [
        ("", "off", "code"),
        ("26001-99", "off", "code"),
        ("collar", "off", "code"),
        (code.as_str(), "", "reason"),
    ] {
        let page = shop.post(Cast::Cutter, "/checks/holds", &[("code", code), ("reason", reason)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(!page.error_at(field).is_empty(), "{code} {reason}");
    }
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn a_decision_without_words_or_on_a_foreign_lot_is_refused() {
    let (shop, things, code) = with_limits().await;
    let lot = lot_of(&shop, &code).await;
    let deviation = measure(&shop, &things, "6.2").await;
    goes_to(&shop.post(Cast::Cutter, &format!("{deviation}/corrective-action"), &WHOLE).await);
    let empty = shop.post(Cast::Cutter, &format!("{deviation}/corrective-action"), &[]).await;
    assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
    let before = shop.lines().await;
    let foreign = Uuid::from_u128(999).to_string();
    for (every, lots, own, words, field) in [
        ("lift the hold", vec![lot.as_str()], "", "", "words"),
        ("", vec![lot.as_str()], "", "cold", "every"),
        ("burn", vec![lot.as_str()], "", "cold", "every"),
        ("lift the hold", vec![], "", "cold", "every"),
        ("lift the hold", vec![foreign.as_str()], "", "cold", "every"),
        ("lift the hold", vec![lot.as_str(), lot.as_str()], "", "cold", "every"),
    ] {
        let mut form = vec![("every", every), ("words", words)];
        for lot in lots {
            form.extend([("lot", lot), ("decision", own)]);
        }
        let page = shop.post(Cast::Owner, &format!("{deviation}/decision"), &form).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{form:?}");
        assert!(!page.error_at(field).is_empty(), "{form:?}\n{}", page.one(".errors"));
        assert!(page.text.contains(words), "{form:?}");
    }
    assert_eq!(shop.lines().await, before);
    assert!(held(&shop, &code).await.is_some());
}

#[tokio::test]
async fn a_check_sent_twice_is_one_line_and_leads_to_its_deviation_again() {
    let (shop, things, _) = with_limits().await;
    let place = things.cooler.id.to_string();
    let path = format!("/checks/record?place={place}");
    let id = shop.get(Cast::Cutter, &path).await.form_id();
    let mut form = vec![("id", id.as_str())];
    form.extend(cooler(&place, "6.2"));
    let first = goes_to(&shop.post_raw(Cast::Cutter, "/checks/record", &form).await);
    let before = shop.lines().await;
    assert_eq!(goes_to(&shop.post_raw(Cast::Cutter, "/checks/record", &form).await), first);
    assert_eq!(shop.lines().await, before);
    assert_eq!(held_lines(&shop).await, 1);
}

async fn held_lines(shop: &Shop) -> i64 {
    sqlx::query_scalar("SELECT count(*) FROM hold").fetch_one(&shop.app.book.pool).await.unwrap()
}

#[tokio::test]
async fn a_ph_counts_at_the_end_of_fermenting_and_then_for_every_piece_of_the_batch() {
    let (shop, things, _) = with_limits().await;
    let larder = shop.larder(&things).await;
    let made = shop.salami_of(&things, &larder).await;
    shop.stage(&made, Stage::Fermenting, &larder.chamber).await;
    let found = goes_to(&shop.get(Cast::Curer, &format!("/checks/record?code={}", made.code)).await);
    assert_eq!(found, format!("/checks/record?batch={}", made.batch));
    let page = shop.get(Cast::Curer, &found).await;
    assert_eq!(page.one(".tick label"), "This ends the fermenting: hold it against at most pH 5.30");
    let batch = made.batch.to_string();
    let form =
        |value, end| [("batch", batch.as_str()), ("quantity", "ph"), ("value", value), ("end", end)].to_vec();
    // FSIS-GD-2023-0002: pH 5.3 or less; a batch that still ferments is not held for being on its way there.
    for (value, end) in [("5.70", ""), ("5.30", "yes")] {
        assert_eq!(goes_to(&shop.post(Cast::Curer, "/checks/record", &form(value, end)).await), "/checks");
    }
    let deviation = goes_to(&shop.post(Cast::Curer, "/checks/record", &form("5.31", "yes")).await);
    assert_eq!(shop.get(Cast::Curer, &deviation).await.all("table.table tbody tr").len(), 4);
    let pieces: Vec<LotId> = made.pieces.iter().map(|piece| piece.lot).collect();
    let mut conn = shop.app.db().await.unwrap();
    let open = checks::open_deviations(&mut conn, &pieces[..2]).await.unwrap();
    assert_eq!(open.len(), 1);
    assert_eq!(open[0].lots.len(), 2, "those that were asked for");
    let piece = pieces[0].to_string();
    let one = [("lot", piece.as_str()), ("quantity", "ph"), ("value", "5.4"), ("end", "yes")];
    let second = goes_to(&shop.post(Cast::Curer, "/checks/record", &one).await);
    assert_eq!(shop.get(Cast::Curer, &second).await.all("table.table tbody tr").len(), 4);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn sanitizer_stronger_than_its_band_opens_a_deviation_that_holds_nothing() {
    let (shop, _, _) = with_limits().await;
    let block = place(&shop, 304, "block", PlaceKind::Block, None).await.id.to_string();
    let form = |value| [("place", block.as_str()), ("quantity", "chlorine"), ("value", value)].to_vec();
    // 21 CFR 178.1010: at most 200 ppm; FDA Food Code 4-501.114: from 50 ppm. Both ends are met.
    for value in ["50", "200 ppm"] {
        assert_eq!(goes_to(&shop.post(Cast::Cutter, "/checks/record", &form(value)).await), "/checks");
    }
    let deviation = goes_to(&shop.post(Cast::Cutter, "/checks/record", &form("201")).await);
    goes_to(&shop.post(Cast::Cutter, &format!("{deviation}/corrective-action"), &WHOLE).await);
    goes_to(
        &shop
            .post(Cast::Owner, &format!("{deviation}/decision"), &[("words", "Mixed anew at 100 ppm.")])
            .await,
    );
    assert_eq!(shop.get(Cast::Owner, &deviation).await.one(".stamp"), "closed");
    assert_eq!(held_lines(&shop).await, 0);
    assert_eq!(shop.verify().await.findings, []);
}
