use rust_decimal::{Decimal, dec};
use time::Duration;
use time::macros::datetime;
use uuid::Uuid;

use super::*;

const GREEN_AT: OffsetDateTime = datetime!(2026-09-01 09:00 UTC);

/// A piece of so many kilograms weighed every week, with these losses in hundredths of a per cent.
fn piece(batch: u128, n: u128, losses: &[i64]) -> Weighed {
    let green = Grams::whole(2_000);
    let mut before = green;
    let mut weighed = Vec::new();
    for (week, loss) in (1_i64..).zip(losses) {
        let grams = Grams::new(Decimal::from(2_000) * (dec!(10_000) - Decimal::from(*loss)) / dec!(10_000));
        let seq = Seq(week + 100 * i64::try_from(n).expect("small"));
        weighed.push(WeighIn { seq, grams, before, at: GREEN_AT + Duration::weeks(week) });
        before = grams;
    }
    Weighed {
        lot: LotId(Uuid::from_u128(n)),
        batch: BatchId(Uuid::from_u128(batch)),
        code: format!("26244-01.{n:02}").parse().expect("a code"),
        green,
        green_at: GREEN_AT,
        target: Some(Percent::new(dec!(35))),
        place: None,
        on_hand: true,
        weighed,
    }
}

const MUSCLE: [i64; 8] = [900, 1490, 1990, 2400, 2740, 3020, 3260, 3460];

fn why(ahead: &Ahead) -> &str {
    match ahead {
        Ahead::Cannot(why) => why,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_piece_with_four_weigh_ins_is_foretold_within_a_span() {
    let history = History::of(vec![piece(1, 1, &MUSCLE[..4])]);
    let Ahead::Foretold(forecast) = history.ahead(&history.pieces[0]) else { panic!("no forecast") };
    let last = history.pieces[0].weighed[3].at;
    assert!(last < forecast.early && forecast.early < forecast.at && forecast.at < forecast.late);
    assert_eq!((forecast.weigh_ins, forecast.fitted.from), (4, From::Own));
    assert!(forecast.how().contains("first guess"), "{}", forecast.how());
}

#[test]
fn a_young_piece_leans_on_the_batches_before_it_and_says_so() {
    let own = piece(2, 9, &MUSCLE[..1]);
    let alone = History::of(vec![own.clone()]);
    assert!(why(&alone.ahead(&alone.pieces[0])).contains("no earlier batch"));
    let history = History::of(vec![piece(1, 1, &MUSCLE), piece(1, 2, &MUSCLE), own]);
    let Ahead::Foretold(forecast) = history.ahead(&history.pieces[2]) else { panic!("no forecast") };
    assert_eq!(forecast.fitted.from, From::Earlier);
    let weeks = (forecast.at - GREEN_AT).whole_days();
    assert!((49..=70).contains(&weeks), "35 % came between the eighth and the ninth week: day {weeks}");
    assert!(forecast.how().contains("earlier batches"), "{}", forecast.how());
}

#[test]
fn what_is_measured_is_never_foretold() {
    let losses = [2000, 3000, 3500];
    let history = History::of(vec![piece(1, 1, &losses)]);
    let Ahead::Reached(one) = history.ahead(&history.pieces[0]) else { panic!("it is reached") };
    assert_eq!(one.at, GREEN_AT + Duration::weeks(3));
    let short = History::of(vec![piece(1, 1, &[2000, 3000, 3499])]);
    assert!(!matches!(short.ahead(&short.pieces[0]), Ahead::Reached(_)));
}

#[test]
fn a_forecast_that_cannot_be_made_says_why() {
    let history = History::of(vec![
        piece(1, 1, &[1000, 1600, 1900, 2000, 2030, 2035, 2037]),
        Weighed { target: None, ..piece(1, 2, &MUSCLE) },
        piece(1, 3, &[]),
    ]);
    let said: Vec<Ahead> = history.pieces.iter().map(|piece| history.ahead(piece)).collect();
    assert!(why(&said[0]).contains("levels off at 2"), "{:?}", said[0]);
    assert!(why(&said[1]).contains("no target"), "{:?}", said[1]);
    assert!(why(&said[2]).contains("not weighed in yet"), "{:?}", said[2]);
}

#[test]
fn a_piece_that_was_cut_into_is_foretold_no_more() {
    let mut cut = piece(1, 1, &MUSCLE[..5]);
    cut.weighed[4].before -= Grams::whole(300);
    let history = History::of(vec![cut]);
    assert!(why(&history.ahead(&history.pieces[0])).contains("cut off it"));
}

#[test]
fn the_day_is_set_by_how_long_earlier_pieces_took_and_its_curve_reaches_the_target_on_it() {
    // Pieces that all slow down more than their first weigh-ins foretell.
    let slow = |n: u128| piece(n, n, &[900, 1490, 1990, 2400, 2740, 3020, 3260, 3460, 3530]);
    let mut pieces: Vec<Weighed> = (1..=4).map(slow).collect();
    pieces.push(piece(9, 9, &MUSCLE[..4]));
    let history = History::of(pieces);
    let Ahead::Foretold(forecast) = history.ahead(&history.pieces[4]) else { panic!("no forecast") };
    assert!(forecast.spread.forecasts >= fit::ENOUGH && forecast.spread.alike, "{:?}", forecast.spread);
    assert!(forecast.early <= forecast.at && forecast.at <= forecast.late);
    let (at, loss) = *forecast.drawn().last().expect("points");
    assert_eq!(at, forecast.at);
    assert!((loss - dec!(35)).abs() < dec!(0.1), "it is drawn to its target: {loss}");
    let said = history.came_out().expect("enough to say");
    assert!(said.contains("came within the interval that the other pieces gave"), "{said}");
}
