//! One real body of every kind and version. A book that was signed years ago is still read by this program.

use std::collections::BTreeMap;
use std::fs;
use std::path::PathBuf;

use flitchbook::app;
use flitchbook::book::{Say, Seq};
use flitchbook::measure::UnitSystem;

use crate::shop::Shop;

/// Where the bodies are kept, one a file: `cut.weighed.v1.json`.
fn folder() -> PathBuf {
    PathBuf::from("tests/it/golden")
}

/// Every kept body: the kind, the version, the text.
fn kept() -> Vec<(String, u32, String)> {
    let mut all = Vec::new();
    for entry in fs::read_dir(folder()).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        let name = name.strip_suffix(".json").unwrap_or_else(|| panic!("{name} is no body"));
        let (kind, version) = name.rsplit_once(".v").unwrap_or_else(|| panic!("{name} has no version"));
        all.push((kind.to_owned(), version.parse().unwrap(), fs::read_to_string(&path).unwrap()));
    }
    all.sort();
    all
}

#[test]
fn every_kind_that_the_program_writes_has_a_body_kept() {
    let kinds = app::kinds();
    let kept = kept();
    let missing: Vec<&str> = kinds
        .names()
        .filter(|name| !kept.iter().any(|(kind, version, _)| kind == name && *version == 1))
        .collect();
    assert!(
        missing.is_empty(),
        "no body is kept of {missing:?}; write them with: cargo test --test it golden::write -- --ignored"
    );
}

#[test]
fn every_body_that_was_ever_kept_can_be_read_says_something_and_balances() {
    let kinds = app::kinds();
    let say = Say { system: UnitSystem::Metric };
    for (kind, version, body) in kept() {
        let fact = kinds.read(&kind, &body).unwrap_or_else(|why| panic!("{kind} v{version}: {why}"));
        assert!(fact.effects().imbalance().is_zero(), "{kind} v{version} does not balance");
        assert!(!fact.line(&say).what.is_empty(), "{kind} v{version} says nothing");
    }
}

#[test]
fn of_a_kind_every_version_up_to_the_last_is_kept() {
    let mut versions: BTreeMap<String, Vec<u32>> = BTreeMap::new();
    for (kind, version, _) in kept() {
        versions.entry(kind).or_default().push(version);
    }
    for (kind, mut found) in versions {
        found.sort_unstable();
        let expected: Vec<u32> = (1..).take(found.len()).collect();
        assert_eq!(found, expected, "{kind}");
    }
}

/// Writes a body of every kind that has none yet, out of a book in which every area has signed: the longest of its
/// kind, so that as many optional fields as can be are in it. What is kept is never written over.
#[tokio::test]
#[ignore = "writes into the sources"]
async fn write() {
    write_missing(&Shop::filled().await).await;
    write_missing(&Shop::demo().await).await;
}

async fn write_missing(shop: &Shop) {
    let mut conn = shop.app.db().await.unwrap();
    let entries = flitchbook::book::db::since(&mut conn, Seq(0), i64::MAX).await.unwrap();
    let mut longest: BTreeMap<String, String> = BTreeMap::new();
    for entry in entries {
        let known = longest.entry(entry.kind).or_default();
        if entry.body.len() > known.len() {
            *known = entry.body;
        }
    }
    for (kind, body) in longest {
        let path = folder().join(format!("{kind}.v1.json"));
        if !path.exists() {
            let value: serde_json::Value = serde_json::from_str(&body).unwrap();
            fs::write(&path, format!("{}\n", serde_json::to_string_pretty(&value).unwrap())).unwrap();
        }
    }
}
