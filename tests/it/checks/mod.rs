//! Checks, deviations and holds, through the router and a real database.

mod records;

use axum::http::StatusCode;
use flitchbook::checks;
use flitchbook::deviations::{self, On};
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
async fn what_somebody_saw_is_written_down_by_hand_and_handled_as_what_no_plan_foresees() {
    let (shop, _, code) = with_limits().await;
    let form =
        [("code", code.as_str()), ("place", ""), ("what", "Rust on the rail above it"), ("foreseen", "")];
    let open = shop.post(Cast::Cutter, "/checks/deviations/new", &form).await;
    assert_eq!(open.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(open.error_at("foreseen").contains("whether a plan foresees it"));
    let both = [("code", code.as_str()), ("place", "x"), ("what", "Rust"), ("foreseen", "no")];
    assert!(
        shop.post(Cast::Cutter, "/checks/deviations/new", &both)
            .await
            .error_at("code")
            .contains("one of the two")
    );
    let form =
        [("code", code.as_str()), ("place", ""), ("what", "Rust on the rail above it"), ("foreseen", "no")];
    let path = goes_to(&shop.post(Cast::Cutter, "/checks/deviations/new", &form).await);
    assert_eq!(held(&shop, &code).await.as_deref(), Some("Rust on the rail above it"));
    let page = shop.get(Cast::Cutter, &path).await;
    assert!(page.text.contains("417.3(b)") && page.text.contains("Plan reassessed"));
    goes_to(&shop.post(Cast::Cutter, &format!("{path}/corrective-action"), &WHOLE).await);
    let lot = shop.get(Cast::Reviewer, &path).await.attribute("input[name=lot]", "value").unwrap();
    let decision = [
        ("every", "rework"),
        ("lot", lot.as_str()),
        ("decision", ""),
        ("words", "Trimmed where it lay under the rail."),
    ];
    goes_to(&shop.post(Cast::Reviewer, &format!("{path}/decision"), &decision).await);
    assert!(held(&shop, &code).await.is_some(), "it stays on hold until it is reworked");
    assert!(shop.get(Cast::Owner, &path).await.text.contains("to be reworked"));
    assert_eq!(shop.get(Cast::Inspector, "/checks/deviations/new").await.status, StatusCode::FORBIDDEN);
    assert_eq!(shop.verify().await.findings, []);
}
