use time::Duration;

use super::*;

#[test]
fn the_next_step_is_the_first_that_was_not_gone_through() {
    let steps =
        [step(Stage::Curing, 1), step(Stage::Resting, 1), step(Stage::Curing, 1), step(Stage::Drying, 1)];
    assert_eq!(next_step(&steps, &[]), Some(0));
    assert_eq!(next_step(&steps, &[Stage::Curing]), Some(1));
    assert_eq!(next_step(&steps, &[Stage::Curing, Stage::Resting, Stage::Curing]), Some(3));
    assert_eq!(next_step(&steps, &[Stage::Curing, Stage::Drying]), None);
    assert_eq!(next_step(&steps, &[Stage::Holding]), Some(0));
}

fn staged(to: Stage, reason: &str) -> BatchStaged {
    BatchStaged {
        batch: loins().batch,
        code: loins().code,
        stage: to,
        place: Named::new(PlaceId(Uuid::from_u128(1)), "curing fridge"),
        lots: vec![],
        reason: reason.into(),
    }
}

#[test]
fn a_stage_that_the_recipe_does_not_have_next_needs_a_reason() {
    let batch = Standing { applied: true, ..loins() };
    assert!(stage(staged(Stage::Curing, ""), &batch, MORNING, SAY).is_ok());
    assert_eq!(stage(staged(Stage::Drying, ""), &batch, MORNING, SAY).expect_err("skipped").field, "reason");
    assert!(stage(staged(Stage::Drying, "cured elsewhere"), &batch, MORNING, SAY).is_ok());
}

#[test]
fn leaving_a_stage_before_its_hours_are_over_needs_a_reason() {
    let batch = Standing { applied: true, stage: Stage::Curing, stages: vec![Stage::Curing], ..loins() };
    let soon = MORNING + Duration::hours(335);
    let refusal = stage(staged(Stage::Drying, ""), &batch, soon, SAY).expect_err("an hour short");
    assert!(refusal.message.contains("1 h short"), "{}", refusal.message);
    assert!(stage(staged(Stage::Drying, ""), &batch, MORNING + Duration::hours(336), SAY).is_ok());
}

#[test]
fn nothing_cures_before_the_cure_is_on_it_and_nothing_dries_before_it_is_stuffed() {
    assert!(stage(staged(Stage::Curing, "x"), &loins(), MORNING, SAY).is_err());
    assert_eq!(
        stage(staged(Stage::Drying, "x"), &mixed(), MORNING, SAY).expect_err("no pieces").field,
        "stage"
    );
    assert!(stage(staged(Stage::Curing, "overnight in the cold"), &mixed(), MORNING, SAY).is_ok());
}

fn released(n: u128) -> PiecesReleased {
    let piece = ReleasedPiece {
        lot: Named::new(LotId(Uuid::from_u128(n)), "26328-01.01"),
        green: grams("2000"),
        weight: grams("1300"),
    };
    PiecesReleased {
        batch: loins().batch,
        code: loins().code,
        pieces: vec![piece],
        note: String::new(),
        shown: None,
    }
}

#[test]
fn a_piece_is_released_from_drying_once_and_never_on_hold() {
    let drying = Standing { stage: Stage::Drying, ..loins() };
    assert!(release(released(70), &drying).is_ok());
    assert!(release(released(70), &loins()).is_err(), "still in the making");
    assert_eq!(release(released(99), &drying).expect_err("another batch's").field, "pieces");
    let mut held = drying.clone();
    held.pieces[0].lot.held = Some("mould".into());
    assert!(release(released(70), &held).expect_err("on hold").message.contains("mould"));
    let mut twice = drying;
    twice.pieces[0].released = true;
    assert!(release(released(70), &twice).is_err());
}

#[test]
fn a_released_line_says_the_loss_and_never_that_it_is_safe() {
    let line = released(70).line(&SAY);
    assert!(line.why.starts_with("35.0"), "{}", line.why);
    assert!(!format!("{line:?}").contains("safe"));
}
