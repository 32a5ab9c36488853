//! Logger samples: files, devices, seals, limits.

use std::fmt::Write as _;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use flitchbook::checks::Quantity;
use flitchbook::database::backup::{backup, restore};
use flitchbook::database::{self, Company, Source};
use flitchbook::{demo, loggers};
use rust_decimal::{Decimal, dec};
use sqlx::Executor;
use time::Duration;
use time::format_description::well_known::Rfc3339;
use time::macros::datetime;

use crate::cluster::place;
use crate::shop::{Cast, MORNING, Shop, goes_to};

const FILE: &str = "Logger 7\n\nDate;Time;Temp (°C);RH (%)\n\
                    24.11.2026;07:00;3,1;82\n24.11.2026;07:10;3,4;81,5\n24.11.2026;07:20;3,2;---\n";

#[tokio::test]
async fn a_file_is_looked_through_then_signed_and_sealed() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    let before = shop.lines().await;
    let draft = goes_to(&shop.lay_file(Cast::Cutter, cooler, "attic.csv", FILE).await);
    let page = shop.get(Cast::Cutter, &draft).await;
    assert_eq!(page.all("table tbody th")[1], "24 Nov 07:10");
    assert_eq!(page.all("table tbody td")[2..4], ["3.4 °C", "81.5 %RH"]);
    assert_eq!(shop.lines().await, before, "nothing is signed by looking");
    let sealed = goes_to(&shop.sign_draft(Cast::Cutter, &draft, &[]).await);
    let page = shop.get(Cast::Inspector, &sealed).await;
    assert!(page.one("table.lines").contains("5 samples"), "{}", page.one("table.lines"));
    let text = shop.get(Cast::Inspector, &format!("{sealed}/samples.txt")).await.text;
    assert_eq!(text.lines().next(), Some("humidity 2026-11-24T07:00:00Z 82"));
    let hash: [u8; 32] = <sha2::Sha256 as sha2::Digest>::digest(text.as_bytes()).into();
    assert_eq!(page.one("code.hash"), flitchbook::book::chain::hex(&hash));
    assert_eq!(shop.get(Cast::Cutter, &draft).await.status, StatusCode::NOT_FOUND, "the draft is gone");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_same_file_again_writes_nothing_and_says_so() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    shop.import(Cast::Cutter, cooler, FILE).await;
    let lines = shop.lines().await;
    let draft = goes_to(&shop.lay_file(Cast::Cutter, cooler, "again.csv", FILE).await);
    let page = shop.sign_draft(Cast::Cutter, &draft, &[]).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.one(".notice").contains("All 5 samples of it are in the book already"), "{}", page.text);
    assert_eq!(shop.lines().await, lines);

    let longer = format!("{FILE}24.11.2026;07:30;3,3;81\n");
    let sealed = shop.import(Cast::Cutter, cooler, &longer).await;
    let line = shop.get(Cast::Cutter, &sealed).await.one("table.lines");
    assert!(line.contains("2 samples") && line.contains("5 were here already"), "{line}");
}

#[tokio::test]
async fn a_form_sent_twice_is_one_import() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    let draft = goes_to(&shop.lay_file(Cast::Cutter, cooler, "attic.csv", FILE).await);
    let id = flitchbook::web::fresh_id().to_string();
    let sealed = goes_to(&shop.sign_draft(Cast::Cutter, &draft, &[("id", &id)]).await);
    let lines = shop.lines().await;
    let fields = [
        ("time", "0"),
        ("clock", "1"),
        ("order", "day-first"),
        ("temperature", "2"),
        ("humidity", "3"),
        ("told", "shop"),
        ("unit", "c"),
        ("mark", "comma"),
        ("id", id.as_str()),
    ];
    let mut sent = vec![fields[8]];
    sent.extend_from_slice(&fields[..5]);
    sent.extend_from_slice(&fields[5..8]);
    let sent: Vec<(&str, &str)> = sent;
    let again = shop.post_raw(Cast::Cutter, &draft, &sent).await;
    assert!(
        again.status == StatusCode::SEE_OTHER && goes_to(&again) == sealed
            || again.status == StatusCode::NOT_FOUND,
        "{}",
        again.status
    );
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn another_figure_for_the_same_moment_is_refused_by_name() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    shop.import(Cast::Cutter, cooler, FILE).await;
    let lines = shop.lines().await;
    let other = FILE.replace("3,4", "3,5");
    let draft = goes_to(&shop.lay_file(Cast::Cutter, cooler, "other.csv", &other).await);
    let page = shop.sign_draft(Cast::Cutter, &draft, &[]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let said = page.one(".errors");
    assert!(said.contains("temperature 2026-11-24T07:10:00Z 3.5 here, 3.4 there"), "{said}");
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn a_changed_sample_is_named_by_its_entry() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    shop.import(Cast::Cutter, cooler, FILE).await;
    let pool = &shop.app.book.pool;
    let refused = pool.execute("UPDATE sample SET value = 2").await.unwrap_err().to_string();
    assert!(!refused.is_empty(), "samples are in ink");
    pool.execute("ALTER TABLE sample DISABLE TRIGGER USER").await.unwrap();
    pool.execute("UPDATE sample SET value = 3.41 WHERE value = 3.4").await.unwrap();
    let findings = shop.verify().await.findings;
    assert_eq!(findings.len(), 1, "{findings:?}");
    assert_eq!(findings[0].seq.map(|seq| seq.0), Some(shop.lines().await));
    assert!(findings[0].what.contains("logger samples of cooler 1"), "{}", findings[0]);
    pool.execute("UPDATE sample SET value = 3.4 WHERE value = 3.41").await.unwrap();
    assert_eq!(shop.verify().await.findings, []);
    pool.execute("DELETE FROM sample WHERE quantity = 'humidity' AND value = 82").await.unwrap();
    assert_eq!(shop.verify().await.findings.len(), 1);
    pool.execute(
        "INSERT INTO sample SELECT place, 'humidity', now(), 50, gen_random_uuid() FROM sample LIMIT 1",
    )
    .await
    .unwrap();
    let findings = shop.verify().await.findings;
    assert!(findings.iter().any(|finding| finding.what.contains("sealed by no entry")), "{findings:?}");
}

#[tokio::test]
async fn a_struck_import_leaves_the_series_and_the_right_file_takes_its_place() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let cooler = things.cooler.id;
    shop.import(Cast::Cutter, cooler, FILE).await;
    let line = shop.lines().await;
    goes_to(
        &shop
            .post(Cast::Cutter, &format!("/entries/{line}/strike"), &[("reason", "The other cooler's file")])
            .await,
    );
    let mut conn = shop.app.db().await.unwrap();
    let span = (MORNING - Duration::days(1), MORNING);
    let temperature = Quantity::Temperature;
    assert_eq!(loggers::series(&mut conn, cooler, temperature, span.0, span.1).await.unwrap(), []);
    drop(conn);
    shop.import(Cast::Cutter, cooler, &FILE.replace("3,4", "3,5")).await;
    let mut conn = shop.app.db().await.unwrap();
    let series = loggers::series(&mut conn, cooler, temperature, span.0, span.1).await.unwrap();
    assert_eq!(
        series.iter().map(|(_, value)| value.normalize()).collect::<Vec<_>>(),
        [dec!(3.1), dec!(3.5), dec!(3.2)]
    );
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn samples_and_readings_by_hand_are_one_series_and_a_peak_is_not_thinned_away() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let cooler = things.cooler.id;
    shop.import(Cast::Cutter, cooler, FILE).await;
    let place = cooler.to_string();
    let read = [
        ("place", place.as_str()),
        ("quantity", "temperature"),
        ("value", "3.6"),
        ("when", "2026-11-24T07:15"),
    ];
    goes_to(&shop.post(Cast::Cutter, "/checks/record", &read).await);
    let mut conn = shop.app.db().await.unwrap();
    let (from, to) = (MORNING - Duration::days(1), MORNING);
    let series = loggers::series(&mut conn, cooler, Quantity::Temperature, from, to).await.unwrap();
    let values: Vec<Decimal> = series.iter().map(|(_, value)| value.normalize()).collect();
    assert_eq!(values, [dec!(3.1), dec!(3.4), dec!(3.6), dec!(3.2)]);
    let one = loggers::thinned(&mut conn, cooler, Quantity::Temperature, from, to, 1).await.unwrap();
    assert_eq!(one.len(), 1);
    assert_eq!((one[0].least.normalize(), one[0].most.normalize(), one[0].values), (dec!(3.1), dec!(3.6), 4));
    assert_eq!(
        (one[0].first, one[0].last),
        (datetime!(2026-11-24 07:00 UTC), datetime!(2026-11-24 07:20 UTC))
    );
    let many = loggers::thinned(&mut conn, cooler, Quantity::Temperature, from, to, 1000).await.unwrap();
    assert_eq!(many.len(), 4);
}

#[tokio::test]
async fn a_sample_past_the_limit_is_a_check_that_holds_what_lay_there() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await;
    goes_to(&shop.post(Cast::Owner, "/checks/limits/usual", &[]).await);
    shop.later(Duration::hours(4));
    let at_the_limit = "time;temp\n2026-11-24 10:00;4,0\n2026-11-24 10:10;3,9\n";
    assert!(shop.import(Cast::Cutter, things.cooler.id, at_the_limit).await.starts_with("/loggers/imports/"));
    let past = "time;temp\n2026-11-24 11:00;4,01\n2026-11-24 11:10;6,2\n2026-11-24 11:20;4,5\n";
    let draft = goes_to(&shop.lay_file(Cast::Cutter, things.cooler.id, "past.csv", past).await);
    let said = shop.get(Cast::Cutter, &draft).await.one(".notice");
    assert!(said.contains("6.2 °C at 24 Nov 11:10 is past the limit"), "{said}");
    let deviation = goes_to(&shop.sign_draft(Cast::Cutter, &draft, &[]).await);
    let page = shop.get(Cast::Cutter, &deviation).await;
    assert_eq!(page.one("h1"), "cooler 1 at 6.2 °C, limit at most 4.0 °C");
    let lot =
        flitchbook::book::db::lot(&mut shop.app.db().await.unwrap(), carcass.lot).await.unwrap().unwrap();
    assert!(lot.held.is_some());
    // What comes while it stands open belongs to it.
    let lines = shop.lines().await;
    shop.import(Cast::Cutter, things.cooler.id, "time;temp\n2026-11-24 11:30;5,5\n").await;
    assert_eq!(shop.lines().await, lines + 1);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_device_sends_with_its_token_until_it_is_ended() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    let token = shop.admit("attic 7", cooler).await;
    let json = r#"{"samples":[{"at":"2026-11-24T08:00:00Z","temperature":3.1,"humidity":82.5}]}"#;
    let answer = shop.sends(&token, "application/json", json).await;
    assert_eq!(
        (answer.status, answer.text.contains(r#""written":2"#)),
        (StatusCode::OK, true),
        "{}",
        answer.text
    );
    let lines = shop.lines().await;
    for (kind, body) in
        [("application/json", json), ("text/csv", "time,temp,rh\n2026-11-24T08:00:00Z,3.1,82.5\n")]
    {
        let again = shop.sends(&token, kind, body).await;
        assert!(
            again.text.contains(r#""skipped":2"#) && again.text.contains(r#""written":0"#),
            "{}",
            again.text
        );
    }
    assert_eq!(shop.lines().await, lines);
    let csv = "time,temp,rh\n2026-11-24T08:10:00Z,3.1,82.5\n";
    assert_eq!(shop.sends(&token, "text/csv", csv).await.status, StatusCode::OK);
    assert_eq!(shop.lines().await, lines + 1);
    for (body, says) in [
        ("time,temp,rh\n2026-11-24T08:10:00Z,3.2,82.5\n", "another figure"),
        ("time,temp\n03/02/2026 08:10,3.2\n", "Send the year first"),
        ("time,temp\n2026-12-24T08:10:00Z,3.2\n", "has not come yet"),
        ("hello", "logger's file"),
    ] {
        let answer = shop.sends(&token, "text/csv", body).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{body}");
        assert!(answer.text.contains(says), "{}", answer.text);
    }
    assert_eq!(shop.sends("0000", "application/json", json).await.status, StatusCode::UNAUTHORIZED);
    let page = shop.get(Cast::Inspector, "/loggers").await;
    assert!(page.one("main").contains("attic 7"));
    assert!(!page.text.contains(&token), "a token is shown once");

    let end = shop.get(Cast::Owner, "/loggers").await;
    let end = end.attribute("form[action^='/loggers/devices/']", "action").unwrap();
    assert_eq!(shop.post(Cast::Curer, &end, &[]).await.status, StatusCode::FORBIDDEN);
    goes_to(&shop.post(Cast::Owner, &end, &[]).await);
    let later = csv.replace("08:10", "08:20");
    assert_eq!(shop.sends(&token, "text/csv", later).await.status, StatusCode::UNAUTHORIZED);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn only_that_one_address_is_open_to_posts_from_elsewhere() {
    let shop = Shop::open().await;
    let post = |path: &str| Request::post(path).header(header::CONTENT_TYPE, "text/csv");
    for path in ["/loggers", "/loggers/import", "/loggers/samples/", "/loggers/samplesx"] {
        let page = shop.send(Cast::Owner, post(path), Body::from("x")).await;
        assert_eq!(page.status, StatusCode::FORBIDDEN, "{path}");
    }
    // A session is no token.
    let page = shop.send(Cast::Owner, post("/loggers/samples"), Body::from("x")).await;
    assert_eq!(page.status, StatusCode::UNAUTHORIZED);
}

#[tokio::test]
async fn a_device_whose_person_has_left_sends_in_vain() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    let token = shop.admit("attic 7", cooler).await;
    let owner = format!("/setup/people/{}", Cast::Cutter.id());
    let roles = [("name", "Cass Underhill"), ("initials", "CU"), ("sign_in", "cass"), ("roles", "owner")];
    goes_to(&shop.post(Cast::Owner, &owner, &roles).await);
    let gone = format!("/setup/people/{}/retirement", Cast::Owner.id());
    goes_to(&shop.post(Cast::Cutter, &gone, &[]).await);
    let csv = "time,temp\n2026-11-24T08:10:00Z,3.1\n";
    assert_eq!(shop.sends(&token, "text/csv", csv).await.status, StatusCode::UNAUTHORIZED);
}

#[tokio::test]
async fn what_cannot_be_read_is_refused_where_it_stands_and_nothing_is_signed() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    let lines = shop.lines().await;
    for (text, field) in [("", "file"), ("no samples at all", "file")] {
        let page = shop.lay_file(Cast::Cutter, cooler, "x.csv", text).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(
            page.one(".errors").len() > 10 && page.text.contains(&format!("#f-{field}")),
            "{}",
            page.text
        );
    }
    let draft = goes_to(&shop.lay_file(Cast::Cutter, cooler, "x.csv", FILE).await);
    for (name, value) in [("temperature", "9"), ("order", "month-first"), ("time", "2"), ("order", "")] {
        let page = shop.sign_draft(Cast::Cutter, &draft, &[(name, value)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{name} {value}");
    }
    assert_eq!(shop.get(Cast::Curer, &draft).await.status, StatusCode::NOT_FOUND, "it is the cutter's");
    assert_eq!(shop.lay_file(Cast::Inspector, cooler, "x.csv", FILE).await.status, StatusCode::FORBIDDEN);
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn how_the_columns_were_read_is_remembered_by_their_head() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    let file = |day: u8| format!("time,a\n0{day}/11/2026 08:00,38\n");
    let draft = goes_to(&shop.lay_file(Cast::Cutter, cooler, "x.csv", &file(3)).await);
    assert!(shop.get(Cast::Cutter, &draft).await.one(".notice").contains("the day or the month first"));
    goes_to(&shop.sign_draft(Cast::Cutter, &draft, &[("unit", "f"), ("told", "utc")]).await);
    let draft = goes_to(&shop.lay_file(Cast::Cutter, cooler, "x.csv", &file(4)).await);
    let page = shop.get(Cast::Cutter, &draft).await;
    assert!(page.all(".notice").is_empty());
    assert_eq!(
        (page.one("table tbody th"), page.one("table tbody td")),
        ("4 Nov 08:00".into(), "3.33 °C".into())
    );
}

#[tokio::test]
async fn a_hundred_thousand_samples_are_one_entry_and_their_seal_holds() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    let token = shop.admit("attic 7", cooler).await;
    let mut csv = String::from("time,temp,rh,where\n");
    for minute in 0..50_000 {
        let at = datetime!(2026-10-01 00:00 UTC) + Duration::minutes(minute);
        let stamp = at.format(&Rfc3339).unwrap();
        let (tenths, humidity) = (minute % 10, 70 + minute % 20);
        writeln!(csv, "{stamp},{}.{tenths},{humidity},attic seven on the upper shelf", 2 + minute % 2)
            .unwrap();
    }
    assert!(csv.len() > 2 * 1024 * 1024, "more than a body may have elsewhere: {}", csv.len());
    let lines = shop.lines().await;
    let begun = std::time::Instant::now();
    let answer = shop.sends(&token, "text/csv", csv).await;
    println!("100,000 samples were taken in {:?} by an unoptimised build", begun.elapsed());
    assert!(answer.text.contains(r#""written":100000"#), "{}", answer.text);
    assert_eq!(shop.lines().await, lines + 1);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_backup_carries_the_samples_and_their_seals_still_hold() {
    let (place, files) = (place(), place());
    let file = files.path().join("book.backup");
    let at = |name: &str| Source::Private(place.path().join(name));
    let old = database::open(&at("old"), Company::Alone).await.unwrap();
    demo::tell(old.pool().clone(), &Shop::unopened().await.app.site, MORNING).await.unwrap();
    backup(&old, &file, false).await.unwrap();
    let new = database::connect(&at("new"), Company::Alone).await.unwrap();
    restore(&new, &file).await.unwrap();
    let count = "SELECT count(*) FROM sample_standing";
    let samples: i64 = sqlx::query_scalar(count).fetch_one(old.pool()).await.unwrap();
    assert!(samples > 1_000, "{samples}");
    let restored: i64 = sqlx::query_scalar(count).fetch_one(new.pool()).await.unwrap();
    assert_eq!(restored, samples);
    let texts: Vec<&str> = database::MIGRATIONS.iter().map(|step| step.sql.as_str()).collect();
    let report =
        flitchbook::book::verify::verify(new.pool(), &flitchbook::app::kinds(), &texts).await.unwrap();
    assert_eq!(report.findings, []);
}
