//! Entries of the book as lines of a page: the time at the left, the fact, the figure, the initials.

use time::{Duration, OffsetDateTime};

use super::me::Me;
use super::parts::{Line, State};
use crate::book::db::Read;
use crate::book::strike::Struck;
use crate::book::{Entry, Kinds, Seq};
use crate::error::Result;
use crate::measure::{clock, day_text, day_year};
use crate::rights::Right;

/// A line that was written later than this after it happened shows both times.
const LATER: Duration = Duration::minutes(5);

/// How a page wants its lines.
#[derive(Debug, Clone, Copy, Default)]
pub struct Style {
    /// Whether each line says its day.
    pub days: bool,
    /// Whether the lines offer to be struck.
    pub strike: bool,
    /// Whether a strike is a line of its own, beside the stroke through the line that it strikes.
    pub strikes: bool,
    /// The line that was signed a moment ago.
    pub fresh: Option<Seq>,
}

/// The lines of these entries, in their order.
pub fn lines(kinds: &Kinds, me: &Me, entries: &[Read], style: Style) -> Result<Vec<Line>> {
    if style.strikes {
        return entries.iter().map(|entry| line(kinds, me, entry, style)).collect();
    }
    shown(entries).map(|entry| line(kinds, me, entry, style)).collect()
}

/// The entries that have a line of their own where strikes have none: what [`lines`] gives, one for one.
pub fn shown(entries: &[Read]) -> impl Iterator<Item = &Read> {
    entries.iter().filter(|entry| entry.kind != <Struck as Entry>::KIND)
}

/// One entry as a line.
pub fn line(kinds: &Kinds, me: &Me, entry: &Read, style: Style) -> Result<Line> {
    let said = kinds.read(&entry.kind, &entry.body)?.line(&me.shop.say());
    let can = kinds.get(&entry.kind).is_some_and(|kind| kind.can_be_struck) && may_strike(me, entry);
    Ok(Line {
        day: if style.days { day(me, entry.at.happened_at) } else { String::new() },
        time: time(me, entry.at.happened_at),
        later: later(me, entry),
        what: said.what,
        why: said.why,
        figure: said.figure,
        state: said.alarm.map(|word| State::new("out", word)),
        initials: entry.initials.clone(),
        person: entry.name.clone(),
        struck: struck(me, entry),
        strike: if style.strike && can { format!("/entries/{}/strike", entry.at.seq) } else { String::new() },
        href: format!("/entries/{}", entry.at.seq),
        fresh: style.fresh == Some(entry.at.seq),
        ..Line::default()
    })
}

/// A review of records: who looked them over, up to which line of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LookedOver {
    pub upto: Seq,
    pub initials: String,
}

/// Says of each of these lines, which are those of `entries` one for one, who first looked it over, or that nobody has. What
/// `is_record` leaves out is not asked.
pub fn looked_over<'a>(
    lines: &mut [Line],
    entries: impl Iterator<Item = &'a Read>,
    reviews: &[LookedOver],
    is_record: impl Fn(&str) -> bool,
) {
    for (line, entry) in lines.iter_mut().zip(entries) {
        if !is_record(&entry.kind) {
            continue;
        }
        let first = reviews.iter().find(|review| entry.at.seq <= review.upto);
        line.reviewed =
            first.map_or_else(|| "not reviewed".into(), |review| format!("reviewed by {}", review.initials));
    }
}

/// One's own line, or anyone's with the right for it. An inspector strikes nothing: of the lines that are theirs, the visits, none can be struck.
pub fn may_strike(me: &Me, entry: &Read) -> bool {
    entry.struck.is_none() && (entry.at.person == me.person.id || me.may(Right::Strike))
}

fn later(me: &Me, entry: &Read) -> String {
    if entry.at.recorded_at - entry.at.happened_at <= LATER {
        return String::new();
    }
    let written = entry.at.recorded_at;
    if me.shop.date(written) == me.shop.date(entry.at.happened_at) {
        format!("written {}", time(me, written))
    } else {
        format!("written {} {}", day(me, written), time(me, written))
    }
}

fn struck(me: &Me, entry: &Read) -> String {
    entry.struck.as_ref().map_or_else(String::new, |by| {
        let same = me.shop.date(by.at) == me.shop.date(entry.at.happened_at);
        let day = if same { String::new() } else { format!("{} ", day(me, by.at)) };
        format!("struck {day}{} by {}: {}", time(me, by.at), by.initials, by.reason)
    })
}

/// "25 Nov", with the year when it is not this one.
pub fn day(me: &Me, at: OffsetDateTime) -> String {
    let date = me.shop.date(at);
    if date.year() == me.today().year() { day_text(date) } else { day_year(date) }
}

/// "25 Nov 07:20"
pub fn moment(me: &Me, at: OffsetDateTime) -> String {
    format!("{} {}", day(me, at), time(me, at))
}

/// "07:20" of today, "24 Nov 07:20" of another day.
pub fn lately(me: &Me, at: OffsetDateTime) -> String {
    if me.shop.date(at) == me.today() { time(me, at) } else { moment(me, at) }
}

/// "07:20"
pub fn time(me: &Me, at: OffsetDateTime) -> String {
    clock(me.shop.zone.local(at))
}
