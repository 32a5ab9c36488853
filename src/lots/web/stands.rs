//! What stands between a piece and sale, as facts that are recorded or not. It says which were met; whether the food is safe is
//! not for a program to say.

use time::Duration;

use super::super::db::{Cure, Stage};
use crate::hanging::Hung;
use crate::release;
use crate::web::parts::{Stand, State};
use crate::web::{Me, ledger};

/// What is recorded of a piece beyond its weights.
pub struct Known {
    pub cures: Vec<Cure>,
    pub stages: Vec<Stage>,
}

/// The cure and the stages as they were, then what the piece's family asks, then the release.
pub fn stands(me: &Me, piece: &Hung, known: &Known, criteria: Vec<Stand>) -> Vec<Stand> {
    let mut all: Vec<Stand> = known.cures.iter().map(|cure| cured(me, cure)).collect();
    all.extend(known.stages.iter().enumerate().filter_map(|(n, stage)| {
        let until = known.stages.get(n + 1).map(|next| next.at);
        staged(me, stage, until.unwrap_or(me.now), until.is_some())
    }));
    all.extend(aim(piece));
    all.extend(criteria);
    let let_go = if piece.released {
        stand("met", "released", "Released by a person with the right to decide", "see its line below")
    } else {
        stand("wait", "not yet", "Release by a person with the right to decide", "")
    };
    all.push(Stand { href: release::path(piece.batch), ..let_go });
    all
}

fn stand(mark: &'static str, word: &str, what: &str, note: &str) -> Stand {
    Stand { state: State::new(mark, word), what: what.to_owned(), note: note.to_owned(), href: String::new() }
}

fn cured(me: &Me, cure: &Cure) -> Stand {
    let (Some(grams), Some(at)) = (cure.grams, cure.at) else {
        return stand("wait", "not yet", &format!("{}: not weighed in", cure.item_name), "");
    };
    let lot = cure.code.map(|code| format!(" of {code}")).unwrap_or_default();
    let what = format!("{} weighed in, {}{lot}", cure.item_name, me.shop.weight(grams));
    let who = cure.initials.as_deref().unwrap_or_default();
    let when = format!("{} {}, {who}", ledger::day(me, at), ledger::time(me, at));
    if cure.within == Some(true) {
        return stand("met", "met", &what, &when);
    }
    let why = cure.reason.as_deref().unwrap_or_default();
    stand("late", "outside", &format!("{what}, outside its tolerance"), &format!("{when}: {why}"))
}

/// A stage with its days. Making and release are not stages that a piece lies through.
fn staged(me: &Me, stage: &Stage, until: time::OffsetDateTime, over: bool) -> Option<Stand> {
    if matches!(stage.stage.as_str(), "making" | "released") {
        return None;
    }
    let lasted = until - stage.at;
    let place = stage.place_name.as_deref().map(|place| format!(", {place}")).unwrap_or_default();
    let from = ledger::day(me, stage.at);
    let note = if over {
        format!("{from} to {}{place}", ledger::day(me, until))
    } else {
        format!("since {from}{place}")
    };
    let asked = stage.hours.map(|hours| Duration::hours(i64::from(hours)));
    let of = asked.map(|asked| format!(", the recipe asks for {}", span(asked))).unwrap_or_default();
    let what = format!("{} in {}{of}", span(lasted), stage.stage);
    Some(match (asked, over) {
        (Some(asked), _) if lasted >= asked => stand("met", "met", &what, &note),
        (Some(_), true) => stand("late", "shorter", &what, &note),
        (Some(_), false) => stand("wait", "not yet", &what, &note),
        (None, _) => stand("met", "recorded", &what, &note),
    })
}

/// "18 days", "36 h".
fn span(duration: Duration) -> String {
    match duration.whole_hours() {
        hours if hours < 72 => format!("{hours} h"),
        hours => format!("{} days", hours / 24),
    }
}

/// The recipe's aim, which is a guide; what the family asks stands beside it.
fn aim(piece: &Hung) -> Option<Stand> {
    let loss = piece.loss();
    let target = loss.target?;
    let so_far = loss.percent.text();
    let note = "of green weight; the recipe's aim, a guide";
    Some(if loss.reached() {
        stand("met", "met", &format!("Loss of {target} %: {so_far}"), note)
    } else {
        stand("wait", "not yet", &format!("Loss of {target} %: {so_far} so far"), note)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn short_stages_are_told_in_hours_and_long_ones_in_days() {
        assert_eq!(span(Duration::hours(36)), "36 h");
        assert_eq!(span(Duration::days(18) + Duration::hours(5)), "18 days");
    }
}
