//! What waits, gathered by place and put in the order in which it presses.

use std::cmp::Ordering;

use crate::web::parts::{Due, State};

/// How much something presses, the most pressing first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Presses {
    /// Out of limits, and open.
    Out,
    Late,
    Due,
}

/// One thing that waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    pub place: String,
    pub presses: Presses,
    pub due: Due,
}

impl Task {
    /// `word` is how it stands: "late 1 h 20".
    pub fn new(
        place: impl Into<String>,
        presses: Presses,
        word: impl Into<String>,
        what: impl Into<String>,
    ) -> Self {
        let mark = match presses {
            Presses::Out => "out",
            Presses::Late => "late",
            Presses::Due => "due",
        };
        let due = Due {
            time: String::new(),
            what: what.into(),
            href: String::new(),
            code: String::new(),
            why: String::new(),
            state: State::new(mark, word),
        };
        Self { place: place.into(), presses, due }
    }

    #[must_use]
    pub fn at(mut self, time: impl Into<String>) -> Self {
        self.due.time = time.into();
        self
    }

    #[must_use]
    pub fn link(mut self, href: impl Into<String>) -> Self {
        self.due.href = href.into();
        self
    }

    #[must_use]
    pub fn code(mut self, code: &impl ToString) -> Self {
        self.due.code = code.to_string();
        self
    }

    #[must_use]
    pub fn why(mut self, why: impl Into<String>) -> Self {
        self.due.why = why.into();
        self
    }
}

/// What waits in one place.
pub struct Section {
    pub place: String,
    pub list: Vec<Due>,
}

/// The places by name, the one with something out of limits first; in each, what presses most comes first.
pub fn by_place(mut tasks: Vec<Task>) -> Vec<Section> {
    let first = |place: &str, tasks: &[Task]| {
        tasks.iter().filter(|task| task.place == place).map(|task| task.presses).min()
    };
    let pressing: Vec<(String, Option<Presses>)> =
        tasks.iter().map(|task| (task.place.clone(), first(&task.place, &tasks))).collect();
    let out = |place: &str| {
        let found = pressing.iter().find(|(known, _)| known == place);
        found.and_then(|(_, presses)| *presses) != Some(Presses::Out)
    };
    tasks.sort_by(|a, b| {
        out(&a.place)
            .cmp(&out(&b.place))
            .then_with(|| a.place.to_lowercase().cmp(&b.place.to_lowercase()))
            .then_with(|| pressing_order(a, b))
    });
    let mut sections: Vec<Section> = Vec::new();
    for task in tasks {
        match sections.last_mut() {
            Some(section) if section.place == task.place => section.list.push(task.due),
            _ => sections.push(Section { place: task.place, list: vec![task.due] }),
        }
    }
    sections
}

fn pressing_order(a: &Task, b: &Task) -> Ordering {
    a.presses.cmp(&b.presses).then_with(|| a.due.time.cmp(&b.due.time))
}

/// The first thing to do: what presses most.
pub fn first(tasks: &[Task]) -> Option<&Task> {
    tasks.iter().filter(|task| !task.due.href.is_empty()).min_by(|a, b| pressing_order(a, b))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn task(place: &str, presses: Presses, what: &str) -> Task {
        Task::new(place, presses, "so", what).link("/there")
    }

    fn order(sections: &[Section]) -> Vec<(&str, Vec<&str>)> {
        sections
            .iter()
            .map(|section| {
                (section.place.as_str(), section.list.iter().map(|due| due.what.as_str()).collect())
            })
            .collect()
    }

    #[test]
    fn a_place_out_of_limits_stands_before_the_others_and_late_before_due() {
        let sections = by_place(vec![
            task("chamber 2", Presses::Due, "weigh"),
            task("Cooler 1", Presses::Due, "turn"),
            task("chamber 2", Presses::Late, "read"),
            task("store", Presses::Out, "deviation"),
        ]);
        assert_eq!(
            order(&sections),
            [("store", vec!["deviation"]), ("chamber 2", vec!["read", "weigh"]), ("Cooler 1", vec!["turn"])]
        );
    }

    #[test]
    fn the_first_thing_to_do_is_what_presses_most() {
        let tasks = [task("a", Presses::Due, "weigh"), task("b", Presses::Late, "read")];
        assert_eq!(first(&tasks).map(|task| task.due.what.as_str()), Some("read"));
        assert!(first(&[]).is_none());
    }
}
