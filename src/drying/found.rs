//! "Loss reached" as evidence for a release: by weigh-ins, each with its line in the book. Never by a forecast.

use rust_decimal::RoundingStrategy;
use sqlx::PgConnection;

use super::db;
use super::forecast::Weighed;
use crate::error::Result;
use crate::evidence::Found;
use crate::ids::{BatchId, LotId};
use crate::measure::Percent;

/// How the target loss of a piece stands by its weigh-ins. `target` overrules the piece's own, where somebody asks for
/// another.
pub async fn loss_found(conn: &mut PgConnection, piece: LotId, target: Option<Percent>) -> Result<Found> {
    let pieces = db::weighed(conn, &[piece]).await?;
    Ok(pieces
        .first()
        .map_or_else(|| Found::not_yet("It is no piece of a batch."), |piece| of_piece(piece, target)))
}

/// How it stands for every piece of a batch that is still in the shop: met when the wettest has reached it.
pub async fn loss_found_of_batch(
    conn: &mut PgConnection,
    batch: BatchId,
    target: Option<Percent>,
) -> Result<Found> {
    let mut pieces = db::weighed_of_batch(conn, batch).await?;
    pieces.retain(|piece| piece.on_hand);
    Ok(of_pieces(&pieces, target))
}

fn of_piece(piece: &Weighed, target: Option<Percent>) -> Found {
    let Some(target) = target.or(piece.target) else {
        return Found::not_yet("Its recipe names no target loss.");
    };
    let Some((last, loss)) = piece.weighed.last().and_then(|one| Some((one, piece.loss_at(one)?))) else {
        return Found::not_yet(format!("Weigh in {}: the target is {target} % of green weight.", piece.code));
    };
    if piece.has_lost(last, target) {
        Found::met(format!("{} of green weight, target {target} %", said(loss)), vec![last.seq])
    } else {
        let lost = said(loss);
        Found::not_yet(format!("{} has lost {lost} of green weight; the target is {target} %.", piece.code))
    }
}

/// Never rounded up to a target that is not reached.
fn said(loss: Percent) -> String {
    let lost = loss.decimal().round_dp_with_strategy(2, RoundingStrategy::ToNegativeInfinity);
    format!("{} %", lost.normalize())
}

fn of_pieces(pieces: &[Weighed], target: Option<Percent>) -> Found {
    if pieces.is_empty() {
        return Found::not_yet("No piece of it hangs.");
    }
    let mut by = Vec::with_capacity(pieces.len());
    let mut missing = Vec::new();
    for piece in pieces {
        match of_piece(piece, target) {
            Found::Met { by: lines, .. } => by.extend(lines),
            Found::NotYet { missing: why } | Found::Failed { what: why, .. } => missing.push(why),
        }
    }
    if let Some(first) = missing.first() {
        let more = missing.len() - 1;
        let more =
            if more == 0 { String::new() } else { format!(" So with {more} more of {}.", pieces.len()) };
        return Found::not_yet(format!("{first}{more}"));
    }
    let wettest = pieces.iter().filter_map(Weighed::loss).min();
    let figure = wettest.map(said).unwrap_or_default();
    Found::met(format!("wettest of {} pieces at {figure} of green weight", pieces.len()), by)
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::macros::datetime;
    use uuid::Uuid;

    use super::super::forecast::WeighIn;
    use super::*;
    use crate::book::Seq;
    use crate::measure::Grams;

    fn piece(n: i64, grams: &[i64]) -> Weighed {
        Weighed {
            lot: LotId(Uuid::from_u128(1)),
            batch: BatchId(Uuid::from_u128(2)),
            code: format!("26301-01.{n:02}").parse().expect("a code"),
            green: Grams::whole(100_000),
            green_at: datetime!(2026-10-28 09:00 UTC),
            target: Some(Percent::new(dec!(35))),
            place: None,
            on_hand: true,
            weighed: (1..)
                .zip(grams)
                .map(|(week, grams)| WeighIn {
                    seq: Seq(n * 10 + week),
                    grams: Grams::whole(*grams),
                    before: Grams::whole(*grams),
                    at: datetime!(2026-10-28 09:00 UTC) + time::Duration::weeks(week),
                })
                .collect(),
        }
    }

    #[test]
    fn exactly_at_the_target_is_met_and_a_hundredth_of_a_per_cent_short_is_not() {
        assert_eq!(
            of_piece(&piece(3, &[80_000, 65_000]), None),
            Found::met("35 % of green weight, target 35 %", vec![Seq(32)])
        );
        assert!(!of_piece(&piece(3, &[80_000, 65_010]), None).is_met());
        assert!(!of_piece(&piece(3, &[]), None).is_met());
    }

    #[test]
    fn what_counts_is_the_last_weigh_in_not_the_driest() {
        assert!(!of_piece(&piece(3, &[65_000, 65_010]), None).is_met());
    }

    #[test]
    fn another_target_may_be_asked_for() {
        assert!(of_piece(&piece(3, &[70_000]), Some(Percent::new(dec!(30)))).is_met());
    }

    #[test]
    fn a_batch_is_as_far_as_its_wettest_piece() {
        let both = [piece(1, &[60_000]), piece(2, &[66_000])];
        let Found::NotYet { missing } = of_pieces(&both, None) else { panic!("not met") };
        assert!(missing.starts_with("26301-01.02 has lost 34 %"), "{missing}");
        let Found::Met { by, figure } = of_pieces(&[piece(1, &[60_000]), piece(2, &[64_000])], None) else {
            panic!("met")
        };
        assert_eq!(by, [Seq(11), Seq(21)]);
        assert!(figure.contains("at 36 %"), "{figure}");
        assert!(!of_pieces(&[], None).is_met());
    }
}
