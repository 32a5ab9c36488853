//! Pieces with what can be said ahead of each, and the driest and the wettest of them.

use rust_decimal::Decimal;

use super::super::FOR_PLANNING;
use super::super::forecast::{Ahead, Forecast, History, Weighed};
use crate::measure::Percent;
use crate::web::parts::{Figure, State};
use crate::web::{Me, ledger};

/// Where on a bar the target stands.
const TARGET_AT: Decimal = Decimal::from_parts(80, 0, 0, false, 0);

/// A piece, ready to print.
pub struct Row {
    pub href: String,
    pub code: String,
    pub green: String,
    pub weight: String,
    pub loss: String,
    pub bar: String,
    pub target: String,
    pub reached: bool,
    pub said: String,
    pub last: String,
    pub state: State,
    /// The days between which it may be, or why nothing is said.
    pub ahead: String,
}

/// "4 Dec, between 1 Dec and 10 Dec"
fn days(me: &Me, forecast: &Forecast) -> String {
    format!(
        "{}, between {} and {}",
        ledger::day(me, forecast.at),
        ledger::day(me, forecast.early),
        ledger::day(me, forecast.late)
    )
}

/// What is said ahead of a piece, in a sentence.
pub fn said(me: &Me, ahead: &Ahead) -> String {
    match ahead {
        Ahead::Reached(one) => format!("Reached, by the weigh-in of {}.", ledger::day(me, one.at)),
        Ahead::Foretold(forecast) => {
            let word = if me.shop.date(forecast.at) < me.today() { "have reached" } else { "reach" };
            format!("May {word} its target on {} (80 % interval). {FOR_PLANNING}", days(me, forecast))
        }
        Ahead::Cannot(why) => format!("No forecast: {why}"),
    }
}

pub fn row(me: &Me, history: &History, piece: &Weighed) -> Row {
    let loss = piece.loss();
    let percent = loss.unwrap_or(Percent::ZERO);
    let ahead = history.ahead(piece);
    let reached = matches!(ahead, Ahead::Reached(_));
    let target = piece.target.map(|target| format!(", target {}", target.text())).unwrap_or_default();
    Row {
        href: piece.lot.path(),
        code: piece.code.to_string(),
        green: me.shop.weight(piece.green),
        weight: piece.weighed.last().map_or_else(|| "not yet".into(), |one| me.shop.weight(one.grams)),
        loss: loss.map_or_else(String::new, Percent::text),
        bar: bar(percent, piece.target),
        target: piece.target.map_or_else(String::new, |_| TARGET_AT.to_string()),
        reached,
        said: format!("Loss {}{target}", percent.text()),
        last: piece.weighed.last().map_or_else(|| "not yet".into(), |one| ledger::day(me, one.at)),
        state: match &ahead {
            Ahead::Reached(_) => State::new("met", "at its target"),
            Ahead::Foretold(_) => State::new("wait", "drying"),
            Ahead::Cannot(_) => State::new("due", "no forecast"),
        },
        ahead: match &ahead {
            Ahead::Reached(one) => format!("reached on {}", ledger::day(me, one.at)),
            Ahead::Foretold(forecast) => days(me, forecast),
            Ahead::Cannot(why) => why.clone(),
        },
    }
}

fn bar(loss: Percent, target: Option<Percent>) -> String {
    let full = match target.map(Percent::decimal) {
        Some(target) if target > Decimal::ZERO => loss.decimal() / target * TARGET_AT,
        _ => loss.decimal(),
    };
    full.clamp(Decimal::ZERO, Decimal::ONE_HUNDRED).round_dp(2).normalize().to_string()
}

/// The wettest and the driest piece that still hang: a mean would hide both.
pub fn figures(me: &Me, pieces: &[&Weighed]) -> Vec<Figure> {
    let mut weighed: Vec<(&Weighed, Percent)> =
        pieces.iter().filter_map(|piece| Some((*piece, piece.loss()?))).collect();
    weighed.sort_by_key(|(_, loss)| *loss);
    let figure = |name: &str, (piece, loss): &(&Weighed, Percent)| {
        let text = loss.text_places(1);
        let when = piece.weighed.last().map(|one| ledger::day(me, one.at)).unwrap_or_default();
        Figure::new(name, text.trim_end_matches(|c: char| c == '%' || c.is_whitespace()), "%")
            .beneath(format!("of green weight, {} on {when}", piece.code))
    };
    let mut figures = Vec::new();
    if let (Some(wettest), Some(driest)) = (weighed.first(), weighed.last()) {
        figures.push(figure("Wettest piece, loss", wettest).chief());
        figures.push(figure("Driest piece, loss", driest));
    }
    if let Some(target) = pieces.iter().find_map(|piece| piece.target) {
        let reached = weighed.iter().filter(|(piece, loss)| piece.target.is_some_and(|t| *loss >= t)).count();
        let text = target.decimal().normalize().to_string();
        figures.push(
            Figure::new("Target loss", text, "%")
                .beneath(format!("{reached} of {} pieces there", pieces.len())),
        );
    }
    figures
}
