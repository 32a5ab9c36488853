//! Degree-hours of fermenting batches, through the router and a real database.

mod decided;
mod pages;

use flitchbook::deviations;
use flitchbook::evidence::Found;
use flitchbook::fermenting;
use flitchbook::ids::{LotId, Named, PlaceId};
use flitchbook::recipes::Stage;
use flitchbook::setup::entry::{PlaceKind, PlaceWritten};
use rust_decimal::{Decimal, dec};
use time::Duration;
use uuid::Uuid;

use crate::shop::{Cast, Larder, Made, Shop, goes_to};

/// A shop with a salami that was stuffed into chamber 1 at this moment, and stands there to ferment and to dry.
pub async fn stuffed() -> (Shop, Larder, Made) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let made = shop.salami_of(&things, &larder).await;
    (shop, larder, made)
}

/// The owner adopts a rule set as it is published.
pub async fn adopt(shop: &Shop, rules: &str, method: &str) {
    let fields = [
        ("rules", rules),
        ("method", method),
        ("edge", "at most"),
        ("largest_gap", "6"),
        ("source", "our plan"),
    ];
    goes_to(&shop.post(Cast::Owner, "/fermenting/rule", &fields).await);
}

/// The cutter reads the chamber on the page of the checks.
pub async fn read_chamber(shop: &Shop, place: &Named<PlaceId>, value: &str) {
    let place = place.id.to_string();
    let fields = [("place", place.as_str()), ("quantity", "temperature"), ("value", value)];
    goes_to(&shop.post(Cast::Cutter, "/checks/record", &fields).await);
}

pub async fn read_ph(shop: &Shop, made: &Made, value: &str) {
    let batch = made.batch.to_string();
    let fields = [("batch", batch.as_str()), ("quantity", "ph"), ("value", value)];
    goes_to(&shop.post(Cast::Curer, "/checks/record", &fields).await);
}

/// Hours pass; the chamber is read every so many of them, and at the end.
pub async fn warm(shop: &Shop, place: &Named<PlaceId>, hours: i64, every: i64, value: &str) {
    for _ in 0..hours / every {
        shop.later(Duration::hours(every));
        read_chamber(shop, place, value).await;
    }
}

pub async fn stands(shop: &Shop, made: &Made) -> Option<Found> {
    let now = shop.app.book.clock.now();
    fermenting::found(&mut shop.app.db().await.unwrap(), made.batch, now).await.unwrap()
}

async fn held(shop: &Shop, lot: LotId) -> Option<String> {
    shop.lot_now(lot).await.held
}

async fn deviations(shop: &Shop) -> usize {
    deviations::all_open_deviations(&mut shop.app.db().await.unwrap()).await.unwrap().len()
}

fn path(made: &Made) -> String {
    format!("/fermenting/{}", made.batch)
}

async fn sample(shop: &Shop, place: &Named<PlaceId>, minutes: i64, celsius: Decimal) {
    sqlx::query(
        "INSERT INTO sample (place, quantity, at, value, import) VALUES ($1, 'temperature', $2, $3, $4)",
    )
    .bind(place.id.0)
    .bind(crate::shop::MORNING + Duration::minutes(minutes))
    .bind(celsius)
    .bind(Uuid::from_u128(77))
    .execute(&shop.app.book.pool)
    .await
    .unwrap();
}

#[tokio::test]
async fn a_fermentation_that_reaches_ph_5_30_in_time_is_met_and_judged_on_the_spot() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    read_chamber(&shop, &larder.chamber, "25.6").await;
    warm(&shop, &larder.chamber, 40, 4, "25.6").await;
    read_ph(&shop, &made, "5.31").await;
    let Some(Found::NotYet { missing }) = stands(&shop, &made).await else { panic!("5.31 ended it") };
    assert!(missing.contains("400 of 665"), "{missing}");
    warm(&shop, &larder.chamber, 4, 4, "25.6").await;
    read_ph(&shop, &made, "5.30").await;
    let Some(Found::Met { figure, by }) = stands(&shop, &made).await else { panic!("not met") };
    assert_eq!(figure, "440 of 665\u{a0}°C-hours (Canada, below 33 °C), pH 5.30");
    // The stuffing, twelve temperatures, the pH and the judgement.
    assert_eq!(by.len(), 15);
    let page = shop.get(Cast::Inspector, &path(&made)).await;
    assert_eq!(page.one(".figures .chief .big"), "440 °C-hours");
    assert!(page.one("table.lines tbody .what").contains("within the limit at pH 5.3"));
    assert_eq!(deviations(&shop).await, 0);
    assert!(held(&shop, made.pieces[0].lot).await.is_none());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_fermentation_that_runs_too_warm_is_held_by_the_reading_that_shows_it() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    // 35 °C for 28 h is 543.2 of 555; the next reading is past it.
    read_chamber(&shop, &larder.chamber, "35").await;
    warm(&shop, &larder.chamber, 28, 4, "35").await;
    assert_eq!(deviations(&shop).await, 0);
    assert!(shop.get(Cast::Cutter, "/").await.text.contains("Measure the pH of"));
    warm(&shop, &larder.chamber, 4, 4, "35").await;
    assert_eq!(deviations(&shop).await, 1);
    for piece in &made.pieces {
        let why = held(&shop, piece.lot).await.expect("a hold");
        assert!(why.contains("620.8 °C-hours before pH 5.3, limit 555"), "{why}");
    }
    let Some(Found::Failed { what, may, .. }) = stands(&shop, &made).await else { panic!("not over") };
    assert!(what.contains("620.8 of 555") && may.contains("enterotoxin"), "{what}; {may}");
    // A low pH now does not mend it, and no second deviation is opened.
    warm(&shop, &larder.chamber, 4, 4, "35").await;
    read_ph(&shop, &made, "5.1").await;
    assert_eq!(deviations(&shop).await, 1);
    let page = shop.get(Cast::Curer, &path(&made)).await;
    assert!(page.one(".notice.out").contains("Guidance, not a decision"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_a_logger_measured_counts_and_holds_as_well() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "united states", "formula").await;
    // 32.22 °C is 90 °F: 30 degrees above, every ten minutes for 34 h, over 1,000.
    for ten in 0..=34 * 6 {
        sample(&shop, &larder.chamber, ten * 10, dec!(32.22)).await;
    }
    shop.later(Duration::hours(33));
    let Some(Found::NotYet { missing }) = stands(&shop, &made).await else {
        panic!("33 h at 90 °F are within")
    };
    assert!(missing.contains("990 of 1,000"), "{missing}");
    shop.later(Duration::hours(1));
    read_ph(&shop, &made, "5.2").await;
    let Some(Found::Failed { what, .. }) = stands(&shop, &made).await else {
        panic!("34 h at 90 °F are over")
    };
    assert!(what.contains("1,020 of 1,000\u{a0}°F-hours (United States, 90 to 100 °F)"), "{what}");
    assert_eq!(deviations(&shop).await, 1);
    assert!(held(&shop, made.pieces[0].lot).await.is_some());
    assert!(shop.get(Cast::Owner, &path(&made)).await.text.contains("205 samples of a logger"));
}

#[tokio::test]
async fn what_a_device_sends_is_judged_at_once_and_not_at_the_next_reading_by_hand() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "united states", "formula").await;
    let token = shop.admit("cabinet logger", larder.chamber.id).await;
    let of = |from: i64, to: i64| {
        let samples: Vec<_> = (from..=to)
            .map(|ten| {
                let at = crate::shop::MORNING + Duration::minutes(ten * 10);
                let at = at.format(&time::format_description::well_known::Rfc3339).unwrap();
                serde_json::json!({"at": at, "temperature_f": 90})
            })
            .collect();
        serde_json::json!({ "samples": samples }).to_string()
    };
    // 30 °F above for 33 h 20 min is 1,000 to the degree-hour: at the limit, not over it.
    shop.later(Duration::minutes(200 * 10));
    assert_eq!(shop.sends(&token, "application/json", of(0, 200)).await.status, 200);
    assert_eq!(deviations(&shop).await, 0);
    shop.later(Duration::minutes(10));
    let lines = shop.lines().await;
    assert_eq!(shop.sends(&token, "application/json", of(201, 201)).await.status, 200);
    assert_eq!(shop.lines().await, lines + 2, "the samples and the judgement");
    assert_eq!(deviations(&shop).await, 1);
    let why = held(&shop, made.pieces[0].lot).await.expect("a hold");
    assert!(why.contains("1,005 °F-hours before pH 5.3, limit 1,000"), "{why}");
    let page = shop.get(Cast::Curer, &path(&made)).await;
    assert_eq!(page.one("table.lines .initials"), "OW", "it was admitted by the owner");
    // Sent again it is nothing new, and what is decided is not judged twice.
    assert_eq!(shop.sends(&token, "application/json", of(0, 201)).await.status, 200);
    assert_eq!(shop.lines().await, lines + 2);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn exactly_sixty_hours_at_80_fahrenheit_are_met_though_the_book_keeps_celsius() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "united states", "formula").await;
    read_chamber(&shop, &larder.chamber, "80 F").await;
    warm(&shop, &larder.chamber, 60, 6, "80 F").await;
    read_ph(&shop, &made, "5.3").await;
    let Some(Found::Met { figure, .. }) = stands(&shop, &made).await else { panic!("not met") };
    assert!(figure.starts_with("1,200 of 1,200"), "{figure}");
    adopt(&shop, "united states", "printed").await;
    let Some(Found::Met { figure, .. }) = stands(&shop, &made).await else { panic!("not met") };
    assert_eq!(figure, "60 of 60\u{a0}h (United States, listed at 80 °F), pH 5.30");
    let strict = [
        ("rules", "united states"),
        ("method", "formula"),
        ("edge", "less than"),
        ("largest_gap", "6"),
        ("source", ""),
    ];
    goes_to(&shop.post(Cast::Owner, "/fermenting/rule", &strict).await);
    assert!(matches!(stands(&shop, &made).await, Some(Found::Failed { .. })));
}

#[tokio::test]
async fn a_long_gap_counts_at_the_higher_reading_and_is_shown() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    read_chamber(&shop, &larder.chamber, "25.6").await;
    shop.later(Duration::hours(10));
    read_chamber(&shop, &larder.chamber, "20.6").await;
    // The line between the two would give 75.
    let Some(Found::NotYet { missing }) = stands(&shop, &made).await else { panic!("not counting") };
    assert!(missing.contains("100 of 665"), "{missing}");
    let page = shop.get(Cast::Cutter, &path(&made)).await;
    assert!(page.text.contains("gap, at the higher reading"));
    assert!(page.text.contains("class=\"band\""));
}

#[tokio::test]
async fn a_reading_that_is_struck_no_longer_counts_and_the_page_says_what_was_judged() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    read_chamber(&shop, &larder.chamber, "25.6").await;
    warm(&shop, &larder.chamber, 40, 4, "25.6").await;
    read_ph(&shop, &made, "5.2").await;
    assert!(matches!(stands(&shop, &made).await, Some(Found::Met { .. })));
    let page = shop.get(Cast::Curer, &path(&made)).await;
    let line = page.attribute("table.table tbody a[href^='/entries/']", "href").unwrap();
    let reason = [("reason", "the meter was not calibrated")];
    goes_to(&shop.post(Cast::Curer, &format!("{line}/strike"), &reason).await);
    assert!(matches!(stands(&shop, &made).await, Some(Found::NotYet { .. })));
    let page = shop.get(Cast::Curer, &path(&made)).await;
    assert!(page.text.contains("It was judged as within the limit at pH 5.3"), "{}", page.text);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_struck_judgement_takes_its_deviation_and_its_holds_with_it() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    read_chamber(&shop, &larder.chamber, "40").await;
    warm(&shop, &larder.chamber, 24, 4, "40").await;
    assert!(held(&shop, made.pieces[0].lot).await.is_some());
    let page = shop.get(Cast::Owner, &path(&made)).await;
    let strike = page.attribute("table.lines a.strike", "href").unwrap();
    goes_to(&shop.post(Cast::Owner, &strike, &[("reason", "the readings were of the oven")]).await);
    assert_eq!(deviations(&shop).await, 0);
    assert!(held(&shop, made.pieces[0].lot).await.is_none());
    // The readings still say that it is over.
    assert!(matches!(stands(&shop, &made).await, Some(Found::Failed { .. })));
    assert!(shop.get(Cast::Owner, "/").await.text.contains("Degree-hours of"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn nothing_is_judged_before_a_rule_set_is_adopted() {
    let (shop, larder, made) = stuffed().await;
    read_chamber(&shop, &larder.chamber, "40").await;
    warm(&shop, &larder.chamber, 40, 4, "40").await;
    let Some(Found::NotYet { missing }) = stands(&shop, &made).await else { panic!("judged by nothing") };
    assert!(missing.contains("No rule set"), "{missing}");
    assert_eq!(deviations(&shop).await, 0);
    let page = shop.get(Cast::Owner, &path(&made)).await;
    assert_eq!(page.all("section.stack > .headline h2"), ["United States", "Canada"]);
    assert!(page.text.contains("No rule set is adopted"));
}

#[tokio::test]
async fn what_nobody_read_is_missing_and_no_batch_of_whole_muscle_is_asked() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let made = shop.salami_of(&things, &larder).await;
    adopt(&shop, "canada", "formula").await;
    shop.later(Duration::hours(30));
    read_ph(&shop, &made, "5.2").await;
    let Some(Found::NotYet { missing }) = stands(&shop, &made).await else { panic!("judged unread") };
    assert!(missing.contains("Nobody read the temperature"), "{missing}");
    let cured = shop.dry_cure_of(&things, &larder).await;
    assert_eq!(stands(&shop, &cured).await, None);
    assert_eq!(shop.get(Cast::Owner, &path(&cured)).await.status, 404);
}

#[tokio::test]
async fn a_rail_takes_the_temperature_of_the_chamber_around_it() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    let rail = Named::new(PlaceId(Uuid::from_u128(401)), "rail A");
    shop.sign(PlaceWritten {
        place: rail.id,
        name: rail.name.clone(),
        kind: PlaceKind::Rail,
        within: Some(larder.chamber.id),
        read_every: None,
        note: String::new(),
        retired: false,
    })
    .await;
    read_chamber(&shop, &larder.chamber, "25.6").await;
    shop.later(Duration::hours(2));
    shop.stage(&made, Stage::Fermenting, &rail).await;
    warm(&shop, &larder.chamber, 8, 4, "25.6").await;
    let Some(Found::NotYet { missing }) = stands(&shop, &made).await else { panic!("not counting") };
    assert!(missing.contains("100 of 665"), "{missing}");
    // And what is signed of the chamber judges what hangs on the rail.
    warm(&shop, &larder.chamber, 60, 4, "25.6").await;
    assert_eq!(deviations(&shop).await, 1);
}
