//! `/fermenting/plan`: a programme of temperatures and hours held against the rule sets, before anything is stuffed.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use rust_decimal::Decimal;
use serde::Deserialize;

use super::super::db;
use super::super::entry::{Adopted, figure};
use super::DECIDES;
use crate::error::{Errors, Result};
use crate::measure::Celsius;
use crate::standards::degree_hours::{Rules, Step, Warmth, hours_left, schedule};
use crate::web::parts::{Figure, State};
use crate::web::{App, Area, Frame, Me, Query, Reader, page};

/// The longest that a step may be planned for, in hours.
const LONGEST: Decimal = Decimal::from_parts(2_000, 0, 0, false, 0);

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct Asked {
    t1: String,
    h1: String,
    t2: String,
    h2: String,
    t3: String,
    h3: String,
    t4: String,
    h4: String,
}

struct StepField {
    degrees_name: &'static str,
    degrees_label: &'static str,
    degrees: String,
    hours_name: &'static str,
    hours_label: &'static str,
    hours: String,
    optional: bool,
}

impl Asked {
    fn fields(&self) -> [StepField; 4] {
        let step = |names: [&'static str; 4], degrees: &String, hours: &String, optional| StepField {
            degrees_name: names[0],
            degrees_label: names[1],
            degrees: degrees.clone(),
            hours_name: names[2],
            hours_label: names[3],
            hours: hours.clone(),
            optional,
        };
        [
            step(["t1", "First temperature", "h1", "First hours"], &self.t1, &self.h1, false),
            step(["t2", "Second temperature", "h2", "Second hours"], &self.t2, &self.h2, true),
            step(["t3", "Third temperature", "h3", "Third hours"], &self.t3, &self.h3, true),
            step(["t4", "Fourth temperature", "h4", "Fourth hours"], &self.t4, &self.h4, true),
        ]
    }
}

/// A step that was typed; no hours: as long as it may last.
#[derive(Debug, Clone, Copy)]
struct Planned {
    degrees: Celsius,
    hours: Option<Decimal>,
}

struct Reckoned {
    id: &'static str,
    name: &'static str,
    state: State,
    figures: Vec<Figure>,
    how: String,
}

#[derive(Template)]
#[template(path = "fermenting/plan.html")]
struct PlanPage {
    frame: Frame,
    steps: [StepField; 4],
    errors: Errors,
    unit: String,
    results: Vec<Reckoned>,
    decides: &'static str,
}

/// GET `/fermenting/plan`
pub async fn page(With(app): With<App>, me: Me, Query(asked): Query<Asked>) -> Result<Response> {
    let steps = asked.fields();
    let typed = steps.iter().any(|step| !step.degrees.trim().is_empty() || !step.hours.trim().is_empty());
    let (planned, errors) = if typed { read(&me, &steps) } else { (Vec::new(), Errors::default()) };
    let adopted = db::adopted(&mut *app.db().await?).await?.map(|written| written.adopted);
    let by = adopted.map_or_else(|| Rules::ALL.map(Adopted::as_published).to_vec(), |by| vec![by]);
    let results = if planned.is_empty() {
        Vec::new()
    } else {
        by.iter().filter_map(|by| reckon(by, &planned)).collect()
    };
    let status = if errors.is_empty() { StatusCode::OK } else { StatusCode::UNPROCESSABLE_ENTITY };
    let page = PlanPage {
        frame: Frame::new(&app, &me, Area::Batches),
        steps,
        errors,
        unit: me.shop.temperature_unit().symbol().to_owned(),
        results,
        decides: DECIDES,
    };
    page::show(status, &page)
}

fn read(me: &Me, steps: &[StepField]) -> (Vec<Planned>, Errors) {
    let mut read = Reader::new(&me.shop);
    let mut planned: Vec<Planned> = Vec::new();
    for step in steps {
        if step.degrees.trim().is_empty() {
            if !step.hours.trim().is_empty() {
                read.refuse(step.degrees_name, "Give the temperature of these hours.");
            }
            continue;
        }
        if planned.last().is_some_and(|last| last.hours.is_none()) {
            read.refuse(step.degrees_name, "Only the last step can be left without hours.");
        }
        let degrees = read.temperature(step.degrees_name, &step.degrees);
        let hours = if step.hours.trim().is_empty() {
            Some(None)
        } else {
            read.decimal(step.hours_name, &step.hours, Decimal::ZERO, LONGEST).map(Some)
        };
        if let (Some(degrees), Some(hours)) = (degrees, hours) {
            planned.push(Planned { degrees, hours });
        }
    }
    match read.finish(|| Some(planned)) {
        Ok(planned) => (planned, Errors::default()),
        Err(errors) => (Vec::new(), errors),
    }
}

fn reckon(by: &Adopted, planned: &[Planned]) -> Option<Reckoned> {
    let set = by.rules.set();
    let scale = |planned: &Planned| set.scale.of(planned.degrees.decimal().normalize());
    let known: Vec<Step> =
        planned.iter().filter_map(|one| Some(Step { degrees: scale(one), hours: one.hours? })).collect();
    let open = planned.last().filter(|last| last.hours.is_none()).map(scale);
    let nothing = || Warmth {
        degree_hours: Decimal::ZERO,
        hours_above: Decimal::ZERO,
        highest: open.unwrap_or(set.base),
    };
    let so_far = schedule(set, &known).unwrap_or_else(|_| nothing());
    let highest = open.map_or(so_far.highest, |open| so_far.highest.max(open));
    let verdict = set.judge(by.method, by.edge, &Warmth { highest, ..so_far.clone() })?;
    let unit = set.scale.symbol();
    let mut figures = vec![
        Figure::new("Degree-hours", figure(so_far.degree_hours), set.scale.degree_hours())
            .beneath(format!("of the steps with hours, above {}\u{a0}{unit}", figure(set.base))),
        Figure::new("Limit", figure(verdict.limit), by.unit()).beneath(verdict.band.clone()),
    ];
    if let Some(open) = open {
        let at = format!("at {}\u{a0}{unit}", figure(open));
        figures.push(match hours_left(set, by.method, &so_far, open) {
            Some(left) => Figure::new("May last", figure(left.round_dp(1)), "h").beneath(at).chief(),
            None => Figure::new("May last", "–", "").beneath(format!("{at} nothing is counted")).chief(),
        });
    } else {
        let left = verdict.limit - verdict.figure;
        let (name, value) = if verdict.over { ("Over by", -left) } else { ("Left", left) };
        figures.push(Figure::new(name, figure(value), by.unit()).chief());
    }
    let steps: Vec<String> = known
        .iter()
        .map(|step| {
            let above = (step.degrees - set.base).max(Decimal::ZERO);
            format!("{} × {} h", figure(above), figure(step.hours))
        })
        .chain(open.map(|open| format!("({} − {}) × the hours left open", figure(open), figure(set.base))))
        .collect();
    Some(Reckoned {
        id: if by.rules == Rules::Canada { "canada" } else { "united-states" },
        name: set.name,
        state: if verdict.over {
            State::new("out", "over the limit")
        } else {
            State::new("met", "within the limit")
        },
        figures,
        how: format!(
            "{}; the limit is that of the highest temperature, {}\u{a0}{unit}. {}",
            steps.join(" + "),
            figure(highest),
            set.source
        ),
    })
}
