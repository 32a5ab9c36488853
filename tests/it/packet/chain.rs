//! The lines as data: reckoned again by the recipe that is printed on the cover, with Python's own library alone.

use std::process::Command;

use flitchbook::packet::RECIPE;

use super::*;

/// What the recipe says of a file: whether it ends well, and its words.
fn checked(lines: &str) -> (bool, String) {
    let folder = tempfile::tempdir().unwrap();
    let (recipe, file) = (folder.path().join("check.py"), folder.path().join("lines.json"));
    std::fs::write(&recipe, RECIPE.join("\n")).unwrap();
    std::fs::write(&file, lines).unwrap();
    let done = Command::new("python3").arg("-I").arg(&recipe).arg(&file).output().unwrap();
    let said = [done.stdout, done.stderr].concat();
    (done.status.success(), String::from_utf8_lossy(&said).trim().to_owned())
}

#[tokio::test]
async fn the_recipe_on_the_cover_reckons_every_hash_again_and_finds_what_was_changed() {
    let shop = Shop::demo().await;
    let (batch, _) = batches(&shop).await.remove(0);
    let place: uuid::Uuid = sqlx::query_scalar("SELECT place FROM reading WHERE place IS NOT NULL LIMIT 1")
        .fetch_one(&shop.app.book.pool)
        .await
        .unwrap();
    for scope in [
        format!("batch-{batch}"),
        format!("place-{place}-2026-10-01-2026-11-24"),
        "days-2026-09-01-2026-11-24".to_owned(),
    ] {
        let page = shop.get(Cast::Inspector, &format!("/packet/{scope}/lines.json")).await;
        assert_eq!(page.status, StatusCode::OK, "{scope}");
        let told: Value = serde_json::from_str(&page.text).unwrap();
        let lines = told["lines"].as_array().unwrap();
        let (well, said) = checked(&page.text);
        assert!(well, "{scope}: {said}");
        assert_eq!(said, format!("{} lines are what was signed", lines.len()));
        for line in lines.iter().take(40) {
            let seq: i64 = line["form"]["seq"].as_str().unwrap().parse().unwrap();
            let hash: Vec<u8> = sqlx::query_scalar("SELECT hash FROM entry WHERE seq = $1")
                .bind(seq)
                .fetch_one(&shop.app.book.pool)
                .await
                .unwrap();
            assert_eq!(line["hash"], flitchbook::book::chain::hex(&hash), "line {seq}");
        }
    }
    // The demo's book from its first day to its last: nothing is between, so nothing can be left out.
    let page = shop.get(Cast::Inspector, "/packet/days-2026-09-01-2026-11-24/lines.json").await;
    let mut told: Value = serde_json::from_str(&page.text).unwrap();
    assert_eq!(i64::try_from(told["lines"].as_array().unwrap().len()).unwrap(), shop.lines().await);
    let body = told["lines"][30]["form"]["body"].as_str().unwrap().replace('a', "e");
    told["lines"][30]["form"]["body"] = body.into();
    assert_eq!(checked(&told.to_string()), (false, "line 31 is not what was signed".to_owned()));
    // A line that is taken out and the next one hashed anew no longer follows.
    let mut told: Value = serde_json::from_str(&page.text).unwrap();
    told["lines"][41]["form"]["prev"] = "00".repeat(32).into();
    let form = serde_json_canonical(&told["lines"][41]["form"]);
    told["lines"][41]["hash"] = flitchbook::book::chain::hex(&sha256(&form)).into();
    assert_eq!(checked(&told.to_string()), (false, "line 42 does not follow the one before it".to_owned()));
}

fn serde_json_canonical(form: &Value) -> String {
    flitchbook::book::chain::canonical_body(form).unwrap()
}

fn sha256(text: &str) -> [u8; 32] {
    use sha2::{Digest, Sha256};
    Sha256::digest(text).into()
}
