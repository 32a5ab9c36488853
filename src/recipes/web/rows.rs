//! The lines and steps of a recipe as repeated fields of a form. Without a script rows are added by sending the form.

use super::write::RecipeForm;
use crate::ids::ItemId;
use crate::measure::{Percent, parse_percent};
use crate::recipes::entry::{Quickens, RecipeLine, RecipeStep};
use crate::recipes::{Per, Role, Stage};
use crate::setup::Item;
use crate::standards::limits::Accelerator;
use crate::web::Reader;

/// Empty rows under the last one.
const SPARE: usize = 3;
/// Rows that "Add rows" adds.
const MORE: usize = 5;

/// One line as its row shows it.
#[derive(Debug, Default, Clone)]
pub struct LineRow {
    pub n: usize,
    pub role: String,
    pub item: String,
    pub percent: String,
    pub per: String,
    pub tolerance: String,
    pub salt: String,
    pub sugar: String,
    pub accelerator: String,
    pub accelerator_share: String,
}

/// One step as its row shows it.
#[derive(Debug, Default, Clone)]
pub struct StepRow {
    pub n: usize,
    pub stage: String,
    pub lasts: String,
    pub lasts_in: String,
    pub note: String,
}

impl LineRow {
    /// The id of one of its controls.
    pub fn id(&self, field: &str) -> String {
        if self.n == 1 { format!("f-{field}") } else { format!("f-{field}-{}", self.n) }
    }

    fn is_blank(&self) -> bool {
        [&self.role, &self.item, &self.percent].iter().all(|field| field.trim().is_empty())
    }
}

impl StepRow {
    /// The id of one of its controls.
    pub fn id(&self, field: &str) -> String {
        if self.n == 1 { format!("f-{field}") } else { format!("f-{field}-{}", self.n) }
    }

    fn is_blank(&self) -> bool {
        self.stage.trim().is_empty() && self.lasts.trim().is_empty()
    }
}

fn at(list: &[String], n: usize) -> String {
    list.get(n).cloned().unwrap_or_default()
}

impl RecipeForm {
    /// The same form with the rows of a version that is there.
    #[must_use]
    pub fn with_rows(self, lines: &[RecipeLine], steps: &[RecipeStep]) -> Self {
        let optional = |percent: Option<Percent>| percent.map(|one| one.to_string()).unwrap_or_default();
        let days = |step: &RecipeStep| step.hours.is_multiple_of(24);
        let lasts = |step: &RecipeStep| if days(step) { step.hours / 24 } else { step.hours };
        Self {
            role: lines.iter().map(|line| line.role.word().to_owned()).collect(),
            item: lines.iter().map(|line| line.item.id.to_string()).collect(),
            percent: lines.iter().map(|line| line.percent.to_string()).collect(),
            per: lines.iter().map(|line| line.per.word().to_owned()).collect(),
            tolerance: lines.iter().map(|line| line.tolerance.to_string()).collect(),
            salt: lines.iter().map(|line| optional(line.salt)).collect(),
            sugar: lines.iter().map(|line| optional(line.sugar)).collect(),
            accelerator: lines.iter().map(|line| quickens(line).0).collect(),
            accelerator_share: lines.iter().map(|line| quickens(line).1).collect(),
            stage: steps.iter().map(|step| step.stage.word().to_owned()).collect(),
            lasts: steps.iter().map(|step| lasts(step).to_string()).collect(),
            lasts_in: steps.iter().map(|step| if days(step) { "days" } else { "hours" }.to_owned()).collect(),
            step_note: steps.iter().map(|step| step.note.clone()).collect(),
            ..self
        }
    }

    fn every_line(&self) -> Vec<LineRow> {
        let count = [self.role.len(), self.item.len(), self.percent.len()].into_iter().max().unwrap_or(0);
        let row = |n: usize| LineRow {
            n: n + 1,
            role: at(&self.role, n),
            item: at(&self.item, n),
            percent: at(&self.percent, n),
            per: at(&self.per, n),
            tolerance: at(&self.tolerance, n),
            salt: at(&self.salt, n),
            sugar: at(&self.sugar, n),
            accelerator: at(&self.accelerator, n),
            accelerator_share: at(&self.accelerator_share, n),
        };
        (0..count).map(row).collect()
    }

    fn every_step(&self) -> Vec<StepRow> {
        let row = |n: usize| StepRow {
            n: n + 1,
            stage: at(&self.stage, n),
            lasts: at(&self.lasts, n),
            lasts_in: at(&self.lasts_in, n),
            note: at(&self.step_note, n),
        };
        (0..self.stage.len().max(self.lasts.len())).map(row).collect()
    }

    /// What the form shows: what was typed, and empty rows beneath it.
    pub fn line_rows(&self, more: bool) -> Vec<LineRow> {
        let mut rows = self.every_line();
        let used = rows.iter().rposition(|row| !row.is_blank()).map_or(0, |last| last + 1);
        let count = if more { rows.len() + MORE } else { rows.len().max(used + SPARE) };
        while rows.len() < count {
            rows.push(LineRow { n: rows.len() + 1, per: Per::Meat.word().to_owned(), ..LineRow::default() });
        }
        rows
    }

    pub fn step_rows(&self, more: bool) -> Vec<StepRow> {
        let mut rows = self.every_step();
        let used = rows.iter().rposition(|row| !row.is_blank()).map_or(0, |last| last + 1);
        let count = if more { rows.len() + 2 } else { rows.len().max(used + 2) };
        while rows.len() < count {
            rows.push(StepRow { n: rows.len() + 1, lasts_in: "days".into(), ..StepRow::default() });
        }
        rows
    }

    /// The lines that are not blank.
    pub fn lines(&self, read: &mut Reader<'_>, items: &[Item]) -> Option<Vec<RecipeLine>> {
        let rows = self.every_line();
        let lines: Vec<_> =
            rows.iter().filter(|row| !row.is_blank()).map(|row| line(read, row, items)).collect();
        if lines.is_empty() {
            read.refuse("lines", "Write at least one line.");
        }
        lines.into_iter().collect()
    }

    /// The steps that are not blank.
    pub fn steps(&self, read: &mut Reader<'_>) -> Option<Vec<RecipeStep>> {
        let rows = self.every_step();
        let steps: Vec<_> = rows.iter().filter(|row| !row.is_blank()).map(|row| step(read, row)).collect();
        steps.into_iter().collect()
    }
}

fn line(read: &mut Reader<'_>, row: &LineRow, items: &[Item]) -> Option<RecipeLine> {
    let n = row.n;
    let item = row.item.parse().ok().and_then(|id: ItemId| items.iter().find(|item| item.id == id));
    if item.is_none() {
        read.refuse("lines", format!("Line {n}: choose what goes in."));
    }
    let role = row.role.parse::<Role>().ok();
    if role.is_none() {
        read.refuse("lines", format!("Line {n}: choose what it is for."));
    }
    let percent = match (role, row.percent.trim()) {
        (Some(Role::Casing), "") => Some(Percent::ZERO),
        _ => part(read, n, "per cent", &row.percent),
    };
    let tolerance = match (role, row.tolerance.trim()) {
        (Some(role), "") => Some(Percent::new(rust_decimal::Decimal::new(role.usual_tolerance(), 2))),
        _ => part(read, n, "tolerance", &row.tolerance),
    };
    let salt = optional(read, n, "salt in it", &row.salt);
    let sugar = optional(read, n, "sugar in it", &row.sugar);
    let accelerator = accelerator(read, row);
    let per = row.per.parse::<Per>().ok();
    if per.is_none() {
        read.refuse("lines", format!("Line {n}: say what it is a per cent of."));
    }
    Some(RecipeLine {
        role: role?,
        item: item?.named(),
        percent: percent?,
        per: per?,
        tolerance: tolerance?,
        salt: salt?,
        sugar: sugar?,
        accelerator: accelerator?,
    })
}

/// Which ascorbate or erythorbate is in it; all of the line where it is not said how much.
#[allow(clippy::option_option, reason = "as the reader has it: not read, or left open, or a value")]
fn accelerator(read: &mut Reader<'_>, row: &LineRow) -> Option<Option<Quickens>> {
    let share = optional(read, row.n, "ascorbate or erythorbate in it", &row.accelerator_share)?;
    if row.accelerator.trim().is_empty() {
        if share.is_some() {
            read.refuse("lines", format!("Line {}: say which it is, ascorbate or erythorbate.", row.n));
            return None;
        }
        return Some(None);
    }
    let Ok(what) = row.accelerator.parse::<Accelerator>() else {
        read.refuse("lines", format!("Line {}: choose the ascorbate or erythorbate.", row.n));
        return None;
    };
    Some(Some(Quickens { what, share: share.unwrap_or(Percent::HUNDRED) }))
}

/// As the form shows it: which, and how much.
fn quickens(line: &RecipeLine) -> (String, String) {
    line.accelerator.map(|one| (one.what.word().to_owned(), one.share.to_string())).unwrap_or_default()
}

fn part(read: &mut Reader<'_>, n: usize, what: &str, text: &str) -> Option<Percent> {
    match parse_percent(text) {
        Ok(percent) => Some(percent),
        Err(why) => {
            read.refuse("lines", format!("Line {n}, {what}: {why}"));
            None
        }
    }
}

/// Per cent of the line's own weight, so never more than all of it.
#[allow(clippy::option_option, reason = "as the reader has it: not read, or left open, or a value")]
fn optional(read: &mut Reader<'_>, n: usize, what: &str, text: &str) -> Option<Option<Percent>> {
    if text.trim().is_empty() {
        return Some(None);
    }
    let percent = part(read, n, what, text)?;
    if percent > Percent::HUNDRED {
        read.refuse("lines", format!("Line {n}, {what}: no more than 100 %."));
        return None;
    }
    Some(Some(percent))
}

/// The longest step, ten years in hours.
const LONGEST: u32 = 87_600;

fn step(read: &mut Reader<'_>, row: &StepRow) -> Option<RecipeStep> {
    let n = row.n;
    let stage = row.stage.parse::<Stage>().ok();
    if stage.is_none() {
        read.refuse("steps", format!("Step {n}: choose the stage."));
    }
    let by = match row.lasts_in.as_str() {
        "hours" => 1,
        "days" | "" => 24,
        _ => {
            read.refuse("steps", format!("Step {n}: say whether it lasts hours or days."));
            return None;
        }
    };
    let hours = row.lasts.trim().parse::<u32>().ok().and_then(|count| count.checked_mul(by));
    let hours = hours.filter(|hours| (1..=LONGEST).contains(hours));
    if hours.is_none() {
        read.refuse("steps", format!("Step {n}: give a whole number of hours or days, up to ten years."));
    }
    let note = read.line_or_empty("steps", &row.note);
    Some(RecipeStep { stage: stage?, hours: hours?, note: note? })
}
