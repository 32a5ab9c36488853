//! The book itself: what the database refuses, what verify finds.

use flitchbook::book::Seq;
use sqlx::raw_sql;

use crate::shop::Shop;

/// A shop whose book has a delivery in it.
async fn with_a_carcass() -> (Shop, Seq) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    shop.carcass(&things, 92_400).await;
    let last = shop.lines().await;
    (shop, Seq(last))
}

#[tokio::test]
async fn a_book_that_nobody_touched_verifies() {
    let (shop, last) = with_a_carcass().await;
    let report = shop.verify().await;
    assert_eq!(report.findings, []);
    assert_eq!(report.entries, usize::try_from(last.0).unwrap());
    assert_eq!(report.head.len(), 64);
}

#[tokio::test]
async fn the_database_itself_refuses_to_change_or_delete_a_line() {
    let (shop, _) = with_a_carcass().await;
    for sql in [
        "UPDATE entry SET body = '{}' WHERE seq = 1",
        "DELETE FROM entry WHERE seq = 1",
        "TRUNCATE entry CASCADE",
        "UPDATE movement SET grams = grams * 2",
        "DELETE FROM movement",
    ] {
        let why = raw_sql(sql).execute(&shop.app.book.pool).await.unwrap_err().to_string();
        assert!(why.contains("written in ink"), "{sql}: {why}");
    }
}

#[tokio::test]
async fn the_database_itself_refuses_movements_that_do_not_balance() {
    let (shop, last) = with_a_carcass().await;
    let sql = format!("INSERT INTO movement (seq, n, account, grams) VALUES ({last}, 9, 'found', 1)");
    let why = raw_sql(sqlx::AssertSqlSafe(sql)).execute(&shop.app.book.pool).await.unwrap_err().to_string();
    assert!(why.contains("does not balance"), "{why}");
}

#[tokio::test]
async fn the_database_itself_refuses_a_lot_below_nothing() {
    let (shop, _) = with_a_carcass().await;
    let why =
        raw_sql("UPDATE lot SET grams = -1").execute(&shop.app.book.pool).await.unwrap_err().to_string();
    assert!(why.contains("lot_not_below_zero"), "{why}");
}

#[tokio::test]
async fn a_changed_weight_is_found_even_when_a_superuser_wrote_it_with_the_triggers_off() {
    for (sql, what) in [
        ("UPDATE entry SET body = replace(body, '92400.00', '92900.00') WHERE seq = LAST", "its text"),
        ("UPDATE movement SET grams = grams * 2 WHERE seq = LAST", "movements"),
        ("UPDATE received SET grams = 92900 WHERE seq = LAST", "table received"),
        ("UPDATE lot SET grams = 92900 WHERE seq = LAST", "its movements say"),
    ] {
        let (shop, last) = with_a_carcass().await;
        let sql = sql.replace("LAST", &last.to_string());
        let sql =
            format!("SET session_replication_role = replica; {sql}; SET session_replication_role = origin");
        raw_sql(sqlx::AssertSqlSafe(sql)).execute(&shop.app.book.pool).await.unwrap();
        let report = shop.verify().await;
        let first = report.findings.first().unwrap_or_else(|| panic!("{what} was not found"));
        assert_eq!(first.seq, Some(last), "{first}");
        assert!(first.what.contains(what), "{first}");
    }
}

#[tokio::test]
async fn a_removed_and_a_swapped_line_are_found() {
    for sql in [
        "DELETE FROM entry WHERE seq = 3",
        "UPDATE entry SET kind = CASE seq WHEN 3 THEN 'place.written' ELSE 'item.written' END WHERE seq IN (3, 4)",
        "UPDATE entry SET happened_at = happened_at - interval '1 hour' WHERE seq = 3",
    ] {
        let (shop, _) = with_a_carcass().await;
        let sql =
            format!("SET session_replication_role = replica; {sql}; SET session_replication_role = origin");
        raw_sql(sqlx::AssertSqlSafe(sql)).execute(&shop.app.book.pool).await.unwrap();
        assert_eq!(shop.verify().await.findings.first().unwrap().seq, Some(Seq(3)));
    }
}
