//! How a run adds up by one rule set: its figures, and the table that shows each part of the sum.

use rust_decimal::Decimal;
use time::OffsetDateTime;

use super::super::entry::{Adopted, Outcome, against, figure};
use super::super::run::{Reckoned, Run};
use super::{state, temperature};
use crate::standards::degree_hours::{Method, Segment, warmth};
use crate::web::parts::{Figure, State};
use crate::web::{Me, ledger};

/// More parts than this are drawn together, so many at a time.
const MOST_ROWS: usize = 48;

/// A part of the sum.
pub struct Row {
    pub from: String,
    pub to: String,
    /// In the rule set's scale: "24" or "24 to 26".
    pub chamber: String,
    pub adds: String,
    pub sum: String,
    pub gap: bool,
}

/// One rule set's figures of a run.
pub struct Sums {
    pub id: &'static str,
    pub name: &'static str,
    pub state: State,
    pub figures: Vec<Figure>,
    pub rows: Vec<Row>,
    pub scale: &'static str,
    pub unit: &'static str,
    /// Times of which nothing is known.
    pub unread: Vec<String>,
    pub formula: String,
    pub source: &'static str,
    pub mark: &'static str,
    pub printed: &'static str,
}

pub fn sums(me: &Me, run: &Run, by: &Adopted, reckoned: &Reckoned) -> Sums {
    let set = by.rules.set();
    Sums {
        id: if by.rules.word() == "canada" { "canada" } else { "united-states" },
        name: set.name,
        state: state(reckoned.outcome),
        figures: figures(me, run, by, reckoned),
        rows: rows(me, by, &reckoned.segments),
        scale: set.scale.symbol(),
        unit: set.scale.degree_hours(),
        unread: reckoned
            .unread
            .iter()
            .map(|time| format!("{} to {}", ledger::moment(me, time.from), ledger::moment(me, time.to)))
            .collect(),
        formula: formula(by),
        source: set.source,
        mark: set.mark,
        printed: if by.method == Method::Printed { set.printed_source } else { "" },
    }
}

fn figures(me: &Me, run: &Run, by: &Adopted, reckoned: &Reckoned) -> Vec<Figure> {
    let set = by.rules.set();
    let base = format!("{}\u{a0}{}", figure(set.base), set.scale.symbol());
    let Some(warmth) = &reckoned.warmth else {
        return vec![
            Figure::new("Degree-hours", "–", "").beneath("no temperature is recorded where it stood").chief(),
        ];
    };
    let until = match run.end() {
        Some(end) => format!("to {}", ledger::moment(me, end.at)),
        None => format!("up to {}", ledger::moment(me, run.until)),
    };
    let limit =
        reckoned.verdict.as_ref().map(|verdict| verdict.limit).filter(|_| by.method == Method::Formula);
    let degree_hours =
        limit.map_or_else(|| figure(warmth.degree_hours), |limit| against(warmth.degree_hours, limit));
    let mut all = vec![
        Figure::new("Degree-hours", degree_hours, set.scale.degree_hours())
            .beneath(format!("above {base}, {until}"))
            .chief(),
    ];
    if let Some(verdict) = &reckoned.verdict {
        if by.method == Method::Printed {
            all.push(
                Figure::new("Hours above", against(verdict.figure, verdict.limit), "h")
                    .beneath(format!("above {base}, held against the printed table")),
            );
        }
        let left = verdict.limit - verdict.figure;
        all.push(Figure::new("Limit", figure(verdict.limit), "").beneath(format!(
            "{}, {}, {}",
            by.unit(),
            verdict.band,
            by.edge.word()
        )));
        let (name, value) = if verdict.over { ("Over by", -left) } else { ("Left", left) };
        all.push(Figure::new(name, against(value, Decimal::ZERO), "").beneath(match reckoned.outcome {
            Outcome::Met => format!("{}, when pH 5.3 was reached", by.unit()),
            _ => format!("{} of the limit", by.unit()),
        }));
    }
    if run.end().is_none() {
        all.extend(hours_left(me, by, reckoned));
    }
    let highest = temperature(me, set.scale, warmth.highest);
    let (value, unit) = highest.split_once('\u{a0}').unwrap_or((highest.as_str(), ""));
    let own = format!("{}\u{a0}{}", figure(warmth.highest), set.scale.symbol());
    let beneath =
        if own == highest { "decides the limit".to_owned() } else { format!("{own}, decides the limit") };
    all.push(Figure::new("Highest", value, unit).beneath(beneath));
    all
}

fn hours_left(me: &Me, by: &Adopted, reckoned: &Reckoned) -> Option<Figure> {
    let present = temperature(me, by.rules.set().scale, reckoned.present?);
    Some(match reckoned.hours_left(by) {
        Some(left) => Figure::new("Time left", figure(left.round_dp(1)), "h")
            .beneath(format!("if the chamber stays at {present}")),
        None => Figure::new("Time left", "–", "").beneath(format!("at {present} nothing is counted")),
    })
}

fn formula(by: &Adopted) -> String {
    let set = by.rules.set();
    let bands: Vec<String> = set
        .bands
        .iter()
        .map(|band| format!("{} for a highest chamber temperature {}", figure(band.limit), band.words))
        .collect();
    let base = format!("{}\u{a0}{}", figure(set.base), set.scale.symbol());
    let method = match by.method {
        Method::Formula => String::new(),
        Method::Printed => format!(
            " Held against the printed table instead: the hours above {base} against the whole hours listed for the next \
             higher temperature."
        ),
    };
    let edge = match by.edge {
        crate::standards::degree_hours::Edge::AtMost => "is within it",
        crate::standards::degree_hours::Edge::LessThan => "is over it",
    };
    format!(
        "Degree-hours = sum over the time from stuffing to pH 5.3 of (chamber {} − {base}) × hours; what is at or below \
         {base} adds nothing. Limits: {}. Exactly at the limit {edge}.{method}",
        set.scale.symbol(),
        bands.join("; ")
    )
}

/// The parts of the sum, in order; of many, some together.
fn rows(me: &Me, by: &Adopted, segments: &[Segment]) -> Vec<Row> {
    let set = by.rules.set();
    let together = segments.len().div_ceil(MOST_ROWS).max(1);
    let mut sum = Decimal::ZERO;
    segments
        .chunks(together)
        .filter_map(|some| {
            let (from, to): (OffsetDateTime, OffsetDateTime) = (some.first()?.from, some.last()?.to);
            let adds = warmth(some, set.base)?;
            let low = some.iter().flat_map(|part| [part.first, part.last]).min()?;
            sum += adds.degree_hours;
            let (low, high) = (figure(low), figure(adds.highest));
            Some(Row {
                from: ledger::moment(me, from),
                to: ledger::moment(me, to),
                chamber: if low == high { low } else { format!("{low} to {high}") },
                adds: figure(adds.degree_hours),
                sum: figure(sum),
                gap: some.iter().any(|part| part.gap),
            })
        })
        .collect()
}
