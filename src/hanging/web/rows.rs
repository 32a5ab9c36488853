//! A hanging piece as a row of a table, and how a day on the scale is said.

use rust_decimal::Decimal;
use time::Date;

use super::super::hung::Hung;
use crate::measure::{Percent, day_text, day_year};
use crate::web::Me;
use crate::web::ledger;
use crate::web::parts::State;

/// Where on a bar the target stands, so that a piece beyond it can be seen to be beyond: at eighty of a hundred.
const TARGET_AT: Decimal = Decimal::from_parts(80, 0, 0, false, 0);

/// One piece, ready to print.
pub struct Row {
    pub id: String,
    pub href: String,
    pub code: String,
    pub name: String,
    pub place: String,
    pub stage: String,
    pub days: String,
    pub weight: String,
    pub loss: String,
    /// Per cent of the bar.
    pub bar: String,
    /// Where the target stands on the bar; empty where there is none.
    pub target: String,
    pub reached: bool,
    pub said: String,
    pub last: String,
    pub state: State,
    pub weigh: String,
}

pub fn row(me: &Me, piece: &Hung) -> Row {
    let loss = piece.loss();
    let target = loss.target.map(|target| format!(", target {}", target.text())).unwrap_or_default();
    Row {
        id: piece.lot.to_string(),
        href: piece.lot.path(),
        code: piece.code.to_string(),
        name: piece.item_name.clone(),
        place: piece.where_it_is(),
        stage: piece.stage.clone(),
        days: piece.days(me.today(), |at| me.shop.date(at)).to_string(),
        weight: me.shop.weight(piece.grams),
        loss: loss.percent.text(),
        bar: bar(loss.percent, loss.target),
        target: loss.target.map_or_else(String::new, |_| TARGET_AT.to_string()),
        reached: loss.reached(),
        said: format!("Loss {}{target}", loss.percent.text()),
        last: piece.last_at.map_or_else(|| "not yet".to_owned(), |at| ledger::day(me, at)),
        state: state(me, piece),
        weigh: super::weigh::path(&piece.code.to_string(), ""),
    }
}

/// How much of a bar a loss fills, 0 to 100.
fn bar(loss: Percent, target: Option<Percent>) -> String {
    let full = match target.map(Percent::decimal) {
        Some(target) if target > Decimal::ZERO => loss.decimal() / target * TARGET_AT,
        _ => loss.decimal(),
    };
    full.clamp(Decimal::ZERO, Decimal::ONE_HUNDRED).round_dp(2).normalize().to_string()
}

/// What there is to say of a piece in a word: on hold, due, reached, drying.
pub fn state(me: &Me, piece: &Hung) -> State {
    if piece.held.is_some() {
        return State::new("held", "on hold");
    }
    let due = piece.due_on(|at| me.shop.date(at));
    if let Some(due) = due.filter(|due| *due <= me.today()) {
        return due_state(me.today(), due);
    }
    if piece.released {
        return State::new("met", "released");
    }
    if piece.loss().reached() {
        return State::new("met", "at its target");
    }
    match due {
        Some(due) => State::new("wait", format!("next {}", day(me, due))),
        None => State::new("wait", piece.stage.clone()),
    }
}

/// Due today, or late by so many days.
pub fn due_state(today: Date, due: Date) -> State {
    match (today - due).whole_days() {
        ..=0 => State::new("due", "due today"),
        1 => State::new("late", "1 day late"),
        days => State::new("late", format!("{days} days late")),
    }
}

fn day(me: &Me, date: Date) -> String {
    if date.year() == me.today().year() { day_text(date) } else { day_year(date) }
}

/// How many of these pieces are due on the scale.
pub fn due(me: &Me, pieces: &[&Hung]) -> usize {
    let today = me.today();
    pieces.iter().filter(|piece| piece.due_on(|at| me.shop.date(at)).is_some_and(|due| due <= today)).count()
}

/// "1 piece", "11 pieces".
pub fn count(pieces: usize) -> String {
    if pieces == 1 { "1 piece".to_owned() } else { format!("{pieces} pieces") }
}

#[cfg(test)]
mod tests {
    use rust_decimal::dec;
    use time::macros::date;

    use super::*;

    #[test]
    fn the_bar_of_a_piece_at_its_target_ends_at_the_target() {
        let percent = |figure| Percent::new(figure);
        assert_eq!(bar(percent(dec!(35)), Some(percent(dec!(35)))), "80");
        assert_eq!(bar(percent(dec!(29.2)), Some(percent(dec!(35)))), "66.74");
        assert_eq!(bar(percent(dec!(70)), Some(percent(dec!(35)))), "100");
        assert_eq!(bar(percent(dec!(-2)), Some(percent(dec!(35)))), "0");
        assert_eq!(bar(percent(dec!(12)), None), "12");
        assert_eq!(bar(percent(dec!(12)), Some(Percent::ZERO)), "12");
    }

    #[test]
    fn a_weigh_in_is_due_on_its_day_and_late_from_the_next_one_on() {
        let today = date!(2026 - 11 - 25);
        assert_eq!(due_state(today, today).word, "due today");
        assert_eq!(due_state(today, date!(2026 - 11 - 24)).word, "1 day late");
        assert_eq!(due_state(today, date!(2026 - 11 - 20)).word, "5 days late");
    }
}
