//! How long the heavy things take, and how much memory: `cargo bench --bench figures`. It prints; it asserts nothing about time.
//! The shops are those of the tests, in the same throwaway server; how long the demo takes to load from nothing, into a durable
//! server, is the time until `flitchbook demo` says how to sign in.

#![allow(clippy::unwrap_used, reason = "a figure that cannot be taken says so by stopping")]
#![allow(clippy::float_arithmetic, reason = "milliseconds, for reading")]

#[path = "../tests/it/shop/mod.rs"]
#[allow(dead_code, unused_imports, reason = "the tests use the rest of it")]
mod shop;

use std::fmt::Write as _;
use std::time::{Duration as Span, Instant};

use flitchbook::book::{Account, Stamp};
use flitchbook::checks::entry::{ReadingTaken, Value};
use flitchbook::deviations::entry::Subject;
use flitchbook::hanging::entry::PieceWeighed;
use flitchbook::ids::{Named, PersonId, PlaceId};
use flitchbook::measure::Celsius;
use flitchbook::packet::Scope;
use flitchbook::web::fresh_id;
use rust_decimal::Decimal;
use time::format_description::well_known::Rfc3339;
use time::{Duration, OffsetDateTime};

use shop::{Cast, MORNING, Made, Shop, goes_to};

/// How many pieces hang in the batch whose packet is drawn, for how many days.
const PIECES: u16 = 60;
const DAYS: i64 = 90;
/// How many readings a day are taken in a year of the whole shop, beside the ten weeks of the demo.
const READINGS: i64 = 50;

#[tokio::main]
async fn main() {
    let begun = Instant::now();
    let demo = Shop::demo().await;
    say("the demo told into an empty book", begun, format_args!("{} lines", demo.lines().await));
    pages(&demo).await;
    samples().await;
    batch().await;
    year(&demo).await;
    let begun = Instant::now();
    assert_eq!(demo.verify().await.findings, []);
    say("verify of that year", begun, format_args!("replayed into empty tables"));
}

fn say(what: &str, begun: Instant, more: std::fmt::Arguments) {
    println!("{what:<44} {:>9.1} ms  {more}, most memory so far {} MB", ms(begun.elapsed()), peak());
}

fn ms(span: Span) -> f64 {
    span.as_secs_f64() * 1_000.0
}

/// The most memory that this process has held, in MB.
fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.split_whitespace().next()?.parse::<u64>().ok()).unwrap_or_default() / 1_024
}

/// The middle one of eleven answers of each page that is looked at all day.
async fn pages(shop: &Shop) {
    let first = |sql: &'static str| {
        let pool = shop.app.book.pool.clone();
        async move { sqlx::query_scalar::<_, uuid::Uuid>(sql).fetch_one(&pool).await.unwrap() }
    };
    let batch = first("SELECT batch FROM piece GROUP BY batch ORDER BY count(*) DESC LIMIT 1").await;
    let piece = first("SELECT lot FROM piece ORDER BY lot LIMIT 1").await;
    let paths = [
        "/".to_owned(),
        format!("/batches/{batch}"),
        format!("/lots/{piece}"),
        "/hanging".to_owned(),
        "/yields".to_owned(),
        format!("/trace/lots/{piece}"),
        "/plan/round".to_owned(),
        "/checks".to_owned(),
    ];
    for path in paths {
        let mut took = Vec::new();
        let mut size = 0;
        for _ in 0..11 {
            let begun = Instant::now();
            let page = shop.get(Cast::Owner, &path).await;
            assert!(page.status.is_success(), "{path}: {}", page.status);
            took.push(begun.elapsed());
            size = page.size;
        }
        took.sort_unstable();
        println!("page {path:<46.46} {:>9.1} ms  {} kB", ms(took[5]), size / 1_000);
    }
}

async fn samples() {
    let shop = Shop::open().await;
    let cooler = shop.things().await.cooler.id;
    let token = shop.admit("attic 7", cooler).await;
    let mut csv = String::from("time,temp,rh\n");
    for minute in 0..50_000 {
        let at = MORNING - Duration::days(36) + Duration::minutes(minute);
        let _ = writeln!(csv, "{},3.{},{}", at.format(&Rfc3339).unwrap(), minute % 10, 70 + minute % 20);
    }
    let begun = Instant::now();
    let answer = shop.sends(&token, "text/csv", csv).await;
    assert!(answer.text.contains(r#""written":100000"#), "{}", answer.text);
    say("100,000 samples of a logger taken in", begun, format_args!("one entry"));
}

/// Pieces that hang for three months and are weighed every week, in a chamber that is read twice a day.
async fn batch() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let made = shop.many_salami(&things, &larder, PIECES).await;
    for day in 0..DAYS {
        if day % 7 == 6 {
            weigh(&shop, &made, day).await;
            // A sign-in ends when it is not used.
            shop.get(Cast::Owner, "/").await;
        }
        for value in ["13.2", "12.8"] {
            shop.later(Duration::hours(12));
            shop.reading(("place", larder.chamber.id.to_string()), "temperature", value).await;
        }
    }
    let path = Scope::Batch(made.batch).path();
    let begun = Instant::now();
    let page = shop.get(Cast::Owner, &path).await;
    say("page of the packet of 60 pieces, 90 days", begun, format_args!("{} kB", page.size / 1_000));
    let begun = Instant::now();
    let file = shop.file(Cast::Owner, &format!("{path}/packet.pdf")).await;
    let kept = format_args!("{} kB, {} lines in the book", file.len() / 1_000, shop.lines().await);
    say("packet of 60 pieces, 90 days", begun, kept);
}

async fn weigh(shop: &Shop, made: &Made, day: i64) {
    let left = Decimal::new(1_000 - day * 4, 3);
    let mut pen = shop.pen(Cast::Curer).await;
    for piece in &made.pieces {
        let before = shop.lot_now(piece.lot).await.grams;
        pen.append(PieceWeighed {
            lot: Named::new(piece.lot, piece.code.to_string()),
            batch: Some(made.batch),
            weight: piece.green.times(left),
            before,
            green: Some(piece.green),
            to: Account::Drying,
            reason: String::new(),
            read_again: false,
            instrument: None,
        })
        .await
        .unwrap();
    }
    pen.commit().await.unwrap();
}

/// A year of the whole shop: the demo, and so many readings on each of the days before it.
async fn year(shop: &Shop) {
    let cooler = "SELECT id, name FROM place WHERE kind = 'cooler' ORDER BY name LIMIT 1";
    let (id, name): (uuid::Uuid, String) =
        sqlx::query_as(cooler).fetch_one(&shop.app.book.pool).await.unwrap();
    let cooler = Named::new(PlaceId(id), name);
    let owner = "SELECT id FROM person ORDER BY seq LIMIT 1";
    let owner: uuid::Uuid = sqlx::query_scalar(owner).fetch_one(&shop.app.book.pool).await.unwrap();
    let begun = Instant::now();
    for day in 0..365 {
        let at: OffsetDateTime = MORNING - Duration::days(day);
        let stamp = Stamp { id: fresh_id(), digest: [0; 32], person: PersonId(owner), happened_at: None };
        let mut pen = shop.app.book.pen(stamp).await.unwrap().unwrap();
        for n in 0..READINGS {
            pen.happened(at + Duration::minutes(n));
            pen.append(ReadingTaken {
                subject: Subject::Place(cooler.clone()),
                value: Value::Temperature(Celsius::new(Decimal::new(20 + n % 15, 1)).unwrap()),
                instrument: None,
            })
            .await
            .unwrap();
        }
        pen.commit().await.unwrap();
    }
    let (first, last) = (MORNING.date() - Duration::days(364), MORNING.date());
    say("a year of readings written", begun, format_args!("{} lines in the book", shop.lines().await));
    let path = Scope::Days(first, last).path();
    let begun = Instant::now();
    let page = shop.get(Cast::Owner, &path).await;
    say("page of the packet of that year", begun, format_args!("{} kB", page.size / 1_000));
    let begun = Instant::now();
    goes_to(&shop.get(Cast::Owner, &format!("{path}/packet.pdf")).await);
    let drawn = loop {
        let page = shop.get(Cast::Owner, &path).await;
        match page.attribute("a.act[href*='/drawn/']", "href") {
            Some(drawn) => break drawn,
            None => tokio::time::sleep(Span::from_millis(100)).await,
        }
    };
    let file = shop.file(Cast::Owner, &drawn).await;
    say("packet of that year, beside the requests", begun, format_args!("{} kB", file.len() / 1_000));
    let begun = Instant::now();
    let file = shop.file(Cast::Owner, &format!("{path}/lines.json")).await;
    say("its lines as data", begun, format_args!("{} kB", file.len() / 1_000));
}
