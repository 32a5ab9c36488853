//! The demo's ten weeks hold what a shop would rather not have: lines that show what the program does about it.

use axum::http::StatusCode;
use flitchbook::ids::BatchId;
use uuid::Uuid;

use crate::shop::{Cast, Shop};

// The ten weeks take a while to tell, so what only looks at them shares one telling.
#[tokio::test]
async fn the_demo_shows_what_is_held_and_what_does_not_go_to_sale() {
    let shop = Shop::demo().await;
    a_salami_that_fermented_too_warm_is_on_hold(&shop).await;
    a_piece_past_its_loss_without_a_measured_water_activity_does_not_go(&shop).await;
    assert_eq!(shop.verify().await.findings, []);
}

async fn a_salami_that_fermented_too_warm_is_on_hold(shop: &Shop) {
    let pool = &shop.app.book.pool;
    let over = "SELECT j.batch, d.id FROM fermentation_judged j JOIN deviation d ON d.seq = j.seq
                WHERE j.outcome = 'over' AND d.closed_by IS NULL";
    let over: Vec<(Uuid, Uuid)> = sqlx::query_as(over).fetch_all(pool).await.unwrap();
    let [(batch, deviation)] = over[..] else { panic!("{over:?}") };
    let free = "SELECT count(*) FROM piece p JOIN lot l ON l.id = p.lot WHERE p.batch = $1 AND l.grams > 0
                AND NOT EXISTS (SELECT 1 FROM hold h WHERE h.lot = l.id AND h.lifted_by IS NULL)";
    let free: i64 = sqlx::query_scalar(free).bind(batch).fetch_one(pool).await.unwrap();
    assert_eq!(free, 0, "every piece of it is on hold");
    let page = shop.get(Cast::Reviewer, &format!("/fermenting/{batch}")).await;
    assert!(page.one("main").contains("over the limit before pH 5.3"), "{}", page.one("main"));
    let page = shop.get(Cast::Reviewer, &format!("/checks/deviations/{deviation}")).await;
    assert!(page.one("main").contains("The controller stood at 36"), "{}", page.one("main"));
    let today = shop.get(Cast::Owner, "/").await;
    assert!(today.text.contains(&format!("/checks/deviations/{deviation}")), "{}", today.one("main"));
}

async fn a_piece_past_its_loss_without_a_measured_water_activity_does_not_go(shop: &Shop) {
    let dry = "SELECT p.lot, p.batch FROM piece p JOIN lot l ON l.id = p.lot
               WHERE p.released_by IS NULL AND l.grams > 0 AND (p.green - l.grams) / p.green > 0.35
                 AND NOT EXISTS (SELECT 1 FROM reading r WHERE r.lot = p.lot AND r.quantity = 'water activity')";
    let dry: Vec<(Uuid, Uuid)> = sqlx::query_as(dry).fetch_all(&shop.app.book.pool).await.unwrap();
    let [(lot, batch)] = dry[..] else { panic!("{dry:?}") };
    let path = format!("/release/{}", BatchId(batch));
    let refused = shop.post(Cast::Reviewer, &path, &[("pieces", &lot.to_string())]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let errors = refused.one(".errors");
    assert!(errors.contains("Water activity, measured, at most 0.850"), "{errors}");
    assert!(!errors.contains("Loss of green weight"), "by weight it is dry enough: {errors}");
}
