//! Readings, limits and what is refused at their forms.

use super::*;

#[tokio::test]
async fn without_a_limit_it_is_a_reading_with_its_instrument() {
    let (shop, things, code) = with_limits().await;
    let instrument = InstrumentId(Uuid::from_u128(401));
    let entry = InstrumentWritten {
        instrument,
        name: "pH meter".into(),
        measures: Measures::Ph,
        calibrate_every: None,
        retired: false,
    };
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
    let open = deviations::open_deviations(&mut conn, &pieces[..2]).await.unwrap();
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
