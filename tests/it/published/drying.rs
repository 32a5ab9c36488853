//! Losses of green weight that drying trials published, and dew points.

use flitchbook::drying::fit::{Point, choose};
use flitchbook::hanging::dew_point::{of_air, saturation};
use rust_decimal::Decimal;

use super::{Published, figure};

const TRIAL: &str = "Matassino et al. 2012, CIHEAM Options Méditerranéennes A 101";
const DEW: &str = "dew point calculator of the University of Miami (B. McNoldy)";
const MAGNUS: &str = "WMO-No. 8, annex 4.B";

/// A mean month, in days.
const MONTH: f64 = 30.4375;

/// The months of a trial with the least and the most that was lost by then, in per cent.
type Trial = [(f64, f64, f64); 3];

const NECK: Trial = [(1.0, 20.0, 25.0), (3.0, 33.0, 39.0), (6.0, 42.0, 45.0)];
const HAM: Trial = [(1.0, 7.0, 9.0), (3.0, 14.0, 18.0), (24.0, 27.0, 33.0)];

pub fn figures() -> Vec<Published> {
    let mut all = trial("neck muscle", &NECK);
    all.extend(trial("whole ham", &HAM));
    for (celsius, humidity, dew) in [
        (0, 50, "-9.2"),
        (0, 75, "-3.9"),
        (20, 25, "-0.6"),
        (20, 50, "9.3"),
        (20, 75, "15.4"),
        (40, 50, "27.6"),
        (40, 75, "34.7"),
    ] {
        let reckoned = of_air(Decimal::from(celsius), Decimal::from(humidity)).unwrap();
        all.push(figure(DEW, format!("{celsius} °C at {humidity} %RH"), dew, reckoned));
    }
    let at_zero = format!("{:.3}", saturation(0.0));
    all.push(figure(MAGNUS, "saturation pressure at 0 °C, hPa", "6.112", at_zero));
    all
}

/// The curve that the program chooses through the middles of what was lost stays between the least and the most.
#[allow(clippy::float_arithmetic, reason = "a curve is fitted")]
fn trial(what: &str, trial: &Trial) -> Vec<Published> {
    let points: Vec<Point> = trial
        .iter()
        .map(|(months, least, most)| Point {
            days: months * MONTH,
            loss: f64::midpoint(*least, *most) / 100.0,
        })
        .collect();
    let curve = choose(&points, None).unwrap().curve;
    let held = trial.iter().zip(&points).map(|((months, least, most), point)| {
        let loss = curve.at(point.days) * 100.0;
        let says = format!("{least} to {most} %");
        let reckoned = if (*least..=*most).contains(&loss) { says.clone() } else { format!("{loss:.2} %") };
        figure(TRIAL, format!("{what}, loss of green weight at {months} months"), says, reckoned)
    });
    held.collect()
}
