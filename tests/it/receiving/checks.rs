//! The shop's checks at the door.

use axum::http::StatusCode;

use super::Door;
use crate::shop::{Cast, goes_to};

const PATH: &str = "/receiving/checks";

#[tokio::test]
async fn the_owner_sets_the_checks_and_the_next_line_is_held_against_them() {
    let door = Door::open().await;
    let page = door.shop.get(Cast::Owner, PATH).await;
    assert_eq!(page.attribute("input[name=chilled]", "value").as_deref(), Some("4"));
    assert_eq!(page.attribute("input[name=carcass]", "value").as_deref(), Some("7"));
    let warm = door.loin(Cast::Cutter, &[("temperature", "5.5")]).await;
    assert_eq!(warm.status, StatusCode::UNPROCESSABLE_ENTITY);
    let fields =
        [("chilled", "42F"), ("carcass", ""), ("offal", "3"), ("solution", "yes"), ("supplier", "yes")];
    assert_eq!(goes_to(&door.shop.post(Cast::Owner, PATH, &fields).await), PATH);
    let page = door.shop.get(Cast::Owner, PATH).await;
    // (42 °F − 32) / 1.8 = 5.56 °C (NIST SP 811, appendix B.8).
    assert_eq!(page.attribute("input[name=chilled]", "value").as_deref(), Some("5.56"));
    assert_eq!(page.attribute("input[name=frozen]", "checked"), None);
    goes_to(&door.loin(Cast::Cutter, &[("temperature", "5.5"), ("frozen", "frozen")]).await);
    assert_eq!(door.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_shop_that_weighs_in_pounds_starts_with_41_degrees() {
    let door = Door::open().await;
    let sql = "UPDATE shop SET system = 'us'";
    sqlx::raw_sql(sql).execute(&door.shop.app.book.pool).await.unwrap();
    let page = door.shop.get(Cast::Owner, PATH).await;
    // FDA Food Code 3-202.11.
    for field in ["chilled", "carcass", "offal"] {
        let value = page.attribute(&format!("input[name={field}]"), "value");
        assert_eq!(value.as_deref(), Some("41"), "{field}");
    }
}

#[tokio::test]
async fn a_cutter_reads_the_checks_and_does_not_set_them() {
    let door = Door::open().await;
    let page = door.shop.get(Cast::Cutter, PATH).await;
    assert_eq!(page.all("main form"), [""; 0]);
    assert!(
        page.all("dl.facts dd").contains(&"4.0 °C or colder".to_owned()),
        "{:?}",
        page.all("dl.facts dd")
    );
    let before = door.shop.lines().await;
    let page = door.shop.post(Cast::Curer, PATH, &[("chilled", "12")]).await;
    assert_eq!(page.status, StatusCode::FORBIDDEN);
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn a_limit_that_is_none_is_refused_at_its_field() {
    let door = Door::open().await;
    let before = door.shop.lines().await;
    for typed in ["cold", "4 kg", "41", "400 F", "-300", &"4".repeat(90)] {
        let fields = [("chilled", typed), ("carcass", "6.5"), ("solution", "yes")];
        let page = door.shop.post(Cast::Owner, PATH, &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{typed}");
        assert_ne!(page.error_at("chilled"), "", "{typed}");
        assert_eq!(page.attribute("input[name=carcass]", "value").as_deref(), Some("6.5"));
    }
    assert_eq!(door.shop.lines().await, before);
}

#[tokio::test]
async fn checks_sent_twice_are_one_line() {
    let door = Door::open().await;
    let id = door.shop.get(Cast::Owner, PATH).await.form_id();
    let fields = [("id", id.as_str()), ("chilled", "3")];
    goes_to(&door.shop.post_raw(Cast::Owner, PATH, &fields).await);
    let before = door.shop.lines().await;
    goes_to(&door.shop.post_raw(Cast::Owner, PATH, &fields).await);
    assert_eq!(door.shop.lines().await, before);
}
