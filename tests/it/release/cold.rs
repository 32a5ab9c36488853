//! A cure that was above its limit: what was too warm leads to a deviation that somebody can decide.

use time::Duration;

use super::*;
use crate::shop::Larder;

const WHOLE: [(&str, &str); 4] = [
    ("cause", "The fan had iced up; it was thawed."),
    ("control", "3.1 °C at 10:30, read with probe 2."),
    ("prevent", "The fan is looked at every week."),
    ("product", "Core of the loins at 3.4 °C."),
];

/// Two loins in cure, fifteen days later. `limited`: the usual limits were written before.
async fn in_cure(limited: bool) -> (Shop, Larder, Made) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    if limited {
        goes_to(&shop.post(Cast::Owner, "/checks/limits/usual", &[]).await);
    }
    let larder = shop.larder(&things).await;
    let made = shop.in_cure(&things, &larder).await;
    shop.place_as_shipped(made.product.id, REFRIGERATED).await;
    shop.later(Duration::days(15));
    (shop, larder, made)
}

/// A logger's samples of the fridge, every twelve hours for fifteen days: 3 °C, but once it was warmer.
async fn logged(shop: &Shop, larder: &Larder, warmest: &str) {
    let token = shop.admit("fridge logger", larder.fridge.id).await;
    let begun = shop.app.book.clock.now() - Duration::days(15);
    let sample = |n: i64| {
        let value = if n == 4 { warmest } else { "3" };
        format!("{},{value}", (begun + Duration::hours(12 * n)).unix_timestamp())
    };
    let rows: Vec<String> = (0..=30).map(sample).collect();
    let answer = shop.sends(&token, "text/csv", format!("time,temperature\n{}\n", rows.join("\n"))).await;
    assert_eq!(answer.status, StatusCode::OK, "{}", answer.text);
}

/// The addresses of the deviations, in the order in which they were opened.
async fn deviations(shop: &Shop) -> Vec<String> {
    let ids: Vec<uuid::Uuid> =
        sqlx::query_scalar("SELECT id FROM deviation WHERE struck_by IS NULL ORDER BY seq")
            .fetch_all(&shop.app.book.pool)
            .await
            .unwrap();
    ids.into_iter().map(|id| format!("/checks/deviations/{id}")).collect()
}

/// How the cold of the cure stands on the release page: the word of its state, and what is said.
async fn cold(shop: &Shop, made: &Made) -> (String, String) {
    let page = shop.get(Cast::Owner, &format!("/release/{}", made.batch)).await;
    let all = page.all(".criteria > li");
    let n = all.iter().position(|one| one.contains("Time and cold of cure")).unwrap();
    (page.all(".criteria > li > .criterion .state")[n].clone(), all[n].clone())
}

/// The four parts are written, and the same is decided of every lot.
async fn decide(shop: &Shop, deviation: &str, decision: &str, made: &Made) {
    goes_to(&shop.post(Cast::Curer, &format!("{deviation}/corrective-action"), &WHOLE).await);
    let lots: Vec<String> = made.pieces.iter().map(|piece| piece.lot.to_string()).collect();
    let mut fields = vec![("every", decision), ("words", "The process authority looks at it.")];
    for lot in &lots {
        fields.extend([("lot", lot.as_str()), ("decision", "")]);
    }
    goes_to(&shop.post(Cast::Reviewer, &format!("{deviation}/decision"), &fields).await);
}

/// Every hold that stands, lifted by hand.
async fn lift_by_hand(shop: &Shop) {
    let held: Vec<(uuid::Uuid, i64)> =
        sqlx::query_as("SELECT lot, seq FROM hold WHERE lifted_by IS NULL ORDER BY lot, seq")
            .fetch_all(&shop.app.book.pool)
            .await
            .unwrap();
    assert!(!held.is_empty());
    for (lot, seq) in held {
        let words = [("words", "The process authority wrote that it may go.")];
        goes_to(&shop.post(Cast::Reviewer, &format!("/checks/holds/{lot}/{seq}"), &words).await);
    }
}

/// A cure is to be colder than the fridge may be: no limit of the fridge itself says so.
async fn colder_while_it_cures(shop: &Shop) {
    let limit = [
        ("name", "Cold of a cure"),
        ("quantity", "temperature"),
        ("applies", "stage:curing"),
        ("most", "3.5"),
        ("source", "Our own plan"),
    ];
    goes_to(&shop.post(Cast::Owner, "/checks/limits", &limit).await);
}

#[tokio::test]
async fn samples_above_the_limit_of_a_cure_open_a_deviation_by_themselves_and_its_decision_meets_it() {
    let (shop, larder, made) = in_cure(true).await;
    colder_while_it_cures(&shop).await;
    assert_eq!(deviations(&shop).await, Vec::<String>::new());
    logged(&shop, &larder, "3.8").await;
    let opened = deviations(&shop).await;
    assert_eq!(opened.len(), 1);
    let page = shop.get(Cast::Reviewer, &opened[0]).await.one("main");
    assert!(page.contains("in cure in curing fridge: above 38.3 °F (3.5 °C)"), "{page}");
    assert!(made.pieces.iter().all(|piece| page.contains(&piece.code.to_string())), "{page}");
    shop.stage(&made, flitchbook::recipes::Stage::Drying, &larder.chamber).await;
    let (state, said) = cold(&shop, &made).await;
    assert_eq!(state, "not met", "{said}");
    decide(&shop, &opened[0], "lift the hold", &made).await;
    let (state, said) = cold(&shop, &made).await;
    assert_eq!(state, "met", "{said}");
    assert!(
        said.contains("hold lifted by RE") && said.contains("The process authority looks at it"),
        "{said}"
    );
    assert_eq!(deviations(&shop).await, opened, "what was decided is not opened again");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn samples_above_the_limit_of_the_fridge_open_one_deviation_and_not_two() {
    let (shop, larder, made) = in_cure(true).await;
    logged(&shop, &larder, "6.2").await;
    let opened = deviations(&shop).await;
    assert_eq!(opened.len(), 1);
    shop.stage(&made, flitchbook::recipes::Stage::Drying, &larder.chamber).await;
    decide(&shop, &opened[0], "lift the hold", &made).await;
    assert_eq!(cold(&shop, &made).await.0, "met");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_was_kept_or_reworked_and_let_go_by_hand_later_meets_the_criteria() {
    for decision in ["keep on hold", "rework"] {
        let (shop, larder, made) = in_cure(true).await;
        logged(&shop, &larder, "6.2").await;
        shop.stage(&made, flitchbook::recipes::Stage::Drying, &larder.chamber).await;
        decide(&shop, &deviations(&shop).await[0], decision, &made).await;
        let (state, said) = cold(&shop, &made).await;
        assert_eq!(state, "not met", "{decision}: {said}");
        lift_by_hand(&shop).await;
        let page = shop.get(Cast::Owner, &format!("/release/{}", made.batch)).await;
        let (all, states) = (page.all(".criteria > li"), page.all(".criteria > li > .criterion .state"));
        for name in ["Time and cold of cure", "No open deviation", "Nothing on hold"] {
            let n = all.iter().position(|one| one.contains(name)).unwrap();
            assert_eq!(states[n], "met", "{decision}: {}", all[n]);
        }
        let (_, said) = cold(&shop, &made).await;
        assert!(said.contains("The process authority wrote that it may go"), "{said}");
        assert_eq!(shop.verify().await.findings, []);
    }
}

#[tokio::test]
async fn a_limit_that_was_written_later_leads_to_a_deviation_that_a_reviewer_opens() {
    let (shop, larder, made) = in_cure(false).await;
    logged(&shop, &larder, "6.2").await;
    shop.stage(&made, flitchbook::recipes::Stage::Drying, &larder.chamber).await;
    goes_to(&shop.post(Cast::Owner, "/checks/limits/usual", &[]).await);
    assert_eq!(deviations(&shop).await, Vec::<String>::new());
    let release = shop.get(Cast::Reviewer, &format!("/release/{}", made.batch)).await;
    let path = release.attribute(".criteria a[href^='/cold/batches/']", "href").unwrap();
    let page = shop.get(Cast::Inspector, &path).await;
    assert!(page.one("main").contains("Too warm, and not decided anywhere"), "{}", page.one("main"));
    assert!(page.all("main form").is_empty());
    assert_eq!(shop.post(Cast::Curer, &path, &[]).await.status, StatusCode::FORBIDDEN);
    goes_to(&shop.post(Cast::Reviewer, &path, &[]).await);
    let opened = deviations(&shop).await;
    assert_eq!(opened.len(), 1);
    // It is opened once.
    let again = shop.post(Cast::Reviewer, &path, &[]).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(again.one(".errors").contains("Nothing of its cure"), "{}", again.one(".errors"));
    decide(&shop, &opened[0], "lift the hold", &made).await;
    assert_eq!(cold(&shop, &made).await.0, "met");
    let page = shop.get(Cast::Inspector, &path).await.one("main");
    assert!(page.contains("decided") && page.contains("in cure in curing fridge"), "{page}");
    let nobody = "/cold/batches/00000000-0000-7000-8000-000000000000";
    assert_eq!(shop.get(Cast::Owner, nobody).await.status, StatusCode::NOT_FOUND);
    assert_eq!(shop.verify().await.findings, []);
}
