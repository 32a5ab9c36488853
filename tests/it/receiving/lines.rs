//! The lines of a docket and the shop's answer on each.

use axum::http::StatusCode;
use flitchbook::receiving;
use rust_decimal::dec;

use super::{Door, received};
use crate::shop::{Cast, goes_to};

#[tokio::test]
async fn a_signed_line_shows_at_once_and_its_weight_lies_in_the_cooler() {
    let door = Door::open().await;
    let path = goes_to(&door.loin(Cast::Cutter, &[]).await);
    let page = door.shop.get(Cast::Cutter, &path).await;
    assert!(page.one("table.lines tbody .what").starts_with("pork loin 26328-01 received"), "{}", page.text);
    assert_eq!(page.one("table.lines tbody .figure"), "8.400 kg");
    assert_eq!(page.one("table.lines tbody .initials"), "CU");
    assert_eq!(page.all("dl.figures dd.big"), ["8.400 kg", "2.5 °C"]);
    assert_eq!(door.shop.grams("26328-01").await.decimal(), dec!(8400));
    assert_eq!(received(&door.shop, "26328-01", "price").await.as_deref(), Some("6.2000"));
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn twelve_boxes_of_one_docket_are_twelve_weights_and_temperatures() {
    let door = Door::open().await;
    let mut next = format!("{}?item={}", door.path, door.things.loin.id);
    for n in 0..12 {
        let page = door.shop.get(Cast::Cutter, &next).await;
        assert_eq!(page.attribute("input[name=weight]", "value").as_deref(), Some(""));
        assert_eq!(page.attribute("input[name=temperature]", "value").as_deref(), Some(""), "it is measured");
        let of = |name: &str| page.attribute(&format!("input[name={name}]"), "value").unwrap_or_default();
        let kept = (of("breed"), of("slaughtered"), of("price"), of("solution"));
        if n > 0 {
            assert_eq!(kept, ("Large Black".into(), "2026-11-20".into(), "6.2".into(), "0".into()));
            assert_eq!(page.attribute("input[name=frozen][checked]", "value").as_deref(), Some("fresh"));
        }
        let weight = format!("{}.4", 7 + n);
        let fields = [("weight", weight.as_str()), ("breed", "Large Black"), ("slaughtered", "2026-11-20")];
        next = goes_to(&door.loin(Cast::Cutter, &fields).await);
    }
    let page = door.page().await;
    assert_eq!(page.all("table.lines tbody tr").len(), 13);
    assert!(page.one("dl.figures").contains("12 lines"), "{}", page.one("dl.figures"));
    assert_eq!(door.shop.grams("26328-12").await.decimal(), dec!(18400));
    assert_eq!(page.one("a.tile h3"), "pork loin", "what this supplier brings can be picked at once");
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_carcass_carries_its_ear_tag_its_basis_and_its_price_by_the_pound() {
    let door = Door::open().await;
    let carcass = door.things.carcass.id.to_string();
    let path = format!("{}?item={carcass}", door.path);
    let page = door.shop.get(Cast::Cutter, &path).await;
    assert_eq!(page.one("#f-temperature-hint"), "Asked for: 7.0 °C or colder.");
    assert_eq!(page.attribute("input[name=solution]", "name"), None, "nobody injects a carcass");
    let fields = [
        ("item", carcass.as_str()),
        ("weight", "203 lb 11 oz"),
        ("temperature", "6.2"),
        ("basis", "hot"),
        ("breed", "Large Black"),
        ("ear_tag", "UK 482113 00217"),
        ("slaughtered", "2026-11-23"),
        ("price", "1.90/lb"),
    ];
    goes_to(&door.loin(Cast::Cutter, &fields).await);
    let code = "26328-01".parse().unwrap();
    let mut conn = door.shop.app.db().await.unwrap();
    let lot = flitchbook::book::db::lot_by_code(&mut conn, &code).await.unwrap().unwrap();
    let origin = receiving::origin(&mut conn, lot.id).await.unwrap().unwrap();
    // 203 lb 11 oz is 203.6875 lb at 453.59237 g (NIST SP 811, appendix B.8).
    assert_eq!(origin.grams.decimal(), dec!(92391.10));
    assert_eq!(origin.price.unwrap().decimal(), dec!(4.1888));
    assert_eq!((origin.ear_tag.as_str(), origin.basis.as_str()), ("UK 482113 00217", "hot"));
    assert_eq!((origin.docket.as_str(), origin.supplier_name.as_str()), ("D-118", "Hazelrigg Farm"));
    assert!(
        door.page()
            .await
            .one("table.lines tbody .why")
            .starts_with("ear tag UK 482113 00217, Hazelrigg Farm")
    );
}

#[tokio::test]
async fn a_failed_check_never_passes_in_silence() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    for (field, typed, says) in [
        ("temperature", "6.2", "6.2 °C is warmer than 4.0 °C"),
        ("temperature", "", "was not measured"),
        ("solution", "12", "12.0 % added solution"),
        ("solution", "", "not known whether a solution was added"),
        ("frozen", "frozen", "frozen before"),
    ] {
        let page = door.loin(Cast::Cutter, &[(field, typed)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {typed}");
        let error = page.error_at("answer").replace('\u{a0}', " ");
        assert!(error.contains(says), "{field}: {typed}: {error}");
        let page = door.loin(Cast::Curer, &[(field, typed)]).await;
        assert!(page.error_at("reason").contains("Say why"), "{field}: {typed}: {}", page.text);
    }
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_curer_receives_with_a_reason_and_the_line_says_both() {
    let door = Door::open().await;
    let fields = [("temperature", "4.6"), ("reason", "surface only, core at 2 °C")];
    goes_to(&door.loin(Cast::Curer, &fields).await);
    let what = door.page().await.one("table.lines tbody .what").replace('\u{a0}', " ");
    assert!(what.contains("4.6 °C is warmer than 4.0 °C"), "{what}");
    assert!(what.contains("received because: surface only, core at 2 °C"), "{what}");
    assert!(what.contains("check failed"), "{what}");
    assert_eq!(received(&door.shop, "26328-01", "failed").await.as_deref(), Some("{\"too warm\"}"));
    let list = door.shop.get(Cast::Inspector, "/receiving").await;
    assert_eq!(list.one("tbody .state"), "1 received with a failed check");
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_line_received_on_hold_is_held_for_its_failed_check() {
    let door = Door::open().await;
    goes_to(&door.loin(Cast::Cutter, &[("temperature", "6.2"), ("answer", "on hold")]).await);
    let what = door.page().await.one("table.lines tbody .what").replace('\u{a0}', " ");
    assert!(what.contains("on hold: 6.2 °C is warmer than 4.0 °C"), "{what}");
    let page = door.shop.get(Cast::Cutter, "/block").await;
    assert!(!page.text.contains("26328-01"), "a held lot does not wait for the block");
    assert_eq!(door.shop.grams("26328-01").await.decimal(), dec!(8400));
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_is_refused_stays_readable_and_moves_nothing() {
    let door = Door::open().await;
    let fields =
        [("temperature", "11"), ("answer", "refused"), ("place", ""), ("reason", "van was warm, sent back")];
    goes_to(&door.loin(Cast::Cutter, &fields).await);
    let page = door.page().await;
    let what = page.one("table.lines tbody .what").replace('\u{a0}', " ");
    assert!(what.starts_with("pork loin refused"), "{what}");
    assert!(
        what.contains("11.0 °C is warmer than 4.0 °C") && what.contains("refused: van was warm"),
        "{what}"
    );
    let moved: i64 = count(&door, "SELECT count(*) FROM movement").await;
    let lots: i64 = count(&door, "SELECT count(*) FROM lot").await;
    assert_eq!((moved, lots), (0, 0));
    assert_eq!(door.shop.get(Cast::Cutter, "/receiving").await.one("tbody .state"), "1 refused");
    let strike = page.attribute("a.strike", "href").unwrap();
    goes_to(&door.shop.post(Cast::Cutter, &strike, &[("reason", "it was another box")]).await);
    assert_eq!(door.shop.get(Cast::Cutter, "/receiving").await.all("tbody .state"), [""; 0]);
    assert_eq!(door.shop.verify().await.findings, []);
}

async fn count(door: &Door, sql: &'static str) -> i64 {
    sqlx::query_scalar(sql).fetch_one(&door.shop.app.book.pool).await.unwrap()
}

#[tokio::test]
async fn a_supplier_whose_approval_has_ended_brings_nothing_in_unseen() {
    let door = Door::open().await;
    let ended = time::macros::date!(2026 - 11 - 23);
    for (until, says) in
        [(Some(ended), "approval ended on 23 Nov 2026"), (None, "the supplier is not approved")]
    {
        let farm = receiving::entry::SupplierWritten { approved_until: until, ..super::farm(&door.things) };
        door.shop.sign(farm).await;
        let page = door.loin(Cast::Cutter, &[]).await;
        assert!(page.error_at("answer").contains(says), "{}", page.error_at("answer"));
    }
}

#[tokio::test]
async fn what_came_without_a_docket_comes_in_on_hold() {
    let door = Door::open().await;
    let path = super::docket(&door.shop, &door.things, "").await;
    let door = Door { path, ..door };
    let page = door.loin(Cast::Cutter, &[]).await;
    assert!(page.error_at("answer").contains("without a docket number"), "{}", page.error_at("answer"));
    goes_to(&door.loin(Cast::Cutter, &[("answer", "on hold")]).await);
}

#[tokio::test]
async fn a_cure_carries_the_strength_that_its_batches_reckon_with() {
    let door = Door::open().await;
    goes_to(&door.sack(Cast::Curer, &[("allergens", "Mustard, celery")]).await);
    let mut conn = door.shop.app.db().await.unwrap();
    let code = "26328-01".parse().unwrap();
    let lot = flitchbook::book::db::lot_by_code(&mut conn, &code).await.unwrap().unwrap();
    let strength = receiving::strength(&mut conn, lot.id).await.unwrap().unwrap();
    assert_eq!((strength.nitrite.decimal(), strength.nitrate.decimal()), (dec!(6.25), dec!(4)));
    let goods = receiving::goods_lots(&mut conn, &[lot.id]).await.unwrap().remove(&lot.id).unwrap();
    assert_eq!(goods.supplier_lot, "NP-4471");
    assert_eq!(goods.best_before, Some(time::macros::date!(2028 - 05 - 31)));
    assert_eq!(goods.allergens, ["mustard", "celery"]);
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn plain_salt_has_no_strength_and_asks_for_no_temperature() {
    let door = Door::open().await;
    let salt = door.salt.id.to_string();
    let fields = [("item", salt.as_str()), ("cure", "no"), ("nitrite", ""), ("nitrate", "")];
    goes_to(&door.sack(Cast::Curer, &fields).await);
    let mut conn = door.shop.app.db().await.unwrap();
    let code = "26328-01".parse().unwrap();
    let lot = flitchbook::book::db::lot_by_code(&mut conn, &code).await.unwrap().unwrap();
    assert_eq!(receiving::strength(&mut conn, lot.id).await.unwrap(), None);
}

#[tokio::test]
async fn a_cure_of_another_docket_is_asked_for_its_strength_anew_and_never_taken_in_as_plain_salt() {
    let door = Door::open().await;
    goes_to(&door.sack(Cast::Curer, &[]).await);
    let path = super::docket(&door.shop, &door.things, "D-140").await;
    let door = Door { path, ..door };
    let page = door.shop.get(Cast::Curer, &format!("{}?item={}", door.path, door.cure.id)).await;
    assert_eq!(page.attribute("input[name=nitrite]", "value").as_deref(), Some(""));
    assert!(page.one("form.sheet").replace('\u{a0}', " ").contains("6.25 % nitrite, 4.00 % nitrate"));
    let plain = [("cure", "no"), ("nitrite", ""), ("nitrate", "")];
    let page = door.sack(Cast::Owner, &[plain.as_slice(), &[("reason", "looks the same")]].concat()).await;
    assert!(page.error_at("answer").contains("no strength is stated"), "{}", page.error_at("answer"));
    goes_to(&door.sack(Cast::Owner, &[plain.as_slice(), &[("answer", "on hold")]].concat()).await);
}

#[tokio::test]
async fn an_ingredient_past_its_best_is_held() {
    let door = Door::open().await;
    let page = door.sack(Cast::Owner, &[("best_before", "2026-11-23"), ("reason", "it is only salt")]).await;
    assert!(page.error_at("answer").contains("23 Nov 2026"), "{}", page.error_at("answer"));
    goes_to(&door.sack(Cast::Owner, &[("best_before", "2026-11-23"), ("answer", "on hold")]).await);
}

#[tokio::test]
async fn a_bad_line_of_meat_is_refused_at_its_field_and_what_was_typed_stays() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    let (long, foreign) = ("x".repeat(121), door.things.farm.id.to_string());
    for (field, typed) in [
        ("item", ""),
        ("item", "pork loin"),
        ("item", foreign.as_str()),
        ("weight", ""),
        ("weight", "heavy"),
        ("weight", "-8.4"),
        ("weight", "0"),
        ("weight", "8.4 litres"),
        ("weight", "2000.01"),
        ("weight", "84000000"),
        ("weight", "1,200"),
        ("temperature", "cold"),
        ("temperature", "3 kg"),
        ("temperature", "-280"),
        ("frozen", ""),
        ("frozen", "thawed"),
        ("solution", "some"),
        ("solution", "-1"),
        ("solution", "101"),
        ("species", ""),
        ("breed", long.as_str()),
        ("ear_tag", long.as_str()),
        ("slaughter_lot", long.as_str()),
        ("slaughtered", "2026-11-25"),
        ("slaughtered", "2026-09-24"),
        ("slaughtered", "2026-02-30"),
        ("slaughtered", "last week"),
        ("establishment", long.as_str()),
        ("price", "cheap"),
        ("price", "-6.20"),
        ("price", "6.20 EUR"),
        ("price", "6.20/box"),
        ("place", ""),
        ("place", "cooler 1"),
        ("place", foreign.as_str()),
        ("answer", ""),
        ("answer", "perhaps"),
        ("reason", long.as_str()),
    ] {
        let page = door.loin(Cast::Owner, &[(field, typed)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {typed}");
        assert_ne!(page.error_at(field), "", "{field}: {typed}\n{}", page.text);
        if !matches!(field, "item" | "establishment") {
            let kept = page.attribute("input[name=establishment]", "value");
            assert_eq!(kept.as_deref(), Some("UK EF 201"), "{field}: {typed}");
        }
    }
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_bad_line_of_an_ingredient_is_refused_at_its_field_and_what_was_typed_stays() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    let (long, many) = ("x".repeat(121), (0..21).map(|n| n.to_string()).collect::<Vec<_>>().join(","));
    for (field, typed) in [
        ("weight", ""),
        ("weight", "a sack"),
        ("supplier_lot", long.as_str()),
        ("best_before", "05/2028"),
        ("best_before", "2028-13-01"),
        ("allergens", long.as_str()),
        ("allergens", many.as_str()),
        ("cure", ""),
        ("cure", "no"),
        ("nitrite", "strong"),
        ("nitrite", "-1"),
        ("nitrite", "97"),
        ("nitrate", "1001"),
        ("place", ""),
    ] {
        let page = door.sack(Cast::Owner, &[(field, typed)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {typed}");
        assert_ne!(page.error_at(field), "", "{field}: {typed}\n{}", page.text);
        if field != "supplier_lot" {
            let kept = page.attribute("input[name=supplier_lot]", "value");
            assert_eq!(kept.as_deref(), Some("NP-4471"), "{field}: {typed}");
        }
    }
    let page = door.sack(Cast::Owner, &[("nitrite", ""), ("nitrate", "")]).await;
    assert!(page.error_at("nitrite").contains("strength"), "{}", page.error_at("nitrite"));
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_line_sent_twice_is_one_lot() {
    let door = Door::open().await;
    let path = format!("{}?item={}", door.path, door.things.loin.id);
    let id = door.shop.get(Cast::Cutter, &path).await.form_id();
    goes_to(&door.loin(Cast::Cutter, &[("id", id.as_str())]).await);
    let before = door.shop.lines().await;
    let page = door.loin(Cast::Cutter, &[("id", id.as_str()), ("weight", "9.1")]).await;
    assert!(page.one(".errors").contains("signed before"), "{}", page.one(".errors"));
    assert_eq!(page.attribute("input[name=weight]", "value").as_deref(), Some("9.1"));
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_wrong_line_is_struck_and_one_that_was_used_is_not() {
    let door = Door::open().await;
    goes_to(&door.loin(Cast::Cutter, &[("weight", "84")]).await);
    let strike = door.page().await.attribute("a.strike", "href").unwrap();
    goes_to(&door.shop.post(Cast::Cutter, &strike, &[("reason", "a point was missing")]).await);
    assert!(door.page().await.one("tr.struck").contains("by CU: a point was missing"));
    assert!(door.shop.grams("26328-01").await.is_zero());

    goes_to(&door.loin(Cast::Cutter, &[]).await);
    let strike = door.page().await.attribute("a.strike", "href").unwrap();
    let mut conn = door.shop.app.db().await.unwrap();
    let code = "26328-02".parse().unwrap();
    let lot = flitchbook::book::db::lot_by_code(&mut conn, &code).await.unwrap().unwrap().id.to_string();
    drop(conn);
    goes_to(&door.shop.post(Cast::Cutter, "/block", &[("lot", lot.as_str()), ("cut_list", "")]).await);
    let page = door.shop.post(Cast::Cutter, &strike, &[("reason", "wrong box")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.one(".errors").contains("built upon"), "{}", page.one(".errors"));
    assert_eq!(door.shop.verify().await.findings, []);
}
