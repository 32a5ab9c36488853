//! Dew points beside psychrolib, curves of drying beside scipy's `curve_fit`.
#![allow(clippy::float_arithmetic, reason = "a curve is fitted and held against another")]

use flitchbook::drying::fit::{Point, levels, power};
use flitchbook::hanging::dew_point;
use rust_decimal::prelude::ToPrimitive as _;
use rust_decimal::{Decimal, dec};
use serde_json::json;

use super::{Figures, agree, ask, number};

#[test]
fn dew_points_are_those_of_the_ashrae_handbook_to_a_tenth_or_two() {
    let (mut cases, mut ours) = (Vec::new(), Vec::new());
    for celsius in (2..=36).step_by(2).map(Decimal::from) {
        for humidity in [40, 55, 65, 72, 78, 85, 92, 98].map(Decimal::from) {
            let Some(dew) = dew_point::of_air(celsius, humidity) else {
                panic!("{celsius} °C, {humidity} %")
            };
            // Below freezing the handbook's is a frost point, over ice; ours stays over water.
            if dew > dec!(0.5) {
                cases.push(json!({"celsius": celsius, "humidity": humidity}));
                ours.push(dew);
            }
        }
    }
    // Two formulas of saturation, and ours to a tenth.
    agree(&cases, &ours, &ask("dew_point", &cases), dec!(0.11));
}

#[test]
fn a_drying_curve_lies_where_a_general_fit_lays_it() {
    let mut figures = Figures(5);
    let (mut cases, mut ours) = (Vec::new(), Vec::new());
    for round in 0..30 {
        // A piece that dries to 30 to 55 %, weighed every few days, each weighing off by up to half a per cent.
        let most = figures.decimal(300, 550, 3);
        let rate = figures.decimal(15, 90, 3);
        let shape = |day: u32| {
            let over = (rate * Decimal::from(day)).to_f64().unwrap();
            most.to_f64().unwrap() * (1.0 - (-over).exp())
        };
        let points: Vec<Point> = (1..=9)
            .map(|n| {
                let day = n * figures.next(2, 6);
                let off = (f64::from(figures.next(0, 100)) - 50.0) / 10_000.0;
                Point { days: f64::from(day), loss: shape(day) + off }
            })
            .collect();
        let (family, curve) =
            if round % 2 == 0 { ("levels", levels(&points)) } else { ("power", power(&points)) };
        let curve = curve.unwrap();
        let days: Vec<f64> = points.iter().map(|point| point.days).collect();
        let losses: Vec<f64> = points.iter().map(|point| point.loss).collect();
        ours.push(days.iter().map(|day| curve.at(*day)).collect::<Vec<f64>>());
        cases.push(json!({"family": family, "days": days, "losses": losses}));
    }
    for ((case, ours), theirs) in cases.iter().zip(ours).zip(ask("curves", &cases)) {
        for (ours, theirs) in ours.iter().zip(theirs.as_array().unwrap()) {
            let theirs = number(theirs).to_f64().unwrap();
            // A thousandth of the green weight.
            assert!((ours - theirs).abs() < 0.001, "{case}: here {ours}, there {theirs}");
        }
    }
}
