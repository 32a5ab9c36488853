//! What several pages of receiving show alike: the sheets of the area, and deliveries as rows of a table.

use super::super::db::Listed;
use crate::measure::{day_long, day_year};
use crate::web::parts::{State, Tab};
use crate::web::{Me, ledger};

/// The sheets of the area; `here` is the address of the one that is open.
pub fn tabs(here: &str) -> Vec<Tab> {
    [
        ("/receiving", "Deliveries"),
        ("/receiving/suppliers", "Suppliers"),
        ("/receiving/checks", "Checks at the door"),
    ]
    .into_iter()
    .map(|(href, name)| Tab {
        href: href.into(),
        name: name.into(),
        count: String::new(),
        here: href == here,
    })
    .collect()
}

/// A delivery as a row.
pub struct DeliveryRow {
    pub href: String,
    pub supplier: String,
    pub docket: String,
    /// "24 Nov 09:40", or the time alone where the rows are of one day.
    pub when: String,
    pub lines: String,
    pub weight: String,
    pub states: Vec<State>,
}

impl DeliveryRow {
    fn of(me: &Me, row: Listed, when: String) -> Self {
        let counted =
            |count: i64, mark, word: &str| (count > 0).then(|| State::new(mark, format!("{count} {word}")));
        let states = [
            counted(row.held, "held", "on hold"),
            counted(row.refused, "out", "refused"),
            counted(row.accepted, "late", "received with a failed check"),
        ];
        Self {
            href: row.id.path(),
            supplier: row.supplier_name,
            docket: if row.docket.is_empty() { "no docket".into() } else { row.docket },
            when,
            lines: row.lines.to_string(),
            weight: me.shop.weight(row.grams),
            states: states.into_iter().flatten().collect(),
        }
    }

    /// A row that says its day.
    pub fn dated(me: &Me, row: Listed) -> Self {
        let when = ledger::moment(me, row.happened_at);
        Self::of(me, row, when)
    }
}

/// The deliveries of one day.
pub struct Day {
    pub title: String,
    pub rows: Vec<DeliveryRow>,
}

/// Deliveries under their days, in the order in which they come.
pub fn by_day(me: &Me, rows: Vec<Listed>) -> Vec<Day> {
    let mut days: Vec<Day> = Vec::new();
    let mut open = None;
    for row in rows {
        let date = me.shop.date(row.happened_at);
        if open != Some(date) {
            let long = day_long(date);
            let title = match (me.today() - date).whole_days() {
                0 => format!("Today, {long}"),
                1 => format!("Yesterday, {long}"),
                _ if date.year() == me.today().year() => long,
                _ => day_year(date),
            };
            days.push(Day { title, rows: Vec::new() });
            open = Some(date);
        }
        let time = ledger::time(me, row.happened_at);
        if let Some(day) = days.last_mut() {
            day.rows.push(DeliveryRow::of(me, row, time));
        }
    }
    days
}
