//! The starting plans and programmes that come with the program: points to begin at, never approved ones.

use serde::Deserialize;

use super::entry::Document;

/// A starting plan: a document under the key of its file.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
pub struct Shipped {
    pub key: String,
    #[serde(flatten)]
    pub document: Document,
}

const FILES: [&str; 12] = [
    include_str!("../../seed/plans/01-whole-muscle-dry-cure.json"),
    include_str!("../../seed/plans/02-fermented-dry-sausage.json"),
    include_str!("../../seed/plans/03-fresh-sausage.json"),
    include_str!("../../seed/plans/04-raw-cut-and-ground.json"),
    include_str!("../../seed/plans/05-sanitation-before-work.json"),
    include_str!("../../seed/plans/06-sanitation-during-work.json"),
    include_str!("../../seed/plans/07-receiving.json"),
    include_str!("../../seed/plans/08-cold-storage.json"),
    include_str!("../../seed/plans/09-pests.json"),
    include_str!("../../seed/plans/10-water.json"),
    include_str!("../../seed/plans/11-hygiene-and-training.json"),
    include_str!("../../seed/plans/12-calibration.json"),
];

/// All of them, the plans first.
///
/// # Errors
/// Broken when a file that was built in cannot be read; a test reads them.
pub fn shipped() -> anyhow::Result<Vec<Shipped>> {
    FILES
        .iter()
        .map(|text| serde_json::from_str(text).map_err(|why| anyhow::anyhow!("seed/plans: {why}")))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::entry::{Sort, plan_check};

    #[test]
    fn every_starting_plan_is_complete_and_its_checks_keep_the_rules() {
        let all = shipped().expect("files that read");
        assert_eq!(all.iter().filter(|one| one.document.sort == Sort::Plan).count(), 4);
        for one in &all {
            assert_eq!(one.document.lacks(), Vec::<String>::new(), "{}", one.key);
            for check in &one.document.checks {
                assert!(plan_check(check.clone()).is_ok(), "{}: {}", one.key, check.name);
            }
            let steps = one.document.steps.len();
            for (n, step) in one.document.steps.iter().enumerate() {
                assert!(step.into.is_none_or(|into| usize::from(into) > n + 1 && usize::from(into) <= steps));
            }
        }
    }

    #[test]
    fn no_two_starting_plans_cover_the_same_kind_and_no_check_is_in_two() {
        let all = shipped().expect("files that read");
        let mut kinds: Vec<_> = all.iter().flat_map(|one| &one.document.covers).collect();
        let mut checks: Vec<_> =
            all.iter().flat_map(|one| &one.document.checks).map(|check| check.id).collect();
        let (n, m) = (kinds.len(), checks.len());
        kinds.sort();
        kinds.dedup();
        checks.sort();
        checks.dedup();
        assert_eq!((kinds.len(), checks.len()), (n, m));
    }

    #[test]
    fn a_starting_plan_reads_back_as_it_was() {
        for one in shipped().expect("files that read") {
            let text = serde_json::to_string(&one.document).expect("a body");
            assert_eq!(serde_json::from_str::<Document>(&text).expect("reads back"), one.document);
        }
    }
}
