//! The answers that the sheet at the block offers.

use std::collections::BTreeMap;

use super::super::db::{Expected, Weighed};
use super::super::entry::{FAT_CLASSES, GoesTo, fat_class};
use super::balance;
use crate::book::Form;
use crate::ids::{ItemId, PlaceId};
use crate::measure::Percent;
use crate::setup::{Item, Place};
use crate::web::Shop;
use crate::web::parts::{Choice, Fact};

/// What can come off a source.
pub const CUT_FORMS: [Form; 7] =
    [Form::Side, Form::Primal, Form::Cut, Form::Trim, Form::Bone, Form::Fat, Form::Offal];

/// The word that the form sends for "as the cut list says".
pub const AS_LISTED: &str = "list";

/// The cuts of the list in its order, each with its usual share and a mark once it is weighed; without a list, all.
pub fn listed(shop: &Shop, expected: &[Expected], cuts: &[Weighed], items: &[Item]) -> Vec<Choice> {
    if expected.is_empty() {
        return others(shop, expected, cuts, items);
    }
    let of_list = |cut: &Expected| {
        let list = format!("list {}", cut.share.text());
        Choice::new(cut.item, cut.name.clone()).note(match weighed(shop, cuts, cut.item) {
            Some(weighed) => format!("{weighed}, {list}"),
            None => list,
        })
    };
    expected.iter().map(of_list).collect()
}

/// What is not on the list, but can come off a carcass all the same.
pub fn others(shop: &Shop, expected: &[Expected], cuts: &[Weighed], items: &[Item]) -> Vec<Choice> {
    let unlisted = items.iter().filter(|item| expected.iter().all(|cut| cut.item != item.id));
    unlisted
        .map(|item| {
            let note = weighed(shop, cuts, item.id).unwrap_or_default();
            Choice::new(item.id, item.name.clone()).note(note)
        })
        .collect()
}

fn weighed(shop: &Shop, cuts: &[Weighed], item: ItemId) -> Option<String> {
    let all = balance::by_cut(cuts);
    let (_, _, grams) = all.iter().find(|(of, _, _)| *of == item)?;
    Some(format!("✓ {}", shop.weight(*grams)))
}

/// Where it can go; first as the list says, where there is one.
pub fn uses(has_list: bool) -> Vec<Choice> {
    let listed = has_list.then(|| Choice::new(AS_LISTED, "as the cut list says"));
    listed.into_iter().chain(GoesTo::ALL.iter().map(|goes| Choice::new(goes.word(), goes.word()))).collect()
}

/// The classes of trim.
pub fn fats() -> Vec<Choice> {
    FAT_CLASSES
        .iter()
        .map(|fat| {
            let fat = Percent::new((*fat).into());
            Choice::new(fat, fat_class(fat)).note(format!("{} fat by eye", fat.text_places(0)))
        })
        .collect()
}

/// Where each use went last time, in words: what is meant when the place is left open.
pub fn remembered(last: &BTreeMap<String, PlaceId>, places: &[Place]) -> String {
    let known: Vec<String> = last
        .iter()
        .filter_map(|(goes_to, id)| {
            let place = places.iter().find(|place| place.id == *id)?;
            Some(format!("{goes_to}: {}", place.name))
        })
        .collect();
    if known.is_empty() { String::new() } else { format!("Last time {}.", known.join("; ")) }
}

/// The cuts that are to be broken down in their turn, each with the way to its own breakdown.
pub fn further(shop: &Shop, cuts: &[Weighed]) -> Vec<Fact> {
    let word = GoesTo::BreakDownFurther.word();
    cuts.iter()
        .filter_map(|cut| {
            let (lot, code) = (cut.lot?, cut.code?);
            if cut.goes_to != word && cut.further.is_none() {
                return None;
            }
            let name = format!("{} {code}, {}", cut.item_name, shop.weight(cut.grams));
            Some(match &cut.further {
                Some(own) if own.closed => Fact::new(name, "closed, its result").link(own.id.path()),
                Some(own) => Fact::new(name, "on the block").link(own.id.path()),
                None => Fact::new(name, "lay it on the block").link(format!("/block?lot={lot}")),
            })
        })
        .collect()
}
