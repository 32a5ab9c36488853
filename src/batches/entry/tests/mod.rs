mod formulation;
mod stages;

use proptest::prelude::*;
use rust_decimal::{Decimal, dec};
use time::OffsetDateTime;
use time::macros::datetime;
use uuid::Uuid;

use super::*;
use crate::book::{Entry, Form, Lot, Say, Seq};
use crate::ids::{BatchId, ItemId, LotId, Named, PlaceId, RecipeId};
use crate::limits::InForce;
use crate::measure::{Grams, LotCode, Percent, UnitSystem};
use crate::recipes::{Per, RecipeKind, RecipeLine, RecipeStep, Role, Stage};
use crate::standards::ingoing::Curing;
use crate::standards::limits::{Product, Way};

const SAY: Say = Say { system: UnitSystem::Metric };
const MORNING: OffsetDateTime = datetime!(2026-11-24 09:40 UTC);
/// What the shop's small scale shows.
const DIVISION: Decimal = dec!(0.1);
const ENTRY: Uuid = Uuid::from_u128(500);

fn grams(text: &str) -> Grams {
    Grams::new(text.parse().expect("a decimal"))
}

fn code(text: &str) -> LotCode {
    text.parse().expect("a code")
}

fn lot(n: u128, item: u128, form: Form, holds: &str) -> Lot {
    Lot {
        id: LotId(Uuid::from_u128(n)),
        code: code("26320-01").piece(u16::try_from(n).expect("a small number")).expect("a piece"),
        form,
        item: ItemId(Uuid::from_u128(item)),
        item_name: format!("thing {item}"),
        place: None,
        grams: grams(holds),
        seq: Seq(1),
        held: None,
        struck: false,
    }
}

fn line(n: u16, role: Role, target: &str, tolerance: &str) -> LineStanding {
    let line = RecipeLine {
        role,
        item: Named::new(ItemId(Uuid::from_u128(u128::from(n))), format!("thing {n}")),
        percent: Percent::HUNDRED,
        per: Per::Meat,
        tolerance: Percent::new(tolerance.parse().expect("a decimal")),
        salt: None,
        sugar: None,
        accelerator: None,
    };
    LineStanding { n, line, target: grams(target), weighed: Grams::ZERO, explained: false }
}

fn step(stage: Stage, hours: u32) -> RecipeStep {
    RecipeStep { stage, hours, note: String::new() }
}

/// 10 kg of meat in the mix, salt, cure and pepper still to come.
fn salami() -> Standing {
    Standing {
        batch: BatchId(Uuid::from_u128(90)),
        code: code("26328-01"),
        recipe: Named::new(RecipeId(Uuid::from_u128(91)), "Fennel salami"),
        version: 1,
        kind: RecipeKind::GroundFermented,
        product: Named::new(ItemId(Uuid::from_u128(92)), "fennel salami"),
        mix: Lot { id: LotId(Uuid::from_u128(80)), ..lot(80, 92, Form::Mix, "10000") },
        meat_target: grams("10000"),
        meat: grams("10000"),
        meat_exact: grams("10000").into(),
        curing: Curing::plain(Way::Comminuted),
        falls_under: Product::Other,
        in_force: InForce::default(),
        weighings: vec![],
        laid_on: None,
        begun_at: MORNING,
        stage: Stage::Making,
        stage_at: MORNING,
        place: None,
        target_loss: None,
        weigh_every: None,
        lines: vec![
            line(1, Role::Meat, "10000", "5"),
            line(2, Role::Salt, "250", "2"),
            line(3, Role::Cure, "25", "1"),
            line(4, Role::Spice, "30", "10"),
        ],
        steps: vec![step(Stage::Fermenting, 48), step(Stage::Drying, 720)],
        stages: vec![],
        pieces: vec![],
        applied: false,
    }
}

/// Two loins in cure.
fn loins() -> Standing {
    let piece = |n: u128, green: &str| PieceStanding {
        lot: Lot { code: code("26328-01").piece(1).expect("a piece"), ..lot(n, 92, Form::Piece, green) },
        green: grams(green),
        released: false,
    };
    Standing {
        kind: RecipeKind::DryCureEquilibrium,
        mix: Lot { grams: grams("30"), ..salami().mix },
        meat: grams("3000"),
        meat_exact: grams("3000").into(),
        curing: Curing::plain(Way::DryCured),
        lines: vec![line(3, Role::Cure, "30", "1")],
        pieces: vec![piece(70, "2000"), piece(71, "1000")],
        steps: vec![step(Stage::Curing, 336), step(Stage::Drying, 720)],
        ..salami()
    }
}

fn weighed(n: u16, role: Role, weight: &str) -> IngredientWeighed {
    IngredientWeighed {
        batch: salami().batch,
        mix: salami().mix.id,
        line: n,
        role,
        item: Named::new(ItemId(Uuid::from_u128(u128::from(n))), format!("thing {n}")),
        lot: Some(Named::new(LotId(Uuid::from_u128(20)), "26320-01")),
        weight: grams(weight),
        exact: None,
        target: Grams::ZERO,
        tolerance: Percent::ZERO,
        more_follows: false,
        verdict: Verdict::Within,
        reason: String::new(),
        nitrite: (role == Role::Cure).then(|| Percent::new(dec!(6.25))),
        nitrate: None,
        nitrite_salt: None,
        nitrate_salt: None,
        deviation: None,
    }
}

fn try_weigh(entry: IngredientWeighed, batch: &Standing) -> Result<IngredientWeighed, crate::error::Refusal> {
    let from = lot(20, u128::from(entry.line), Form::Ingredient, "5000");
    weigh(entry, batch, Some(&from), Grams::new(DIVISION), ENTRY, &SAY)
}

#[test]
fn a_cure_of_unknown_strength_does_not_go_in_and_the_refusal_says_what_to_record() {
    let unknown = IngredientWeighed { nitrite: None, ..weighed(3, Role::Cure, "25") };
    let refusal = try_weigh(unknown.clone(), &salami()).expect_err("nobody knows how strong it is");
    assert_eq!(refusal.field, "lot");
    assert!(refusal.message.contains("26320-01 has no strength recorded"), "{}", refusal.message);
    assert!(refusal.message.contains("per cent of nitrite and nitrate"), "{}", refusal.message);
    let nitrate = IngredientWeighed { nitrate: Some(Percent::new(dec!(4))), ..unknown };
    assert!(try_weigh(nitrate, &salami()).is_ok(), "one of the two is enough");
    let salt = IngredientWeighed { nitrite: None, ..weighed(2, Role::Salt, "250") };
    assert!(try_weigh(salt, &salami()).is_ok(), "salt has no strength to state");
}

#[test]
fn salt_within_its_tolerance_goes_in() {
    let salt = try_weigh(weighed(2, Role::Salt, "253"), &salami()).expect("within 2 %");
    assert_eq!((salt.verdict, salt.target), (Verdict::Within, grams("250")));
}

#[test]
fn salt_outside_its_tolerance_needs_a_reason_and_its_line_says_so() {
    let refusal = try_weigh(weighed(2, Role::Salt, "260"), &salami()).expect_err("4 % over");
    assert_eq!(refusal.field, "reason");
    let signed = IngredientWeighed { reason: "last of the sack".into(), ..weighed(2, Role::Salt, "260") };
    let signed = try_weigh(signed, &salami()).expect("signed with its reason");
    assert_eq!(signed.line(&SAY).alarm, Some("outside tolerance"));
    let opened = signed.deviation.expect("salt outside its tolerance is a deviation");
    assert!(opened.what.contains("26328-01") && opened.lots.is_empty(), "{}", opened.what);
}

#[test]
fn a_cure_outside_its_tolerance_does_not_go_in_whatever_the_reason() {
    for weight in ["24.7", "25.3"] {
        let cure = IngredientWeighed { reason: "close enough".into(), ..weighed(3, Role::Cure, weight) };
        assert_eq!(try_weigh(cure, &salami()).expect_err("over 1 % off").field, "weight");
    }
    assert!(try_weigh(weighed(3, Role::Cure, "25.2"), &salami()).is_ok());
}

#[test]
fn a_scale_cannot_be_asked_to_read_closer_than_half_its_division() {
    let mut batch = salami();
    batch.lines[2].target = grams("1.04");
    // 1 % of 1.04 g is 0.01 g; the scale shows 0.1 g.
    assert!(try_weigh(weighed(3, Role::Cure, "1"), &batch).is_ok());
    assert!(try_weigh(weighed(3, Role::Cure, "1.1"), &batch).is_err());
}

#[test]
fn a_cure_can_come_from_two_lots_that_together_weigh_the_target() {
    let first = IngredientWeighed { more_follows: true, ..weighed(3, Role::Cure, "10") };
    assert_eq!(try_weigh(first, &salami()).expect("more follows").verdict, Verdict::Within);
    let mut batch = salami();
    batch.lines[2].weighed = grams("10");
    let second = try_weigh(weighed(3, Role::Cure, "15"), &batch).expect("together 25 g");
    assert_eq!(second.target, grams("15"));
    let over = IngredientWeighed { more_follows: true, ..weighed(3, Role::Cure, "16") };
    assert!(try_weigh(over, &batch).is_err());
}

#[test]
fn an_ingredient_comes_from_a_lot_of_that_very_thing() {
    let other = lot(20, 99, Form::Ingredient, "5000");
    let refusal =
        weigh(weighed(2, Role::Salt, "250"), &salami(), Some(&other), Grams::new(DIVISION), ENTRY, &SAY);
    assert_eq!(refusal.expect_err("another thing").field, "lot");
    let refusal = weigh(weighed(2, Role::Salt, "250"), &salami(), None, Grams::new(DIVISION), ENTRY, &SAY);
    assert_eq!(refusal.expect_err("no lot").field, "lot");
}

#[test]
fn a_held_lot_is_not_used() {
    let held = Lot { held: Some("torn sack".into()), ..lot(20, 2, Form::Ingredient, "5000") };
    let refusal =
        weigh(weighed(2, Role::Salt, "250"), &salami(), Some(&held), Grams::new(DIVISION), ENTRY, &SAY);
    assert!(refusal.expect_err("on hold").message.contains("torn sack"));
}

fn taken(weight: &str) -> MeatTaken {
    MeatTaken {
        batch: salami().batch,
        mix: salami().mix.id,
        lot: Named::new(LotId(Uuid::from_u128(30)), "26320-01.30"),
        item: Named::new(ItemId(Uuid::from_u128(5)), "lean trim"),
        weight: grams(weight),
        exact: None,
        line: Some(1),
    }
}

#[test]
fn more_meat_than_a_lot_holds_is_not_taken() {
    let trim = lot(30, 5, Form::Trim, "4000");
    assert_eq!(take_meat(taken("4000.01"), &salami(), &trim, &SAY).expect_err("too much").field, "weight");
    assert!(take_meat(taken("4000"), &salami(), &trim, &SAY).is_ok());
}

#[test]
fn a_hanging_piece_is_no_raw_meat_and_a_whole_muscle_is_not_ground() {
    let piece = lot(30, 5, Form::Piece, "4000");
    assert_eq!(take_meat(taken("1"), &salami(), &piece, &SAY).expect_err("a piece").field, "lot");
    let trim = lot(30, 5, Form::Trim, "4000");
    assert!(take_meat(taken("1"), &loins(), &trim, &SAY).is_err());
}

#[test]
fn shares_of_the_cure_add_up_to_what_was_weighed() {
    let shares = share_out(grams("100"), &[grams("1"), grams("1"), grams("1")]);
    assert_eq!(shares, [grams("33.34"), grams("33.33"), grams("33.33")]);
}

proptest! {
    #[test]
    fn no_gram_is_lost_when_a_cure_is_shared(
        total in 1_i64..5_000_000, by in prop::collection::vec(1_i64..2_000_000, 1..60),
    ) {
        let total = Grams::new(Decimal::new(total, 2));
        let by: Vec<Grams> = by.into_iter().map(|one| Grams::new(Decimal::new(one, 2))).collect();
        let shares = share_out(total, &by);
        prop_assert_eq!(shares.iter().sum::<Grams>(), total);
        let whole: Grams = by.iter().sum();
        for (share, one) in shares.iter().zip(&by) {
            let fair = total.decimal() * one.decimal() / whole.decimal();
            prop_assert!((share.decimal() - fair).abs() <= dec!(0.01));
        }
    }
}

fn applied(reason: &str) -> CureApplied {
    CureApplied {
        batch: loins().batch,
        mix: loins().mix.id,
        pieces: vec![],
        left_over: Grams::ZERO,
        reason: reason.into(),
    }
}

#[test]
fn a_cure_is_laid_on_only_when_it_is_right_for_the_meat_that_was_taken() {
    let mut batch = loins();
    assert!(apply_cure(applied("never mind"), &batch, Grams::new(DIVISION), &SAY).is_err());
    batch.lines[0].weighed = grams("30");
    assert!(apply_cure(applied(""), &batch, Grams::new(DIVISION), &SAY).is_ok());
    // A muscle was struck since: 20 g would belong to what is left.
    batch.lines[0].target = grams("20");
    assert!(apply_cure(applied("never mind"), &batch, Grams::new(DIVISION), &SAY).is_err());
}

fn stuffed(weights: &[&str], loss: &str, found: &str, reason: &str) -> MixStuffed {
    let piece = |(n, weight): (u16, &&str)| StuffedPiece {
        lot: LotId(Uuid::from_u128(u128::from(n))),
        code: code("26328-01").piece(n).expect("a piece"),
        weight: grams(weight),
    };
    MixStuffed {
        batch: salami().batch,
        mix: salami().mix.id,
        product: salami().product,
        pieces: (1..).zip(weights).map(piece).collect(),
        casing: None,
        diameter_mm: Some(60),
        loss: grams(loss),
        found: grams(found),
        reason: reason.into(),
        place: Named::new(PlaceId(Uuid::from_u128(1)), "chamber 1"),
        target_loss: None,
        weigh_every: None,
    }
}

/// Everything weighed: 10,305 g of mix.
fn mixed() -> Standing {
    let mut batch = salami();
    for line in &mut batch.lines {
        line.weighed = line.target;
    }
    batch.mix.grams = grams("10305");
    batch
}

#[test]
fn pieces_and_stuffing_loss_together_weigh_what_the_mix_weighed() {
    let entry = stuffed(&["5000", "5200"], "105", "0", "");
    assert!(entry.effects().imbalance().is_zero());
    assert_eq!(entry.out_of_the_mix(), grams("10305"));
    assert!(stuff(entry, &mixed(), Grams::new(DIVISION), &SAY).is_ok());
}

#[test]
fn pieces_heavier_than_the_mix_are_a_gain_that_needs_a_reason() {
    let gain = stuffed(&["5000", "5400"], "0", "95", "");
    assert!(gain.effects().imbalance().is_zero());
    assert_eq!(stuff(gain, &mixed(), Grams::new(DIVISION), &SAY).expect_err("a gain").field, "reason");
    let said = stuffed(&["5000", "5400"], "0", "95", "casings were wet");
    assert_eq!(said.line(&SAY).alarm, Some("gain"));
    assert!(stuff(said, &mixed(), Grams::new(DIVISION), &SAY).is_ok());
}

#[test]
fn a_mix_without_its_cure_is_not_stuffed_and_one_without_pepper_needs_a_reason() {
    let mut batch = mixed();
    batch.lines[2].weighed = Grams::ZERO;
    assert!(stuff(stuffed(&["100"], "0", "0", "x"), &batch, Grams::new(DIVISION), &SAY).is_err());
    let mut batch = mixed();
    batch.lines[3].weighed = Grams::ZERO;
    let no_pepper = stuff(stuffed(&["100"], "0", "0", ""), &batch, Grams::new(DIVISION), &SAY);
    assert_eq!(no_pepper.expect_err("no pepper").field, "reason");
    assert!(stuff(stuffed(&["100"], "0", "0", "pepper ran out"), &batch, Grams::new(DIVISION), &SAY).is_ok());
}

#[test]
fn the_next_act_follows_the_making_from_the_meat_to_the_stages() {
    let division = Grams::new(DIVISION);
    let mut batch = salami();
    batch.meat = Grams::ZERO;
    assert_eq!(next(&batch, division), Next::TakeMeat);
    batch.meat = grams("9400");
    assert_eq!(next(&batch, division), Next::TakeMeat, "more than a twentieth is missing");
    batch.meat = grams("9500");
    assert_eq!(next(&batch, division), Next::Weigh(2));
    batch.lines[1].weighed = grams("250");
    assert_eq!(next(&batch, division), Next::Weigh(3));
    assert_eq!(next(&mixed(), division), Next::Stuff);
    let mut cured_first = mixed();
    cured_first.steps.insert(0, step(Stage::Curing, 24));
    assert_eq!(next(&cured_first, division), Next::Stage);
    let mut loins = loins();
    loins.meat = grams("10000");
    loins.lines[0].weighed = grams("30");
    assert_eq!(next(&loins, division), Next::LayOn);
    loins.applied = true;
    assert_eq!(next(&loins, division), Next::Stage);
    loins.stages = vec![Stage::Curing, Stage::Drying];
    loins.stage = Stage::Drying;
    assert_eq!(next(&loins, division), Next::Release);
}

#[test]
fn a_large_stuffing_loss_needs_a_reason() {
    let lost = stuffed(&["5000", "4500"], "805", "0", "");
    assert_eq!(stuff(lost, &mixed(), Grams::new(DIVISION), &SAY).expect_err("7.8 %").field, "reason");
    let said = stuffed(&["5000", "4500"], "805", "0", "a burst casing");
    assert!(stuff(said, &mixed(), Grams::new(DIVISION), &SAY).is_ok());
}
