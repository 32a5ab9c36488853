//! A deviation that no check measured, written down by who saw it.

use serde::{Deserialize, Serialize};

use super::opened::Opened;
use super::subject::Subject;
use crate::book::{Effects, Entry, Line, Say};

/// Something is not as it ought to be. `deviation.found`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviationFound {
    pub subject: Subject,
    /// Whether no plan foresees it (9 CFR 417.3(b)).
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub unforeseen: bool,
    pub opened: Opened,
}

impl Entry for DeviationFound {
    const KIND: &'static str = "deviation.found";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        self.opened.speak(Effects::none().about(self.subject.on().id()))
    }

    fn line(&self, _say: &Say) -> Line {
        let held = match self.opened.lots.len() {
            0 => "nothing on hold".to_owned(),
            1 => "1 lot on hold".to_owned(),
            n => format!("{n} lots on hold"),
        };
        let foreseen = if self.unforeseen { "no plan foresees it; " } else { "" };
        Line::new(self.opened.what.clone()).why(format!("{foreseen}{held}")).alarm("deviation")
    }
}
