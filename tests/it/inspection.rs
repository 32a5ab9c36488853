//! An inspector's sign-in, the page on which it begins, and how long records are kept.

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use time::Duration;

use crate::shop::{Cast, PASSWORD, Page, Shop, goes_to};

const NELL: &[(&str, &str)] = &[
    ("name", "Nell Aldous"),
    ("initials", "NA"),
    ("sign_in", "nell"),
    ("roles", "inspector"),
    ("password", "the keys of the yard"),
];

/// Adds an inspector for so many days; the address of their page.
async fn admitted(shop: &Shop, days: &str) -> String {
    let mut fields = NELL.to_vec();
    fields.push(("days", days));
    goes_to(&shop.post(Cast::Owner, "/setup/people", &fields).await)
}

/// Signs the inspector in at the door.
async fn comes_in(shop: &Shop) -> Page {
    let fields = [("sign_in", "nell"), ("password", "the keys of the yard"), ("next", "")];
    shop.post(Cast::Stranger, "/sign-in", &fields).await
}

/// A page asked for with the cookie that the door gave.
async fn reads(shop: &Shop, door: &Page, path: &str) -> Page {
    let cookies: Vec<&str> = door
        .headers
        .get_all(header::SET_COOKIE)
        .iter()
        .filter_map(|line| line.to_str().ok()?.split(';').next())
        .collect();
    let request = Request::get(path).header(header::COOKIE, cookies.join("; "));
    shop.send(Cast::Stranger, request, Body::empty()).await
}

#[tokio::test]
async fn an_inspector_begins_at_their_own_page_and_each_visit_is_a_line_of_the_book() {
    let shop = Shop::open().await;
    let person = admitted(&shop, "3").await;
    let lines = shop.lines().await;
    let door = comes_in(&shop).await;
    assert_eq!(goes_to(&door), "/inspection");
    assert_eq!(shop.lines().await, lines + 1);
    let page = reads(&shop, &door, "/inspection").await;
    assert_eq!(page.one("h1"), "Inspection");
    let book = reads(&shop, &door, "/entries").await;
    assert!(book.one("table.lines").contains("Nell Aldous, inspector, signed in to read the book"));
    let page = shop.get(Cast::Owner, &person).await;
    assert!(page.one("main").contains("may sign in as inspector for 3 days"), "{}", page.text);
    assert!(page.one(".state.met").contains("open until"), "{}", page.text);
    // Asked for a page, the inspector goes there.
    let fields = [("sign_in", "nell"), ("password", "the keys of the yard"), ("next", "/batches")];
    assert_eq!(goes_to(&shop.post(Cast::Stranger, "/sign-in", &fields).await), "/batches");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn an_inspectors_sign_in_ends_by_itself_and_the_owner_opens_it_anew() {
    let shop = Shop::open().await;
    let person = admitted(&shop, "3").await;
    let door = comes_in(&shop).await;
    shop.later(Duration::days(3) - Duration::minutes(1));
    assert_eq!(reads(&shop, &door, "/inspection").await.status, StatusCode::OK);
    shop.later(Duration::minutes(2));
    let out = reads(&shop, &door, "/inspection").await;
    assert!(goes_to(&out).starts_with("/sign-in"), "a running session ends as well");
    let lines = shop.lines().await;
    let refused = comes_in(&shop).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let why = refused.error_at("sign_in");
    assert!(why.contains("ended on") && why.contains("The owner of the shop can open it anew"), "{why}");
    assert_eq!(shop.lines().await, lines, "who was refused did not visit");
    let wrong = [("sign_in", "nell"), ("password", "another password"), ("next", "")];
    let wrong = shop.post(Cast::Stranger, "/sign-in", &wrong).await;
    assert!(!wrong.text.contains("ended on"), "only who knows the password is told");
    assert!(shop.get(Cast::Owner, &person).await.one(".state.gone").contains("ended"));

    goes_to(&shop.post(Cast::Owner, &format!("{person}/admission"), &[("days", "1")]).await);
    assert_eq!(goes_to(&comes_in(&shop).await), "/inspection");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn nobody_is_added_as_inspector_without_an_end_and_only_the_owner_sets_it() {
    let shop = Shop::open().await;
    for days in ["", "0", "367", "two"] {
        let mut fields = NELL.to_vec();
        fields.push(("days", days));
        let page = shop.post(Cast::Owner, "/setup/people", &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(page.error_at("days").contains("1 to 366"), "{days}: {}", page.text);
        assert_eq!(page.attribute("#f-days", "value").unwrap_or_default(), days);
    }
    let person = admitted(&shop, "366").await;
    let path = format!("{person}/admission");
    for cast in [Cast::Cutter, Cast::Reviewer, Cast::Inspector] {
        assert_eq!(shop.post(cast, &path, &[("days", "9")]).await.status, StatusCode::FORBIDDEN);
    }
    let cutter = format!("/setup/people/{}/admission", Cast::Cutter.id());
    let page = shop.post(Cast::Owner, &cutter, &[("days", "9")]).await;
    assert!(page.one(".errors").contains("Only the sign-in of an inspector"), "{}", page.text);
    // Who becomes an inspector gets an end as well.
    let becomes =
        [("name", "Cass Underhill"), ("initials", "CU"), ("sign_in", "cass"), ("roles", "inspector")];
    let page = shop.post(Cast::Owner, &format!("/setup/people/{}", Cast::Cutter.id()), &becomes).await;
    assert!(page.error_at("days").contains("1 to 366"), "{}", page.text);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn from_a_tag_an_inspector_reaches_the_instruments_last_calibration() {
    let shop = Shop::demo().await;
    let page = shop.get(Cast::Owner, "/inspection").await;
    let batch = page.attribute("table.table tbody th a", "href").unwrap();
    // One click: the batch. Two: its instrument. There its last calibration stands.
    let page = shop.get(Cast::Owner, &batch).await;
    let instrument = page.attribute("a[href^='/calibration/']", "href").unwrap();
    let page = shop.get(Cast::Owner, &instrument).await;
    assert!(page.one("main").contains("calibrated"), "{}", page.text);
}

#[tokio::test]
async fn each_class_of_records_has_its_period_its_source_and_what_is_past_it() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    shop.carcass(&things, 80_000).await;
    let made = shop.dry_cure(&things).await;
    let path = "/inspection/retention";
    let rows = shop.get(Cast::Inspector, path).await.all("table.table tbody tr");
    assert_eq!(rows.len(), 4, "{rows:?}");
    for (row, period) in rows.iter().zip(["1 year", "2 years", "6 months", "2 years"]) {
        assert!(row.contains(period) && row.contains("CFR"), "{row}");
    }
    // Sessions lapse within these years, so the owner signs in each time.
    let figures = async |shop: &Shop, column: &str| -> Vec<i64> {
        let owner = [("sign_in", "orla"), ("password", PASSWORD), ("next", path)];
        let door = shop.post(Cast::Stranger, "/sign-in", &owner).await;
        let page = reads(shop, &door, path).await;
        let cells = page.all(&format!("table.table tbody td[data-name='{column}']"));
        cells.iter().map(|cell| cell.split_whitespace().next().unwrap().parse().unwrap()).collect()
    };
    let all = figures(&shop, "Records").await;
    assert_eq!(all.iter().sum::<i64>(), shop.lines().await, "every line is in one class");
    assert_eq!((all[0], all[2]), (0, 0), "{all:?}");
    assert!(all[3] >= 2, "{all:?}");
    // In a family that is sold refrigerated, the lines of its batch are of the shorter period.
    shop.place(made.product.id, crate::shop::REFRIGERATED).await;
    let now = figures(&shop, "Records").await;
    assert!(now[0] > 0 && now[0] + now[1] > all[1], "{now:?}");
    assert_eq!(figures(&shop, "May be archived").await, [0, 0, 0, 0]);
    shop.later(Duration::days(366));
    let past = figures(&shop, "May be archived").await;
    assert_eq!((past[0], past[1]), (now[0], 0), "{past:?}");
    shop.later(Duration::days(366));
    let past = figures(&shop, "May be archived").await;
    assert_eq!((past[0], past[1], past[3]), (now[0], now[1], 0), "{past:?}");
}

#[tokio::test]
async fn the_owner_keeps_records_longer_and_never_shorter() {
    let shop = Shop::open().await;
    let path = "/inspection/retention";
    let said = |class: &'static str, months: &'static str, reason: &'static str| {
        [("class", class), ("months", months), ("reason", reason)]
    };
    let page = shop.post(Cast::Owner, path, &said("refrigerated", "11", "To save space")).await;
    assert!(page.error_at("months").contains("1 year at least"), "{}", page.text);
    assert_eq!(page.attribute("#f-reason", "value").as_deref(), Some("To save space"));
    let page = shop.post(Cast::Owner, path, &said("", "", "")).await;
    for field in ["class", "months", "reason"] {
        assert!(!page.error_at(field).is_empty(), "{field}");
    }
    let longer = said("refrigerated", "36", "Our customer asks for it");
    assert_eq!(shop.post(Cast::Reviewer, path, &longer).await.status, StatusCode::FORBIDDEN);
    assert_eq!(goes_to(&shop.post(Cast::Owner, path, &longer).await), path);
    let row = shop.get(Cast::Inspector, path).await.one("table.table tbody tr");
    assert!(row.contains("3 years") && row.contains("Our customer asks for it"), "{row}");
    assert!(shop.get(Cast::Inspector, path).await.all("form.sheet").is_empty());
    assert_eq!(shop.verify().await.findings, []);
}
