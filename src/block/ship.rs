//! The cut lists that a new shop starts with.

use serde::Deserialize;

use super::entry::{CutListWritten, ExpectedCut, GoesTo, write_cut_list};
use crate::book::{Form, Pen};
use crate::error::Result;
use crate::ids::{CutListId, ItemId, Named};
use crate::measure::Percent;

/// Shares are common practice; each list leaves the usual cutting loss.
const LISTS: &str = include_str!("../../seed/cut_lists.json");

#[derive(Deserialize)]
struct List {
    name: String,
    sources: Vec<Form>,
    tolerance: Percent,
    cuts: Vec<Cut>,
}

#[derive(Deserialize)]
struct Cut {
    item: String,
    share: Percent,
    goes_to: GoesTo,
}

/// Writes the shipped lists. `items`: the shop's list of things, which must know every cut by its name.
///
/// # Errors
/// Broken when a cut is not in the shop's list.
pub async fn ship(pen: &mut Pen, items: &[Named<ItemId>]) -> Result<()> {
    for list in lists()? {
        let mut cuts = Vec::with_capacity(list.cuts.len());
        for cut in list.cuts {
            let item = items.iter().find(|item| item.name == cut.item).ok_or_else(|| {
                anyhow::anyhow!("the cut list {} names {}, which is not in the list", list.name, cut.item)
            })?;
            cuts.push(ExpectedCut { item: item.clone(), share: cut.share, goes_to: cut.goes_to });
        }
        let written = CutListWritten {
            cut_list: CutListId::made_by(pen.next().id),
            name: list.name,
            sources: list.sources,
            cuts,
            tolerance: list.tolerance,
            retired: false,
        };
        pen.append(write_cut_list(written)?).await?;
    }
    Ok(())
}

fn lists() -> Result<Vec<List>> {
    Ok(serde_json::from_str(LISTS).map_err(anyhow::Error::from)?)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_shipped_list_leaves_a_usual_cutting_loss() {
        let lists = lists().expect("a list that can be read");
        assert_eq!(lists.len(), 5);
        for list in lists {
            let sum: Percent = list.cuts.iter().map(|cut| cut.share).sum();
            let loss = Percent::HUNDRED - sum;
            assert!(loss > Percent::ZERO && loss <= list.tolerance, "{} leaves {}", list.name, loss.text());
        }
    }
}
