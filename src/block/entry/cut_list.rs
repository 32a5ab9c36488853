//! A shop's lists of expected cuts.

use serde::{Deserialize, Serialize};

use super::GoesTo;
use crate::book::{Effects, Entry, Form, Line, Say};
use crate::error::{Errors, Refusal};
use crate::ids::{CutListId, ItemId, Named};
use crate::measure::Percent;

/// How many cuts a list has at most.
pub const MOST_CUTS: usize = 30;

/// Where a line of the list says that something is wrong with it, by its place in the list.
pub const LINES: [&str; MOST_CUTS] = [
    "line_1", "line_2", "line_3", "line_4", "line_5", "line_6", "line_7", "line_8", "line_9", "line_10",
    "line_11", "line_12", "line_13", "line_14", "line_15", "line_16", "line_17", "line_18", "line_19",
    "line_20", "line_21", "line_22", "line_23", "line_24", "line_25", "line_26", "line_27", "line_28",
    "line_29", "line_30",
];

/// One expected cut.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExpectedCut {
    pub item: Named<ItemId>,
    /// Usual share of the source's weight.
    pub share: Percent,
    pub goes_to: GoesTo,
}

/// A shop's list of expected cuts, new or changed. `cut_list.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CutListWritten {
    pub cut_list: CutListId,
    pub name: String,
    /// The forms of source that it is for.
    pub sources: Vec<Form>,
    pub cuts: Vec<ExpectedCut>,
    /// The cutting loss that needs no reason, per cent of what was taken in.
    #[serde(default = "CutListWritten::usual_tolerance")]
    pub tolerance: Percent,
    #[serde(default)]
    pub retired: bool,
}

impl CutListWritten {
    /// 3 % of what was taken in: drip, bone dust and what stays on the knife. Common practice.
    pub fn usual_tolerance() -> Percent {
        Percent::new(rust_decimal::dec!(3))
    }

    /// What the list expects to recover of the source.
    pub fn sum(&self) -> Percent {
        self.cuts.iter().map(|cut| cut.share).sum()
    }
}

impl Entry for CutListWritten {
    const KIND: &'static str = "cut_list.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.cut_list)
    }

    fn line(&self, _say: &Say) -> Line {
        let line = Line::new(format!("Cut list {}", self.name));
        if self.retired {
            line.why("no longer used")
        } else {
            line.why(format!("{} cuts, {} of the source", self.cuts.len(), self.sum().text()))
        }
    }
}

/// The forms of source that a cut list can be for.
pub const SOURCES: [Form; 4] = [Form::Carcass, Form::Side, Form::Primal, Form::Cut];

/// A list names each cut once and expects no more than the whole source. Says everything that is wrong at once.
pub fn write_cut_list(list: CutListWritten) -> Result<CutListWritten, Errors> {
    let mut errors = Errors::default();
    if list.sources.is_empty() || list.sources.iter().any(|form| !SOURCES.contains(form)) {
        errors.push(Refusal::at("sources", "Say what the list is for."));
    }
    if list.cuts.is_empty() {
        errors.push(Refusal::at(LINES[0], "Name at least one cut."));
    }
    if list.cuts.len() > MOST_CUTS {
        errors.push(Refusal::of(format!("A list has at most {MOST_CUTS} cuts.")));
    }
    for (n, cut) in list.cuts.iter().enumerate().take(MOST_CUTS) {
        if let Some(first) = list.cuts[..n].iter().position(|other| other.item.id == cut.item.id) {
            let message = format!("{} stands in line {} already.", cut.item.name, first + 1);
            errors.push(Refusal::at(LINES[n], message));
        }
    }
    if list.sum() > Percent::HUNDRED {
        let message = format!("The shares come to {}. A source gives no more than 100 %.", list.sum().text());
        errors.push(Refusal::at("shares", message));
    }
    if list.tolerance > Percent::HUNDRED {
        errors.push(Refusal::at("tolerance", "Give a share of the source, from 0 to 100 %."));
    }
    if errors.is_empty() { Ok(list) } else { Err(errors) }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    fn cut(n: u128, share: i64) -> ExpectedCut {
        let item = Named::new(ItemId(Uuid::from_u128(n)), format!("cut {n}"));
        ExpectedCut { item, share: Percent::new(share.into()), goes_to: GoesTo::FreshCounter }
    }

    fn list(cuts: Vec<ExpectedCut>) -> CutListWritten {
        CutListWritten {
            cut_list: CutListId(Uuid::from_u128(1)),
            name: "Pig carcass".into(),
            sources: vec![Form::Carcass],
            cuts,
            tolerance: CutListWritten::usual_tolerance(),
            retired: false,
        }
    }

    #[test]
    fn a_list_may_expect_the_whole_source_and_no_more() {
        assert!(write_cut_list(list(vec![cut(1, 60), cut(2, 40)])).is_ok());
        let errors = write_cut_list(list(vec![cut(1, 60), cut(2, 41)])).expect_err("101 %");
        assert!(errors.of("shares").is_some_and(|says| says.contains("101.0 %")), "{errors:?}");
    }

    #[test]
    fn a_cut_stands_in_a_list_once() {
        let errors = write_cut_list(list(vec![cut(1, 10), cut(2, 10), cut(1, 5)])).expect_err("twice");
        assert!(errors.of("line_3").is_some_and(|says| says.contains("line 1")), "{errors:?}");
    }

    #[test]
    fn a_list_names_at_least_one_cut_and_what_it_is_for() {
        let errors = write_cut_list(CutListWritten { sources: vec![], ..list(vec![]) }).expect_err("empty");
        assert!(errors.of("sources").is_some() && errors.of("line_1").is_some());
        let mix = CutListWritten { sources: vec![Form::Mix], ..list(vec![cut(1, 10)]) };
        assert!(write_cut_list(mix).is_err());
    }

    #[test]
    fn a_list_written_before_there_was_a_tolerance_has_the_usual_one() {
        let old = r#"{"cut_list":"00000000-0000-0000-0000-000000000001","name":"a","sources":["carcass"],"cuts":[]}"#;
        let list: CutListWritten = serde_json::from_str(old).expect("an old body");
        assert_eq!(list.tolerance.text(), "3.0 %");
    }
}
