//! The shop's lists of expected cuts.

use axum::http::StatusCode;

use crate::shop::{Cast, Page, Shop, Things, goes_to};

const NEW: &str = "/block/cut-lists/new";

struct Lines {
    fields: Vec<(&'static str, String)>,
}

impl Lines {
    fn of(name: &str, lines: &[(&str, &str, &str)]) -> Self {
        let mut fields =
            vec![("name", name.into()), ("tolerance", "2.5".into()), ("sources", "carcass".into())];
        // The form always sends rows to spare.
        for (item, share, goes_to) in lines.iter().chain(&[("", "", ""), ("", "", "")]) {
            fields.push(("item", (*item).into()));
            fields.push(("share", (*share).into()));
            fields.push(("goes_to", (*goes_to).into()));
        }
        Self { fields }
    }

    fn sent(&self) -> Vec<(&str, &str)> {
        self.fields.iter().map(|(name, value)| (*name, value.as_str())).collect()
    }
}

fn cells(page: &Page) -> String {
    page.all("tbody tr > *").join(" ")
}

async fn shop() -> (Shop, Things, String, String) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let (collar, loin) = (things.collar.id.to_string(), things.loin.id.to_string());
    (shop, things, collar, loin)
}

#[tokio::test]
async fn a_list_is_written_changed_and_retired() {
    let (shop, things, collar, loin) = shop().await;
    let list =
        Lines::of("Our pigs", &[(&loin, "15", "break down further"), (&collar, "6,5", "whole-muscle cure")]);
    assert_eq!(goes_to(&shop.post(Cast::Cutter, NEW, &list.sent()).await), "/block/cut-lists");
    let page = shop.get(Cast::Inspector, "/block/cut-lists").await;
    assert!(cells(&page).contains("carcass 2 21.5 % 2.5 %"), "{}", cells(&page));
    let path = page.attribute("table.table a", "href").unwrap();
    let own = shop.get(Cast::Cutter, &path).await;
    assert_eq!(own.attribute("input[name=share]", "value").as_deref(), Some("15"));
    assert_eq!(own.all("tbody tr").len(), 12, "rows to spare");

    let less = Lines::of("Our pigs", &[(&collar, "7", "freezer")]);
    goes_to(&shop.post(Cast::Cutter, &path, &less.sent()).await);
    assert!(cells(&shop.get(Cast::Cutter, "/block/cut-lists").await).contains("carcass 1 7.0 %"));

    goes_to(&shop.post(Cast::Cutter, &format!("{path}/retirement"), &[]).await);
    assert!(shop.get(Cast::Cutter, "/block/cut-lists").await.one("tbody").contains("no longer used"));
    let carcass = shop.carcass(&things, 92_400).await.lot.to_string();
    let id = path.rsplit('/').next().unwrap().to_owned();
    let refused = shop.post(Cast::Cutter, "/block", &[("lot", &carcass), ("cut_list", &id)]).await;
    assert_eq!(refused.error_at("cut_list"), "There is no such cut list.");
    assert_eq!(shop.verify().await.findings, []);
}

/// A name, the lines of the form, and the field that says no.
type Case<'a> = (&'a str, Vec<(&'a str, &'a str, &'a str)>, &'a str);

#[tokio::test]
async fn a_bad_list_is_refused_at_its_line_and_stays_typed() {
    let (shop, _, collar, loin) = shop().await;
    let stranger = uuid::Uuid::from_u128(9).to_string();
    let long = "x".repeat(200);
    let before = shop.lines().await;
    let cases: Vec<Case> = vec![
        ("", vec![(&loin, "15", "freezer")], "name"),
        (&long, vec![(&loin, "15", "freezer")], "name"),
        ("a", vec![], "line_1"),
        ("a", vec![(&loin, "60", "freezer"), (&collar, "40.1", "freezer")], "shares"),
        ("a", vec![(&loin, "60", "freezer"), ("", "", ""), (&loin, "4", "freezer")], "line_2"),
        ("a", vec![(&loin, "", "freezer")], "line_1"),
        ("a", vec![(&loin, "-3", "freezer")], "line_1"),
        ("a", vec![(&loin, "15", "")], "line_1"),
        ("a", vec![(&loin, "15", "the moon")], "line_1"),
        ("a", vec![("", "15", "freezer")], "line_1"),
        ("a", vec![(&loin, "15", "freezer"), (&stranger, "4", "freezer")], "line_2"),
    ];
    for (name, lines, field) in cases {
        let page = shop.post(Cast::Cutter, NEW, &Lines::of(name, &lines).sent()).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{lines:?}");
        assert!(!page.error_at(field).is_empty(), "{field} of {lines:?}: {}", page.all(".errors").join(" "));
        assert_eq!(page.attribute("input[name=name]", "value").as_deref(), Some(name));
        if let Some((_, share, _)) = lines.first() {
            assert_eq!(page.attribute("input[name=share]", "value").as_deref(), Some(*share));
        }
    }
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn two_lists_do_not_share_a_name_and_a_form_sent_twice_is_one_list() {
    let (shop, _, _, loin) = shop().await;
    let list = Lines::of("Our pigs", &[(&loin, "15", "freezer")]);
    let id = shop.get(Cast::Cutter, NEW).await.form_id();
    let mut sent = vec![("id", id.as_str())];
    sent.extend(list.sent());
    for _ in 0..2 {
        goes_to(&shop.post_raw(Cast::Cutter, NEW, &sent).await);
    }
    assert_eq!(shop.get(Cast::Cutter, "/block/cut-lists").await.all("tbody tr").len(), 1);
    let again = shop.post(Cast::Cutter, NEW, &list.sent()).await;
    assert_eq!(again.error_at("name"), "Another cut list has this name.");
}

#[tokio::test]
async fn an_inspector_reads_the_lists_and_writes_none() {
    let (shop, _, _, loin) = shop().await;
    assert_eq!(shop.get(Cast::Inspector, NEW).await.all("button.act").len(), 0);
    let list = Lines::of("Our pigs", &[(&loin, "15", "freezer")]);
    assert_eq!(shop.post(Cast::Inspector, NEW, &list.sent()).await.status, StatusCode::FORBIDDEN);
    assert_eq!(shop.post(Cast::Stranger, NEW, &list.sent()).await.status, StatusCode::UNAUTHORIZED);
    let none = format!("/block/cut-lists/{}", uuid::Uuid::from_u128(9));
    assert_eq!(shop.get(Cast::Cutter, &none).await.status, StatusCode::NOT_FOUND);
    assert_eq!(shop.post(Cast::Cutter, &none, &list.sent()).await.status, StatusCode::NOT_FOUND);
}
