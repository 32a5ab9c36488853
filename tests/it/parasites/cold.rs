//! The cold of a lot and of a cure.

use axum::http::StatusCode;
use flitchbook::cold::cold_found;
use flitchbook::evidence::Found;
use flitchbook::recipes::Stage;
use time::Duration;

use super::{missing, read};
use crate::shop::{Cast, Shop, goes_to};

/// A batch in cure for so many days, with a reading of so many hundredths at the beginning of each and at the end, in the
/// recipe's 336 hours.
async fn cured(readings: &[i32]) -> (Shop, Found) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    goes_to(&shop.post(Cast::Owner, "/checks/limits/usual", &[]).await);
    let larder = shop.larder(&things).await;
    let made = shop.in_cure(&things, &larder).await;
    for (n, hundredths) in readings.iter().enumerate() {
        if n > 0 {
            shop.later(Duration::days(1));
        }
        read(&shop, &larder.fridge, *hundredths).await;
    }
    shop.stage(&made, Stage::Drying, &larder.chamber).await;
    let found = cold_found(&mut shop.app.db().await.unwrap(), made.batch).await.unwrap();
    (shop, found)
}

#[tokio::test]
async fn a_cure_of_its_hours_in_a_fridge_at_its_limit_is_met() {
    let (shop, found) = cured(&[400; 15]).await;
    let Found::Met { figure, by } = found else { panic!("{found:?}") };
    assert_eq!(figure, "336 h of 336 h planned, within the limits");
    assert_eq!(by.len(), 17, "two stages and fifteen readings");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn an_hour_too_short_and_a_hundredth_too_warm_are_named() {
    let (_, found) = cured(&[300; 14]).await;
    assert!(missing(found).contains("312 h of cure within the limits are recorded, the recipe plans 336 h"));
    let mut warm = [400; 15];
    warm[7] = 401;
    let (_, found) = cured(&warm).await;
    let Found::Failed { what, .. } = found else { panic!("{found:?}") };
    assert!(what.starts_with("curing fridge was above 39.2 °F (4.0 °C) for 2880 min"), "{what}");
}

#[tokio::test]
async fn the_page_of_a_lots_cold_shows_where_it_lay_and_how_long_above_the_limit() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    goes_to(&shop.post(Cast::Owner, "/checks/limits/usual", &[]).await);
    let carcass = shop.carcass(&things, 92_400).await;
    // 3 °C, up to 5 °C in an hour, down again in the next: above 4 °C for half of both.
    for hundredths in [300, 500, 300] {
        read(&shop, &things.cooler, hundredths).await;
        shop.later(Duration::hours(1));
    }
    let page = shop.get(Cast::Inspector, &format!("/cold/{}", carcass.lot)).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.one("dl.figures .chief").contains("60"), "{}", page.one("dl.figures .chief"));
    let row = page.one("table.table tbody tr");
    assert!(row.contains("cooler 1") && row.contains("5.0 °C") && row.contains("60 min"), "{row}");
    assert!(page.one("main details").contains("straight line"));
}
