//! Degree-hours of a chamber's readings beside a quadrature of the same curve.

use flitchbook::standards::degree_hours::{CANADA, Knot, Stay, UNITED_STATES, along, warmth};
use rust_decimal::{Decimal, dec};
use serde_json::json;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};

use super::{Figures, agree, ask};

const STUFFED: OffsetDateTime = datetime!(2026-11-24 09:00 UTC);

#[test]
fn degree_hours_are_the_area_over_the_critical_temperature() {
    let mut figures = Figures(4);
    let (mut cases, mut ours) = (Vec::new(), Vec::new());
    for round in 0..60 {
        let rules = if round % 2 == 0 { &UNITED_STATES } else { &CANADA };
        // Readings on either side of the critical temperature, 10 minutes to 5 hours apart.
        let middle = u32::try_from((rules.base * dec!(10)).trunc()).unwrap();
        let mut minutes = 0;
        let mut knots = vec![(0, figures.decimal(middle - 60, middle + 300, 1))];
        for _ in 0..figures.next(1, 30) {
            minutes += i64::from(figures.next(10, 300));
            knots.push((minutes, figures.decimal(middle - 60, middle + 300, 1)));
        }
        let told: Vec<_> =
            knots.iter().map(|(minutes, degrees)| (Decimal::from(*minutes) / dec!(60), *degrees)).collect();
        cases.push(json!({"base": rules.base, "knots": told}));
        let knots = knots
            .into_iter()
            .map(|(minutes, degrees)| Knot { at: STUFFED + Duration::minutes(minutes), degrees })
            .collect();
        let stay = Stay { from: STUFFED, to: STUFFED + Duration::minutes(minutes), knots };
        let (segments, unread) = along(&[stay], Duration::hours(6));
        assert!(unread.is_empty());
        ours.push(warmth(&segments, rules.base).unwrap().degree_hours);
    }
    agree(&cases, &ours, &ask("degree_hours", &cases), dec!(0.000001));
}
