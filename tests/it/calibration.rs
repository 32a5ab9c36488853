//! Instruments held against what is known, through the router and a real database.

use axum::http::StatusCode;
use flitchbook::ids::{InstrumentId, LotId, Named, PlaceId};
use flitchbook::setup::entry::{InstrumentWritten, Measures, PlaceKind, PlaceWritten};
use time::Duration;
use uuid::Uuid;

use crate::shop::{Cast, Shop, Things, goes_to};

/// A shop with two coolers, two thermometers and a carcass in the first cooler.
async fn with_probes() -> (Shop, Things, LotId) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let second = PlaceWritten {
        place: other_cooler().id,
        name: other_cooler().name,
        kind: PlaceKind::Cooler,
        within: None,
        read_every: None,
        note: String::new(),
        retired: false,
    };
    shop.sign(second).await;
    for n in [501, 502] {
        shop.sign(InstrumentWritten {
            instrument: InstrumentId(Uuid::from_u128(n)),
            name: format!("probe {}", n - 500),
            measures: Measures::Temperature,
            calibrate_every: Some(7),
            retired: false,
        })
        .await;
    }
    let carcass = shop.carcass(&things, 92_400).await.lot;
    (shop, things, carcass)
}

fn other_cooler() -> Named<PlaceId> {
    Named::new(PlaceId(Uuid::from_u128(503)), "cooler 2")
}

fn page_of(n: u128) -> String {
    format!("/calibration/{}", Uuid::from_u128(n))
}

async fn read(shop: &Shop, place: PlaceId, probe: u128, value: &str) {
    let (place, probe) = (place.to_string(), Uuid::from_u128(probe).to_string());
    let form = [
        ("place", place.as_str()),
        ("quantity", "temperature"),
        ("value", value),
        ("instrument", &probe),
        ("when", ""),
    ];
    goes_to(&shop.post(Cast::Cutter, "/checks/record", &form).await);
}

fn ice<'a>(found: &'a str, left: &'a str, note: &'a str) -> [(&'a str, &'a str); 5] {
    [("against", "ice"), ("scale", "c"), ("found", found), ("left", left), ("note", note)]
}

#[tokio::test]
async fn a_thermometer_that_fails_in_ice_puts_its_own_readings_since_it_passed_in_question_and_no_others() {
    let (shop, things, carcass) = with_probes().await;
    let before = shop.carcass(&things, 80_000).await;
    shop.later(Duration::hours(1));
    read(&shop, things.cooler.id, 501, "2.9").await;
    shop.later(Duration::hours(1));
    // It passes; what was read before is in question no more. One carcass leaves the cooler at that time.
    goes_to(&shop.post(Cast::Cutter, &page_of(501), &ice("0.4", "", "")).await);
    let (code, to) = (before.code.to_string(), other_cooler().id.to_string());
    let gone = [("codes", code.as_str()), ("to", &to), ("hook", ""), ("when", "")];
    goes_to(&shop.post(Cast::Curer, "/hanging/move", &gone).await);
    shop.later(Duration::hours(1));
    read(&shop, things.cooler.id, 501, "3.1").await;
    read(&shop, things.cooler.id, 502, "3.2").await;
    read(&shop, other_cooler().id, 502, "3.3").await;
    shop.later(Duration::hours(1));
    let answer = shop.post(Cast::Cutter, &page_of(501), &ice("1.6", "0.1", "Adjusted by 1.5 degrees.")).await;
    assert_eq!(goes_to(&answer), page_of(501));

    let page = shop.get(Cast::Cutter, &page_of(501)).await;
    let lots = page.all("table.table tbody tr");
    assert_eq!(lots.len(), 1, "{lots:?}");
    assert!(lots[0].contains("26328-01 pig carcass") && lots[0].contains("on hold"), "{lots:?}");
    let readings = page.all("#in-question table.lines tbody tr");
    assert_eq!(readings.len(), 1, "{readings:?}");
    assert!(readings[0].contains("Temperature of cooler 1") && readings[0].contains("3.1"), "{readings:?}");
    assert!(shop.lot_now(carcass).await.held.is_some());
    assert!(shop.lot_now(before.lot).await.held.is_none());

    let open = shop.get(Cast::Cutter, "/checks/deviations").await;
    assert!(open.one("main").contains("probe 1 failed against melting ice"), "{}", open.text);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn exactly_one_degree_off_passes_and_a_hundredth_more_asks_what_was_done() {
    let (shop, ..) = with_probes().await;
    goes_to(&shop.post(Cast::Cutter, &page_of(501), &ice("-1.0", "", "")).await);
    let lines = shop.lines().await;
    let page = shop.post(Cast::Cutter, &page_of(501), &ice("1.01", "", "")).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("note").contains("Say what was done"), "{}", page.text);
    assert_eq!(page.attribute("#f-found", "value").as_deref(), Some("1.01"));
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn today_asks_for_an_instrument_whose_time_is_over() {
    let (shop, ..) = with_probes().await;
    let asks =
        async |shop: &Shop| shop.get(Cast::Cutter, "/").await.text.matches("Calibrate probe 1").count();
    assert!(asks(&shop).await > 0);
    goes_to(&shop.post(Cast::Cutter, &page_of(501), &ice("0.0", "", "")).await);
    assert_eq!(asks(&shop).await, 0);
    shop.later(Duration::days(8));
    assert!(asks(&shop).await > 0);
}

#[tokio::test]
async fn the_page_of_an_instrument_lists_its_calibrations_however_often_it_was_read_since() {
    let shop = Shop::demo().await;
    let index = shop.get(Cast::Owner, "/calibration").await;
    let probe = index.attribute("table.table tbody tr:nth-child(5) a", "href").unwrap();
    let page = shop.get(Cast::Owner, &probe).await;
    assert_eq!(page.one("h1"), "probe 1");
    assert_eq!(page.all("table.lines tbody tr").len(), 9);
    assert!(index.one("table.table tbody tr:nth-child(5)").contains("due"), "{}", index.text);
    assert!(shop.get(Cast::Owner, "/").await.text.contains("Calibrate probe 1"));
}

#[tokio::test]
async fn striking_a_failed_calibration_lets_its_lots_go() {
    let (shop, things, carcass) = with_probes().await;
    read(&shop, things.cooler.id, 501, "3.1").await;
    shop.later(Duration::hours(1));
    goes_to(&shop.post(Cast::Cutter, &page_of(501), &ice("5", "", "Laid aside.")).await);
    assert!(shop.lot_now(carcass).await.held.is_some());
    let strike = shop.get(Cast::Cutter, &page_of(501)).await.attribute("a.strike", "href").unwrap();
    goes_to(&shop.post(Cast::Cutter, &strike, &[("reason", "The wrong probe.")]).await);
    assert!(shop.lot_now(carcass).await.held.is_none());
    assert!(shop.get(Cast::Cutter, &page_of(501)).await.all("table.table").is_empty());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_ph_meter_is_held_against_two_buffers_and_a_scale_against_its_weight() {
    let (shop, ..) = with_probes().await;
    for (n, name, measures) in [(511, "pH meter", Measures::Ph), (512, "small scale", Measures::Weight)] {
        let instrument = InstrumentId(Uuid::from_u128(n));
        let name = name.to_owned();
        shop.sign(InstrumentWritten { instrument, name, measures, calibrate_every: None, retired: false })
            .await;
    }
    let buffers = [
        ("expected", "7.00"),
        ("found", "7.05"),
        ("expected_2", "4.01"),
        ("found_2", "4.07"),
        ("left_2", "4.02"),
    ];
    let page = shop.post(Cast::Curer, &page_of(511), &buffers).await;
    assert!(!page.error_at("note").is_empty(), "the second buffer is 0.06 off");
    let same = [("expected", "7"), ("found", "7"), ("expected_2", "7"), ("found_2", "7")];
    let page = shop.post(Cast::Curer, &page_of(511), &same).await;
    assert!(page.error_at("expected_2").contains("another"), "{}", page.text);
    let weight = [("expected", "500"), ("division", "1"), ("found", "501")];
    goes_to(&shop.post(Cast::Curer, &page_of(512), &weight).await);
    let index = shop.get(Cast::Inspector, "/calibration").await;
    assert!(index.one("main").contains("small scale"), "{}", index.text);
    assert!(shop.get(Cast::Inspector, &page_of(512)).await.all("form.sheet").is_empty());
    assert_eq!(shop.post(Cast::Inspector, &page_of(512), &weight).await.status, StatusCode::FORBIDDEN);
    let nothing = format!("/calibration/{}", Uuid::from_u128(999));
    assert_eq!(shop.get(Cast::Owner, &nothing).await.status, StatusCode::NOT_FOUND);
}

/// The line of a reading in a list of lines, by what it shows.
fn line_of(page: &crate::shop::Page, figure: &str) -> String {
    let rows = page.all("table.lines tbody tr");
    let at =
        rows.iter().position(|row| row.contains(figure)).unwrap_or_else(|| panic!("{figure} in {rows:?}"));
    page.attribute(&format!("table.lines tbody tr:nth-child({}) a", at + 1), "href").unwrap()
}

#[tokio::test]
async fn the_page_of_a_reading_leads_to_its_thermometers_last_calibration_and_says_when_it_is_in_question() {
    let (shop, things, _) = with_probes().await;
    goes_to(&shop.post(Cast::Cutter, &page_of(501), &ice("0.1", "", "")).await);
    shop.later(Duration::hours(1));
    read(&shop, things.cooler.id, 501, "3.1").await;
    let book = shop.get(Cast::Inspector, "/entries").await;
    let reading = line_of(&book, "3.1");
    let page = shop.get(Cast::Inspector, &reading).await;
    let rows = page.all("main section table.table tbody tr");
    assert_eq!(rows.len(), 1, "{rows:?}");
    assert!(rows[0].contains("probe 1") && rows[0].contains("passed before"), "{rows:?}");
    let links =
        [page_of(501), page.attribute("main td[data-name='Last calibrated before'] a", "href").unwrap()];
    assert!(shop.get(Cast::Inspector, &links[1]).await.text.contains("melting ice"));
    assert!(page.all(&format!("a[href='{}']", links[0])).len() == 1, "{}", page.text);

    shop.later(Duration::hours(1));
    goes_to(&shop.post(Cast::Cutter, &page_of(501), &ice("1.5", "0", "Set right.")).await);
    // Written down only now, read before it failed: in question as well.
    let late = shop.app.book.clock.now() - Duration::minutes(30);
    let format = time::macros::format_description!("[year]-[month]-[day]T[hour]:[minute]");
    let (place, probe) = (things.cooler.id.to_string(), Uuid::from_u128(501).to_string());
    // In November the clocks of the shop's zone show UTC.
    let when = late.format(&format).unwrap();
    let form = [
        ("place", place.as_str()),
        ("quantity", "temperature"),
        ("value", "3.4"),
        ("instrument", &probe),
        ("when", &when),
    ];
    goes_to(&shop.post(Cast::Cutter, "/checks/record", &form).await);
    shop.later(Duration::hours(1));
    read(&shop, things.cooler.id, 501, "3.6").await;
    let book = shop.get(Cast::Inspector, "/entries").await;
    for (figure, word) in [("3.1", "in question"), ("3.4", "in question"), ("3.6", "passed before")] {
        let page = shop.get(Cast::Inspector, &line_of(&book, figure)).await;
        let row = page.one("main section table.table tbody tr");
        assert!(row.contains(word), "{figure}: {row}");
    }
    let instrument = shop.get(Cast::Inspector, &page_of(501)).await;
    assert_eq!(instrument.all("#in-question table.lines tbody tr").len(), 2);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_batch_says_that_a_reading_of_it_is_in_question_and_what_it_was_read_with() {
    let (shop, things, _) = with_probes().await;
    let made = shop.dry_cure(&things).await;
    let meter = InstrumentId(Uuid::from_u128(511));
    shop.sign(InstrumentWritten {
        instrument: meter,
        name: "pH meter".into(),
        measures: Measures::Ph,
        calibrate_every: None,
        retired: false,
    })
    .await;
    let (batch, with) = (made.batch.to_string(), meter.to_string());
    let form = [("batch", batch.as_str()), ("quantity", "ph"), ("value", "5.7"), ("instrument", &with)];
    goes_to(&shop.post(Cast::Curer, "/checks/record", &form).await);
    let page = shop.get(Cast::Inspector, &made.batch.path()).await;
    assert!(page.one("main").contains("not calibrated here before"), "{}", page.text);
    shop.later(Duration::hours(1));
    let buffers = [
        ("expected", "7.00"),
        ("found", "7.20"),
        ("expected_2", "4.01"),
        ("found_2", "4.20"),
        ("note", "Electrode cracked, thrown away."),
    ];
    goes_to(&shop.post(Cast::Curer, &page_of(511), &buffers).await);
    for path in [made.batch.path(), made.pieces[0].lot.path()] {
        let page = shop.get(Cast::Inspector, &path).await;
        assert!(page.one("main").contains("in question"), "{path}: {}", page.text);
    }
    for piece in &made.pieces {
        assert!(shop.lot_now(piece.lot).await.held.is_some());
    }
    assert_eq!(shop.verify().await.findings, []);
}
