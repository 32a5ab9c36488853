//! Today: what is late, due and done.

use axum::http::StatusCode;
use flitchbook::book::Form;
use flitchbook::measure::Grams;
use flitchbook::receiving::entry::Goods;
use time::Duration;

use crate::shop::{Cast, Shop};

#[tokio::test]
async fn an_empty_book_says_what_to_do_first() {
    let shop = Shop::open().await;
    let page = shop.get(Cast::Owner, "/").await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.one("h1"), "Tuesday 24 November");
    assert_eq!(page.attribute(".empty .act", "href").as_deref(), Some("/receiving"));
}

#[tokio::test]
async fn weigh_ins_are_due_by_place_and_late_a_day_after() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    shop.later(Duration::days(7));
    let page = shop.get(Cast::Cutter, "/").await;
    let line = page.one("table.lines tbody tr");
    assert!(line.contains("Weigh in 2 pieces"), "{line}");
    assert!(line.ends_with("due"), "{line}");
    assert_eq!(page.one("table.lines h2"), "chamber 1");
    assert_eq!(page.one("a.act"), "Weigh in 2 pieces");
    let code = made.pieces[0].code.to_string();
    let fields = [("code", code.as_str()), ("known", &code), ("weight", "1950"), ("weight_unit", "g")];
    shop.post(Cast::Cutter, "/hanging/weigh", &fields).await;
    shop.later(Duration::days(1));
    let page = shop.get(Cast::Cutter, "/").await;
    let line = page.one("table.lines tbody tr");
    assert!(line.contains("Weigh in 1 piece"), "{line}");
    assert!(line.contains("1 day late"), "{line}");
    assert!(page.one("main .soft").starts_with("1 late, 0 due"), "{}", page.one("main .soft"));
}

#[tokio::test]
async fn a_stage_that_is_over_and_a_breakdown_left_open_wait_here() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let carcass = shop.carcass(&things, 92_400).await;
    shop.post(Cast::Cutter, "/block", &[("lot", &carcass.lot.to_string()), ("cut_list", "")]).await;
    let page = shop.get(Cast::Cutter, "/").await;
    assert!(
        page.all("table.lines tbody tr").iter().any(|line| line.contains("Close the breakdown of 26328-"))
    );
    // The recipe asks for 1,440 h of drying.
    for days in [20, 20, 21] {
        // Whoever comes every three weeks stays signed in.
        shop.later(Duration::days(days));
        shop.get(Cast::Cutter, "/").await;
    }
    let page = shop.get(Cast::Cutter, "/").await;
    let lines = page.all("table.lines tbody tr");
    assert!(lines.iter().any(|line| line.contains(&format!("End of drying {}", made.code)) && line.contains("late 1 day")), "{lines:?}");
    assert!(lines.iter().any(|line| line.contains("still open")), "{lines:?}");
}

#[tokio::test]
async fn an_ingredient_near_its_end_is_named_and_one_with_time_is_not() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    for days in [10, 40] {
        let best_before = shop.app.book.clock.now().date() + Duration::days(days);
        let goods = Goods { best_before: Some(best_before), ..Goods::default() };
        shop.lot(&things, &larder.pepper, Form::Ingredient, Grams::whole(500), Some(goods)).await;
    }
    let page = shop.get(Cast::Owner, "/").await;
    let lines = page.all("table.lines tbody tr .what");
    let named: Vec<&String> = lines.iter().filter(|line| line.contains("Use up black pepper")).collect();
    assert_eq!(named.len(), 1, "{lines:?}");
    assert!(named[0].contains("best before 4 Dec"), "{named:?}");
}

#[tokio::test]
async fn what_was_signed_today_is_listed_with_its_initials() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    shop.carcass(&things, 92_400).await;
    let page = shop.get(Cast::Inspector, "/").await;
    assert!(
        page.one("table.lines tbody tr .what").contains("pig carcass"),
        "{}",
        page.one("table.lines tbody tr")
    );
    assert_eq!(page.one("table.lines tbody tr .initials"), "OW");
    assert_eq!(shop.get(Cast::Stranger, "/").await.status, StatusCode::SEE_OTHER);
    assert_eq!(shop.verify().await.findings, []);
}
