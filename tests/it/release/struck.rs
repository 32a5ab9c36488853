//! A line that a release rested on is struck after it.

use flitchbook::measure::WaterActivity;
use flitchbook::release::entry::family::shipped;
use flitchbook::release::entry::{Asks, FamilyWritten, Rule};

use super::*;

/// The owner asks for the water activity of each piece instead of a sample of them.
async fn each_piece_is_measured(shop: &Shop, made: &Made) {
    let from = shipped().unwrap().into_iter().find(|family| family.key == REFRIGERATED).unwrap();
    let mut family = FamilyWritten { family: from.id(), name: from.name.clone(), ..from.taken_up() };
    family.criteria.retain(|criterion| matches!(criterion.rule.asks(), Asks::WaterActivity | Asks::Review));
    for criterion in &mut family.criteria {
        if let Rule::WaterActivityAtMost { pieces, most } = &mut criterion.rule {
            (*pieces, *most) = (None, WaterActivity::thousandths(910));
        }
    }
    shop.sign(family).await;
    shop.place_as_shipped(made.product.id, REFRIGERATED).await;
}

/// The line of the water activity of a lot.
async fn line_of(shop: &Shop, lot: LotId, quantity: &str) -> i64 {
    let seq = sqlx::query_scalar("SELECT max(seq) FROM reading WHERE lot = $1 AND quantity = $2");
    seq.bind(lot.0).bind(quantity).fetch_one(&shop.app.book.pool).await.unwrap()
}

async fn strike(shop: &Shop, line: i64) {
    let reason = [("reason", "the meter had not been warmed up")];
    goes_to(&shop.post(Cast::Owner, &format!("/entries/{line}/strike"), &reason).await);
}

/// The codes of what is on hold.
async fn on_hold(shop: &Shop) -> Vec<String> {
    let held = sqlx::query_scalar(
        "SELECT l.code FROM hold h JOIN lot l ON l.id = h.lot WHERE h.lifted_by IS NULL
         ORDER BY l.code_day, l.code_number, l.code_piece",
    );
    held.fetch_all(&shop.app.book.pool).await.unwrap()
}

#[tokio::test]
async fn a_struck_water_activity_holds_the_piece_that_went_by_it_and_its_packs_and_no_other() {
    let (shop, things, made) = loins().await;
    each_piece_is_measured(&shop, &made).await;
    shop.water_activity(&lots(&made), "0.905").await;
    shop.review(made.batch).await;
    goes_to(&shop.try_release(&made).await);
    pack(&shop, &things, &made).await;
    assert_eq!(on_hold(&shop).await, Vec::<String>::new());

    let line = line_of(&shop, made.pieces[0].lot, "water activity").await;
    strike(&shop, line).await;
    let packs = [made.code.piece(3).unwrap(), made.code.piece(4).unwrap()];
    let expected = [made.pieces[0].code, packs[0], packs[1]].map(|code| code.to_string());
    assert_eq!(on_hold(&shop).await, expected);
    let today = shop.get(Cast::Cutter, "/").await;
    assert!(today.text.contains(&format!("Line {line} is struck")), "{}", today.one("main"));
    let packing = shop.get(Cast::Curer, &format!("/dispatch/new?lots={}", packs[0])).await;
    assert!(packing.error_at("code").contains("on hold"), "{}", packing.text);

    // It is decided like any other deviation, and says what the line had shown.
    let deviation: uuid::Uuid =
        sqlx::query_scalar("SELECT id FROM deviation").fetch_one(&shop.app.book.pool).await.unwrap();
    let page = shop.get(Cast::Reviewer, &format!("/checks/deviations/{deviation}")).await;
    let main = page.one("main");
    assert!(main.contains("Water activity, measured, at most 0.910"), "{main}");
    assert!(expected.iter().all(|code| main.contains(code)), "{main}");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn of_a_sample_that_counted_for_all_every_piece_is_held_and_a_piece_that_had_not_gone_is_not() {
    let (shop, _, made) = loins().await;
    shop.evidence_of(&made).await;
    let first = made.pieces[0].lot.to_string();
    let path = format!("/release/{}", made.batch);
    goes_to(&shop.post(Cast::Reviewer, &path, &[("pieces", &first)]).await);
    // The second piece was measured for the sample, and is itself still waiting.
    strike(&shop, line_of(&shop, made.pieces[1].lot, "water activity").await).await;
    assert_eq!(on_hold(&shop).await, [made.pieces[0].code.to_string()]);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn nothing_is_held_when_the_struck_line_was_not_rested_on() {
    let (shop, _, made) = loins().await;
    goes_to(&shop.reading(("lot", made.pieces[0].lot.to_string()), "ph", "5.6").await);
    shop.release(&made).await;
    strike(&shop, line_of(&shop, made.pieces[0].lot, "ph").await).await;
    assert_eq!(on_hold(&shop).await, Vec::<String>::new());
    // A release that is itself struck rests on nothing any more.
    let release: i64 = sqlx::query_scalar("SELECT max(seq) FROM entry WHERE kind = 'pieces.released'")
        .fetch_one(&shop.app.book.pool)
        .await
        .unwrap();
    strike(&shop, release).await;
    strike(&shop, line_of(&shop, made.pieces[0].lot, "water activity").await).await;
    assert_eq!(on_hold(&shop).await, Vec::<String>::new());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn where_all_that_went_by_the_line_has_left_the_deviation_opens_and_says_so() {
    let (shop, _, made) = loins().await;
    shop.release(&made).await;
    for piece in &made.pieces {
        let (lot, whole) = (piece.lot.to_string(), shop.grams(&piece.code.to_string()).await);
        let whole = whole.decimal().to_string();
        let kilograms =
            (whole.parse::<rust_decimal::Decimal>().unwrap() / rust_decimal::dec!(1000)).to_string();
        let fields = [
            ("act", "sign"),
            ("lot", lot.as_str()),
            ("whole", whole.as_str()),
            ("weight", kilograms.as_str()),
            ("weight_unit", "kg"),
            ("reason", "slimy under the rind"),
        ];
        goes_to(&shop.post(Cast::Owner, "/dispatch/discard", &fields).await);
    }
    strike(&shop, line_of(&shop, made.pieces[0].lot, "water activity").await).await;
    assert_eq!(on_hold(&shop).await, Vec::<String>::new());
    let today = shop.get(Cast::Reviewer, "/").await;
    assert!(today.text.contains("is struck, and the release of"), "{}", today.one("main"));
    assert_eq!(shop.verify().await.findings, []);
}
