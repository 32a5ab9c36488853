//! What cuts and sources gave and cost, side by side.

use axum::http::StatusCode;
use flitchbook::book::Form;
use flitchbook::costs::cost_of;
use flitchbook::ids::LotId;
use flitchbook::measure::Money;
use rust_decimal::dec;
use time::Duration;

use crate::breakdown::{close, lay, selling, weigh};
use crate::shop::{Cast, Page, Shop, Things, goes_to};

fn first_row(page: &Page) -> String {
    page.all("#yields tbody tr:first-child > *").join(" ")
}

/// Two carcasses of 90 kg at 3.80, broken down a day apart.
async fn two_carcasses() -> (Shop, Things, [LotId; 2]) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let mut lots = Vec::new();
    for (loin, collar) in [("60", "28"), ("62", "27")] {
        let carcass = shop.carcass(&things, 90_000).await.lot;
        let path = lay(&shop, &carcass.to_string(), "").await;
        weigh(&shop, &things, &path, &things.loin, loin, "freezer").await;
        weigh(&shop, &things, &path, &things.collar, collar, "whole-muscle cure").await;
        goes_to(&close(&shop, &path, "").await);
        lots.push(carcass);
        shop.later(Duration::days(1));
    }
    (shop, things, [lots[0], lots[1]])
}

#[tokio::test]
async fn before_the_first_close_the_page_says_what_belongs_here() {
    let shop = Shop::open().await;
    let page = shop.get(Cast::Inspector, "/yields").await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.attribute(".empty a.act", "href").as_deref(), Some("/block"));
}

#[tokio::test]
async fn cuts_are_held_side_by_side_over_a_span() {
    let (shop, _, _) = two_carcasses().await;
    let page = shop.get(Cast::Inspector, "/yields").await;
    let loin = first_row(&page);
    // 122 of 180 kg; 90 kg at 3.80 over 88 kg and over 89 kg.
    assert!(loin.contains("1 pork loin 2 122.00 kg 67.8 %"), "{loin}");
    assert!(loin.contains("£3.86/kg"), "{loin}");
    let yesterday = shop.get(Cast::Inspector, "/yields?from=2026-11-24&to=2026-11-24").await;
    assert!(first_row(&yesterday).contains("pork loin 1 60.00 kg 66.7 %"));
    assert_eq!(page.all("svg.chart rect.column").len(), 2);
}

#[tokio::test]
async fn sources_suppliers_breeds_and_cutters_are_compared_too() {
    let (shop, _, _) = two_carcasses().await;
    for (by, begins) in [
        ("source", "1 26329-01 pig carcass 1 90.00 kg 89.00 kg 98.9 % 1.11 %"),
        ("supplier", "1 Hazelrigg Farm 2 180.00 kg 177.00 kg 98.3 % 1.67 %"),
        ("breed", "1 not written 2 180.00 kg"),
        ("cutter", "1 Cass Underhill 2 180.00 kg"),
    ] {
        let page = shop.get(Cast::Inspector, &format!("/yields?by={by}")).await;
        let row = first_row(&page);
        assert!(row.starts_with(begins), "{by}: {row}");
    }
    let wrong = shop.get(Cast::Inspector, "/yields?from=2026-02-30&to=&by=moon&source=x").await;
    assert_eq!(wrong.status, StatusCode::OK);
    assert!(!wrong.error_at("from").is_empty());
    let turned = shop.get(Cast::Inspector, "/yields?from=2026-11-25&to=2026-11-24").await;
    assert!(!turned.error_at("to").is_empty());
}

#[tokio::test]
async fn the_table_is_taken_as_csv_and_no_name_in_it_runs_as_a_formula() {
    let (shop, things, _) = two_carcasses().await;
    let odd = selling(&shop, 5_000, "=SUM(A1), \"odd\"", Form::Cut, None, false).await;
    let carcass = shop.carcass(&things, 1_000).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    weigh(&shop, &things, &path, &odd, "1", "freezer").await;
    close(&shop, &path, "").await;
    let page = shop.get(Cast::Inspector, "/yields/table.csv?by=cut").await;
    assert_eq!(page.headers["content-type"], "text/csv; charset=utf-8");
    let lines: Vec<&str> = page.text.split("\r\n").collect();
    assert!(lines[0].starts_with("cut,sources,taken in (g),weight (g)"), "{}", lines[0]);
    assert!(lines[1].starts_with("pork loin,2,181000.00,122000.00,67.4033,,,"), "{}", lines[1]);
    assert!(lines[3].starts_with("\"'=SUM(A1), \"\"odd\"\"\",1,"), "{}", lines[3]);
    assert_eq!(shop.get(Cast::Stranger, "/yields/table.csv").await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn the_shop_says_how_cost_is_shared() {
    let (shop, things, lots) = two_carcasses().await;
    let mut conn = shop.app.db().await.unwrap();
    let costs = cost_of(&mut conn, &lots).await.unwrap();
    assert_eq!(costs[&lots[0]].shared, Some(Money::new(dec!(342))));
    let asks = shop.get(Cast::Owner, "/costs/method").await;
    assert!(asks.one("main").contains("here: by weight."), "{}", asks.one("main"));
    let fields = [("by", "sales value"), ("by_products_first", "yes")];
    assert_eq!(shop.post(Cast::Cutter, "/costs/method", &fields).await.status, StatusCode::FORBIDDEN);
    let wrong = shop.post(Cast::Owner, "/costs/method", &[("by", "moon")]).await;
    assert!(!wrong.error_at("by").is_empty());
    goes_to(&shop.post(Cast::Owner, "/costs/method", &fields).await);
    let now = shop.get(Cast::Owner, "/costs/method").await;
    assert!(now.one("main").contains("by sales value at split-off, by-products taken off first"));
    // Sold at 12 and at 6 a kilo: 60 and 28 kg carry 342.00 as 720 to 168.
    for (item, price) in [(&things.loin, "12"), (&things.collar, "6")] {
        let again = selling(&shop, item.id.0.as_u128(), &item.name, Form::Cut, Some(price), false).await;
        assert_eq!(again.id, item.id);
    }
    let cuts: Vec<LotId> = sqlx::query_scalar::<_, uuid::Uuid>("SELECT lot FROM cut ORDER BY seq LIMIT 2")
        .fetch_all(&shop.app.book.pool)
        .await
        .unwrap()
        .into_iter()
        .map(LotId)
        .collect();
    let costs = cost_of(&mut conn, &cuts).await.unwrap();
    let made = cuts.iter().map(|cut| costs[cut].made);
    assert_eq!(made.collect::<Vec<_>>(), [Some(Money::new(dec!(277.30))), Some(Money::new(dec!(64.70)))]);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_struck_closing_leaves_the_comparison() {
    let (shop, _, lots) = two_carcasses().await;
    let closed: i64 = sqlx::query_scalar("SELECT closed_by FROM breakdown WHERE lot = $1")
        .bind(lots[0].0)
        .fetch_one(&shop.app.book.pool)
        .await
        .unwrap();
    goes_to(&shop.post(Cast::Cutter, &format!("/entries/{closed}/strike"), &[("reason", "not done")]).await);
    let page = shop.get(Cast::Inspector, "/yields?by=source").await;
    assert_eq!(page.all("#yields tbody tr").len(), 1);
    assert_eq!(shop.verify().await.findings, []);
}
