//! The review: by somebody who made none of the records, up to a line, until another line changes the evidence.

use time::Duration;

use super::*;

#[tokio::test]
async fn who_made_records_of_a_batch_does_not_review_it() {
    let (shop, _, made) = loins().await;
    shop.place(made.product.id, REFRIGERATED).await;
    let path = format!("/release/{}/review", made.batch);
    let page = shop.get(Cast::Owner, &path).await;
    assert!(page.one(".notice").contains("You made records"), "{}", page.one(".notice"));
    assert!(page.all("form button.act").is_empty());
    let upto = shop.lines().await.to_string();
    let refused = shop.post(Cast::Owner, &path, &[("upto", &upto)]).await;
    assert!(refused.one("main").contains("somebody who made none"), "{}", refused.one("main"));
    let page = shop.get(Cast::Reviewer, &path).await;
    assert!(page.all("table.lines tbody tr, .lines > li").len() > 5, "every line about it is there");
    let unread = shop.post(Cast::Reviewer, &path, &[("note", "fine")]).await;
    assert_eq!(unread.status, StatusCode::UNPROCESSABLE_ENTITY);
    shop.review(made.batch).await;
    let page = shop.get(Cast::Inspector, &path).await;
    assert!(page.one(".notice").contains("Reviewed by RE"), "{}", page.one(".notice"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_later_reading_makes_a_review_stale_and_a_weigh_in_does_not() {
    let (shop, things, made) = loins().await;
    shop.evidence_of(&made).await;
    let path = format!("/release/{}", made.batch);
    let reviewed = async || {
        let states = shop.get(Cast::Owner, &path).await.all(".criteria > li > .criterion .state");
        states.last().unwrap() == "met"
    };
    assert!(reviewed().await);
    shop.later(Duration::days(7));
    let code = made.pieces[0].code.to_string();
    let weighed = [("code", code.as_str()), ("weight", "1900"), ("weight_unit", "g"), ("again", "yes")];
    goes_to(&shop.post(Cast::Curer, "/hanging/weigh", &weighed).await);
    let lot = made.pieces[0].lot.to_string();
    let moved = [("lot", lot.as_str()), ("to", &things.cooler.id.to_string())];
    goes_to(&shop.post(Cast::Curer, "/hanging/move", &moved).await);
    assert!(reviewed().await, "weigh-ins and moves leave it as it is");
    shop.water_activity(&lots(&made)[..1], "0.900").await;
    assert!(!reviewed().await);
    let refused = shop.try_release(&made).await;
    assert!(refused.one(".errors").contains("came after the review"), "{}", refused.one(".errors"));
    shop.review(made.batch).await;
    assert!(reviewed().await);
    goes_to(&shop.try_release(&made).await);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_review_that_a_release_rests_on_is_struck_after_it() {
    let (shop, _, made) = loins().await;
    shop.release(&made).await;
    let line = |kind: &'static str| {
        let pool = shop.app.book.pool.clone();
        async move {
            let seq: i64 = sqlx::query_scalar("SELECT max(seq) FROM entry WHERE kind = $1")
                .bind(kind)
                .fetch_one(&pool)
                .await
                .unwrap();
            format!("/entries/{seq}/strike")
        }
    };
    let review = line("records.reviewed").await;
    let refused = shop.post(Cast::Owner, &review, &[("reason", "too early")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let release = line("pieces.released").await;
    goes_to(&shop.post(Cast::Owner, &release, &[("reason", "too early")]).await);
    goes_to(&shop.post(Cast::Owner, &review, &[("reason", "too early")]).await);
    let page = shop.get(Cast::Owner, &format!("/release/{}", made.batch)).await;
    assert_eq!(page.all(".criteria > li > .criterion .state").last().unwrap(), "not yet");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_shop_of_one_person_reviews_its_own_records_and_the_line_says_so() {
    let (shop, _, made) = loins().await;
    shop.place(made.product.id, REFRIGERATED).await;
    for cast in [Cast::Cutter, Cast::Curer, Cast::Reviewer] {
        let path = format!("/setup/people/{}/retirement", cast.id());
        goes_to(&shop.post(Cast::Owner, &path, &[]).await);
    }
    let path = format!("/release/{}/review", made.batch);
    let page = shop.get(Cast::Owner, &path).await;
    assert!(page.one("form.sheet").contains("the shop's only person"), "{}", page.one("form.sheet"));
    let upto = page.attribute("input[name=upto]", "value").unwrap();
    goes_to(&shop.post(Cast::Owner, &path, &[("upto", &upto)]).await);
    let page = shop.get(Cast::Inspector, &path).await;
    assert!(page.one(".notice").contains("the shop's only person"), "{}", page.one(".notice"));
    assert!(page.text.contains("by the shop&#39;s only person, who made records of it as well"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn each_line_of_a_batch_says_who_looked_it_over_and_what_nobody_has_yet() {
    let (shop, _, made) = loins().await;
    shop.evidence_of(&made).await;
    let on = async |path: String| {
        let page = shop.get(Cast::Inspector, &path).await;
        (page.all("table.lines tbody tr").len(), page.all("table.lines .seen"))
    };
    let (lines, seen) = on(made.batch.path()).await;
    // The review is no record of the batch, so it is not asked of itself.
    assert_eq!(seen.len(), lines - 1);
    assert!(seen.iter().all(|said| said == "reviewed by RE"), "{seen:?}");

    let batch = made.batch.to_string();
    goes_to(&shop.reading(("batch", batch), "ph", "5.6").await);
    let (after, seen) = on(made.batch.path()).await;
    assert_eq!((after, seen[0].as_str(), seen[1].as_str()), (lines + 1, "not reviewed", "reviewed by RE"));
    let (_, seen) = on(format!("/release/{}/review", made.batch)).await;
    assert_eq!(seen.iter().filter(|said| *said == "not reviewed").count(), 1, "{seen:?}");
    assert_eq!(seen.last().unwrap(), "not reviewed", "in the order of the book");
    shop.review(made.batch).await;
    let (_, seen) = on(made.batch.path()).await;
    assert!(seen.iter().all(|said| said == "reviewed by RE"), "{seen:?}");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn lines_of_a_batch_that_nobody_has_reviewed_say_so() {
    let (shop, _, made) = loins().await;
    let page = shop.get(Cast::Cutter, &made.batch.path()).await;
    let seen = page.all("table.lines .seen");
    assert!(seen.len() > 3 && seen.iter().all(|said| said == "not reviewed"), "{seen:?}");
}
