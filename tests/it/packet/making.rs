//! The line that says that a packet was handed over, and the tables as files.

use sha2::{Digest, Sha256};

use super::*;
use crate::shop::goes_to;

#[tokio::test]
async fn making_one_writes_a_line_with_the_hash_of_the_file_that_is_kept() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let path = Scope::Batch(made.batch).path();
    let lines = shop.lines().await;
    for cast in [Cast::Inspector, Cast::Cutter] {
        assert_eq!(shop.post(cast, &path, &[]).await.status, StatusCode::FORBIDDEN, "{cast:?}");
        assert!(shop.get(cast, &path).await.all("form button.act").is_empty(), "{cast:?}");
    }
    assert_eq!(shop.lines().await, lines, "who only reads writes nothing");
    let page = shop.get(Cast::Reviewer, &path).await;
    let form = [("id", page.form_id()), ("reader", "Ivo Nakamura, yearly visit".to_owned())];
    let form: Vec<(&str, &str)> = form.iter().map(|(name, text)| (*name, text.as_str())).collect();
    goes_to(&shop.post_raw(Cast::Reviewer, &path, &form).await);
    goes_to(&shop.post_raw(Cast::Reviewer, &path, &form).await);
    assert_eq!(shop.lines().await, lines + 1, "sent twice, it is one line");
    let file = shop.file(Cast::Inspector, &format!("/packet/made/{}", lines + 1)).await;
    let hash = flitchbook::book::chain::hex(&Sha256::digest(&file));
    let line = shop.get(Cast::Inspector, &format!("/entries/{}", lines + 1)).await;
    assert!(line.text.contains(&hash) && line.text.contains("for Ivo Nakamura, yearly visit"));
    let page = shop.get(Cast::Inspector, &path).await;
    assert!(page.one("table.fold").contains(&hash), "{}", page.one("table.fold"));
    assert!(opened(&[file])[0]["pages"][0].as_str().unwrap().contains("Ruth Ekwall (RE)"));
    let long = "x".repeat(200);
    let refused = shop.post(Cast::Owner, &path, &[("reader", &long)]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(!refused.error_at("reader").is_empty());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_file_that_is_not_the_one_that_was_signed_is_not_handed_out() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    goes_to(&shop.post(Cast::Owner, &Scope::Batch(made.batch).path(), &[]).await);
    let line = shop.lines().await;
    let pool = shop.app.book.pool.clone();
    for sql in ["UPDATE packet_file SET pdf = 'x'", "DELETE FROM packet_file", "TRUNCATE packet_file"] {
        assert!(sqlx::raw_sql(sql).execute(&pool).await.is_err(), "{sql}");
    }
    // As somebody with the whole machine could, who turns the guards off.
    let forge = async |sql: &str| {
        let off =
            format!("SET session_replication_role = replica; {sql}; SET session_replication_role = DEFAULT");
        sqlx::raw_sql(sqlx::AssertSqlSafe(off)).execute(&mut *pool.acquire().await.unwrap()).await.unwrap();
    };
    forge("UPDATE packet_file SET pdf = pdf || '\\x00'").await;
    let page = shop.get(Cast::Owner, &format!("/packet/made/{line}")).await;
    assert_eq!(page.status, StatusCode::INTERNAL_SERVER_ERROR);
    let findings = shop.verify().await.findings;
    assert_eq!(findings.iter().map(|found| found.seq.map(|seq| seq.0)).collect::<Vec<_>>(), [Some(line)]);
    assert!(findings[0].what.contains("not the one that was signed for"), "{findings:?}");
    forge("DELETE FROM packet_file").await;
    assert!(shop.verify().await.findings[0].what.contains("is gone"));
}

/// Reads a file of cells as RFC 4180 says, section 2.
fn cells(text: &str) -> Vec<Vec<String>> {
    let (mut rows, mut row, mut cell, mut quoted) = (Vec::new(), Vec::new(), String::new(), false);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match (quoted, c) {
            (true, '"') if chars.peek() == Some(&'"') => cell.extend(chars.next()),
            (_, '"') => quoted = !quoted,
            (false, ',') => row.push(std::mem::take(&mut cell)),
            (false, '\r') => {
                assert_eq!(chars.next(), Some('\n'), "a line ends with both");
                row.push(std::mem::take(&mut cell));
                rows.push(std::mem::take(&mut row));
            }
            (_, c) => cell.push(c),
        }
    }
    assert!(!quoted && row.is_empty() && cell.is_empty(), "the last line ends too");
    rows
}

#[tokio::test]
async fn every_table_is_a_file_of_rows_that_are_as_wide_as_its_heads() {
    let shop = Shop::demo().await;
    let (batch, _) = batches(&shop).await.remove(0);
    let path = Scope::Batch(batch).path();
    let page = shop.get(Cast::Inspector, &path).await;
    let html = scraper::Html::parse_document(&page.text);
    let links = scraper::Selector::parse("a[href*='/tables/']").unwrap();
    let tables: Vec<String> =
        html.select(&links).filter_map(|link| link.attr("href").map(ToOwned::to_owned)).collect();
    assert!(tables.len() > 15, "{tables:?}");
    let counts = page.all("table td.num");
    let mut filled = 0;
    for (table, count) in tables.iter().zip(counts) {
        let file = shop.get(Cast::Inspector, table).await;
        assert_eq!(file.headers["content-type"], "text/csv; charset=utf-8");
        let rows = cells(&file.text);
        let wide = rows[0].len();
        assert!(rows.iter().all(|row| row.len() == wide), "{table}");
        assert_eq!((rows.len() - 1).to_string(), count, "{table}");
        filled += usize::from(rows.len() > 1);
    }
    assert!(filled >= 8, "only {filled} tables have rows");
}

/// Not a test of what is true but a figure for whoever changes the packet: how long one takes.
#[tokio::test]
#[ignore = "prints how long packets take"]
async fn how_long_it_takes() {
    let shop = Shop::demo().await;
    for (batch, code) in batches(&shop).await {
        let begun = std::time::Instant::now();
        let file = shop.file(Cast::Owner, &format!("{}/packet.pdf", Scope::Batch(batch).path())).await;
        println!("batch {code}: {} bytes in {:?}", file.len(), begun.elapsed());
    }
    let begun = std::time::Instant::now();
    let file = shop.file(Cast::Owner, "/packet/days-2026-01-01-2026-12-31/packet.pdf").await;
    println!("the whole shop: {} bytes in {:?}, {} lines", file.len(), begun.elapsed(), shop.lines().await);
}
