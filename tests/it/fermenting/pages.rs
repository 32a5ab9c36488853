//! The pages of fermenting: for each address who may, what is refused, what stays.

use axum::http::StatusCode;
use time::Duration;

use super::{adopt, path, read_chamber, stuffed, warm};
use crate::shop::{Cast, Shop, goes_to};

#[tokio::test]
async fn ph_and_chamber_are_measured_in_one_go_and_judged() {
    let (shop, larder, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    read_chamber(&shop, &larder.chamber, "25.6").await;
    warm(&shop, &larder.chamber, 24, 4, "25.6").await;
    shop.later(Duration::hours(4));
    let to = format!("{}/readings", path(&made));
    let on = made.pieces[1].lot.to_string();
    let fields = [("on", on.as_str()), ("ph", "5.28"), ("temperature", "25.6"), ("when", "")];
    assert_eq!(goes_to(&shop.post(Cast::Curer, &to, &fields).await), path(&made));
    let page = shop.get(Cast::Curer, &path(&made)).await;
    assert_eq!(page.one(".figures .chief .big"), "280 °C-hours");
    assert!(page.text.contains("ends the count"));
    assert!(page.one("table.lines tbody .what").contains("within the limit at pH 5.3"));
    assert_eq!(page.all("figure h2"), ["Chamber temperature, °C", "pH"]);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_is_wrong_stands_at_its_field_and_what_was_typed_stays() {
    let (shop, _, made) = stuffed().await;
    let to = format!("{}/readings", path(&made));
    let before = shop.lines().await;
    let batch = made.batch.to_string();
    let empty = shop.post(Cast::Curer, &to, &[("on", batch.as_str())]).await;
    assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(empty.error_at("ph").contains("the pH, the temperature of the chamber, or both"));
    let wrong =
        shop.post(Cast::Curer, &to, &[("on", batch.as_str()), ("ph", "sour"), ("temperature", "25")]).await;
    assert_eq!(wrong.attribute("#f-ph", "value").as_deref(), Some("sour"));
    assert_eq!(wrong.attribute("#f-temperature", "value").as_deref(), Some("25"));
    let foreign = uuid::Uuid::from_u128(5).to_string();
    let other = shop.post(Cast::Curer, &to, &[("on", foreign.as_str()), ("ph", "5.2")]).await;
    assert!(other.error_at("on").contains("not of this batch"));
    let early = [("on", batch.as_str()), ("ph", "5.2"), ("when", "2026-11-23T09:00")];
    let early = shop.post(Cast::Curer, &to, &early).await;
    assert!(early.error_at("when").contains("not stuffed then"), "{}", early.text);
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn a_form_sent_twice_is_signed_once() {
    let (shop, _, made) = stuffed().await;
    adopt(&shop, "canada", "formula").await;
    let page = shop.get(Cast::Curer, &path(&made)).await;
    let (id, batch) = (page.form_id(), made.batch.to_string());
    let fields = [("id", id.as_str()), ("on", batch.as_str()), ("ph", "5.6"), ("temperature", "24")];
    let to = format!("{}/readings", path(&made));
    goes_to(&shop.post_raw(Cast::Curer, &to, &fields).await);
    let lines = shop.lines().await;
    goes_to(&shop.post_raw(Cast::Curer, &to, &fields).await);
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn a_run_is_judged_when_somebody_asks_for_it() {
    let (shop, larder, made) = stuffed().await;
    let to = format!("{}/judgement", path(&made));
    let refused = shop.post(Cast::Curer, &to, &[]).await;
    assert!(refused.one(".errors").contains("No rule set is adopted yet"));
    adopt(&shop, "canada", "formula").await;
    let refused = shop.post(Cast::Curer, &to, &[]).await;
    assert!(refused.one(".errors").contains("No temperature is recorded"));
    read_chamber(&shop, &larder.chamber, "25.6").await;
    shop.later(Duration::hours(4));
    goes_to(&shop.post(Cast::Curer, &to, &[]).await);
    let page = shop.get(Cast::Curer, &path(&made)).await;
    let line = page.one("table.lines tbody tr");
    assert!(line.contains("within the limit so far") && line.contains("40 of 665"), "{line}");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn who_may_not_check_reads_and_signs_nothing_and_only_the_owner_adopts() {
    let (shop, _, made) = stuffed().await;
    let (readings, judgement) = (format!("{}/readings", path(&made)), format!("{}/judgement", path(&made)));
    assert_eq!(shop.post(Cast::Inspector, &readings, &[("ph", "5.2")]).await.status, StatusCode::FORBIDDEN);
    assert_eq!(shop.post(Cast::Inspector, &judgement, &[]).await.status, StatusCode::FORBIDDEN);
    assert_eq!(shop.post(Cast::Curer, "/fermenting/rule", &[]).await.status, StatusCode::FORBIDDEN);
    let page = shop.get(Cast::Inspector, &path(&made)).await;
    assert!(page.all("main form").is_empty());
    for address in ["/fermenting", "/fermenting/plan", "/fermenting/rule"] {
        assert_eq!(shop.get(Cast::Inspector, address).await.status, StatusCode::OK);
        assert_eq!(shop.get(Cast::Stranger, address).await.status, StatusCode::SEE_OTHER);
    }
    let nowhere = format!("/fermenting/{}", uuid::Uuid::from_u128(9));
    assert_eq!(shop.get(Cast::Owner, &nowhere).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_rule_set_is_adopted_whole_or_not_at_all() {
    let shop = Shop::open().await;
    let refused = shop.post(Cast::Owner, "/fermenting/rule", &[("largest_gap", "0")]).await;
    assert_eq!(refused.error_at("rules"), "Choose the rule set.");
    assert!(refused.error_at("largest_gap").contains("1 to 48"));
    let table = [("rules", "canada"), ("method", "printed"), ("edge", "at most"), ("largest_gap", "6")];
    let refused = shop.post(Cast::Owner, "/fermenting/rule", &table).await;
    assert!(refused.error_at("method").contains("no printed table for Canada"));
    adopt(&shop, "united states", "printed").await;
    let page = shop.get(Cast::Owner, "/fermenting/rule").await;
    assert!(
        page.one("main p").contains("United States, the printed table of hours"),
        "{}",
        page.one("main p")
    );
    assert!(shop.get(Cast::Owner, "/setup").await.text.contains("/fermenting/rule"));
}

#[tokio::test]
async fn the_list_puts_what_has_the_least_time_left_first() {
    let (shop, larder, made) = stuffed().await;
    let empty = shop.get(Cast::Owner, "/fermenting").await;
    assert_eq!(empty.all("table tbody tr").len(), 2, "one row for each rule set");
    adopt(&shop, "canada", "formula").await;
    read_chamber(&shop, &larder.chamber, "25.6").await;
    shop.later(Duration::hours(4));
    let page = shop.get(Cast::Owner, "/fermenting").await;
    let row = page.one("table tbody tr");
    assert!(row.contains(&made.code.to_string()) && row.contains("40 of 665"), "{row}");
    assert!(row.contains("62.5 h") && row.contains("25.6 °C"), "{row}");
    let panel = shop.get(Cast::Owner, &made.batch.path()).await;
    assert!(panel.text.contains(&format!("href=\"{}\"", path(&made))), "the panel leads here");
    assert!(panel.text.contains("40 of 665"));
}

#[tokio::test]
async fn a_programme_is_reckoned_before_anything_is_stuffed() {
    let shop = Shop::open().await;
    // 665 / 9.4 = 70.7 h.
    let page = shop.get(Cast::Cutter, "/fermenting/plan?t1=25").await;
    assert_eq!(page.all(".chief .big"), ["70.6 h", "70.7 h"]);
    let three = "/fermenting/plan?t1=24&h1=10&t2=30&h2=10&t3=35&h3=15";
    adopt(&shop, "canada", "formula").await;
    let page = shop.get(Cast::Cutter, three).await;
    assert_eq!(page.all(".figures .big"), ["519 °C-hours", "555 °C-hours", "36 °C-hours"]);
    let page = shop.get(Cast::Cutter, "/fermenting/plan?t1=24&t2=30&h2=4").await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("t2").contains("Only the last step"));
}
