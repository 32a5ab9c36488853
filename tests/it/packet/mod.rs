//! Packets, through the router and a real database; what is in the file is read by others (`tests/oracle/packet.py`).

mod chain;
mod contents;
mod drawing;
mod making;

use axum::http::StatusCode;
use flitchbook::ids::BatchId;
use flitchbook::packet::Scope;
use serde_json::{Value, json};

use crate::oracle::ask;
use crate::shop::{Cast, Shop};

/// The batches of a book, by their codes.
async fn batches(shop: &Shop) -> Vec<(BatchId, String)> {
    let rows: Vec<(uuid::Uuid, String)> = sqlx::query_as("SELECT id, code FROM batch ORDER BY code")
        .fetch_all(&shop.app.book.pool)
        .await
        .unwrap();
    rows.into_iter().map(|(id, code)| (BatchId(id), code)).collect()
}

/// What another library reads in these files.
fn opened(files: &[Vec<u8>]) -> Vec<Value> {
    let folder = tempfile::tempdir().unwrap();
    let cases: Vec<Value> = files
        .iter()
        .enumerate()
        .map(|(n, file)| {
            let path = folder.path().join(format!("{n}.pdf"));
            std::fs::write(&path, file).unwrap();
            json!({"pdf": path.to_str().unwrap()})
        })
        .collect();
    ask("packet", &cases)
}

/// A text without its spaces and line breaks, which a sheet has where it likes.
fn squeezed(text: &str) -> String {
    text.chars().filter(|c| !c.is_whitespace()).collect()
}

/// The whole text of an opened file.
fn text(opened: &Value) -> String {
    let pages = opened["pages"].as_array().unwrap().iter().map(|page| page.as_str().unwrap());
    squeezed(&pages.collect::<Vec<_>>().concat())
}

#[tokio::test]
async fn a_packet_is_drawn_for_whoever_reads_and_for_nobody_else() {
    let shop = Shop::filled().await;
    let (batch, _) = batches(&shop).await.remove(0);
    let scope = Scope::Batch(batch);
    for path in ["", "/packet.pdf", "/lines.json", "/tables/monitoring.csv"] {
        let path = format!("{}{path}", scope.path());
        assert_eq!(shop.get(Cast::Inspector, &path).await.status, StatusCode::OK, "{path}");
        assert_eq!(shop.get(Cast::Cutter, &path).await.status, StatusCode::OK, "{path}");
        assert_eq!(shop.get(Cast::Stranger, &path).await.status, StatusCode::SEE_OTHER, "{path}");
    }
    let none = "00000000-0000-7000-8000-000000000000";
    for path in [
        format!("/packet/batch-{none}"),
        format!("/packet/lot-{none}"),
        format!("/packet/lot-{none}/packet.pdf"),
        format!("/packet/batch-{none}/lines.json"),
        format!("/packet/place-{none}-2026-11-01-2026-11-30"),
        "/packet/shop".to_owned(),
        "/packet/days-2026-11-30-2026-11-01".to_owned(),
        "/packet/days-2001-01-01-2001-01-31".to_owned(),
        format!("{}/tables/spells.csv", scope.path()),
        format!("{}/tables/monitoring.xls", scope.path()),
        "/packet/made/1".to_owned(),
    ] {
        assert_eq!(shop.get(Cast::Owner, &path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
}

#[tokio::test]
async fn what_is_chosen_leads_to_its_packet_and_what_is_not_says_so_at_its_field() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let there = async |query: &str| {
        let page = shop.get(Cast::Inspector, &format!("/packet/find?{query}")).await;
        assert_eq!(page.status, StatusCode::SEE_OTHER, "{query}");
        page.headers["location"].to_str().unwrap().to_owned()
    };
    assert_eq!(there(&format!("of=batch&batch={}", made.batch)).await, Scope::Batch(made.batch).path());
    assert_eq!(there(&format!("of=code&code={}", made.code)).await, Scope::Batch(made.batch).path());
    let piece = &made.pieces[0];
    assert_eq!(there(&format!("of=code&code={}", piece.code)).await, Scope::Lot(piece.lot).path());
    let days = "from=2026-11-01&to=2026-11-30";
    let place = format!("/packet/place-{}-2026-11-01-2026-11-30", things.cooler.id);
    assert_eq!(there(&format!("of=place&place={}&{days}", things.cooler.id)).await, place);
    assert_eq!(there(&format!("of=days&{days}")).await, "/packet/days-2026-11-01-2026-11-30");

    for (query, field, says) in [
        ("of=batch", "batch", "Choose a batch"),
        ("of=code&code=26001-01", "code", "No tag of this shop"),
        ("of=code&code=ham", "code", ""),
        ("of=days&from=2026-11-30&to=2026-11-01", "to", "before the first"),
        ("of=days&from=2025-11-01&to=2026-11-30", "to", "a year at most"),
        ("of=days&from=soon&to=2026-11-30", "from", ""),
        ("of=place&from=2026-11-01&to=2026-11-30", "place", "Choose a place"),
    ] {
        let page = shop.get(Cast::Inspector, &format!("/packet/find?{query}")).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{query}");
        let said = page.error_at(field);
        assert!(!said.is_empty() && said.contains(says), "{query}: {said}");
        assert!(!page.text.contains("value=\"2026-11-30\"") || query.contains("2026-11-30"), "{query}");
    }
    let typed = shop.get(Cast::Owner, "/packet/find?of=code&code=ham").await;
    assert_eq!(typed.attribute("#f-code", "value").as_deref(), Some("ham"));
    let batch = shop.get(Cast::Cutter, &made.batch.path()).await;
    assert!(batch.text.contains(&format!("href=\"{}\"", Scope::Batch(made.batch).path())));
}
