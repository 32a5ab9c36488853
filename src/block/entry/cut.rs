//! A cut laid on the scale.

use serde::{Deserialize, Serialize};

use super::{GoesTo, OnTheBlock};
use crate::book::{Account, Effects, Entry, Form, Line, NewLot, Say};
use crate::error::Refusal;
use crate::ids::{BreakdownId, ItemId, LotId, Named, PlaceId};
use crate::measure::{Grams, LotCode, Percent};

/// A cut laid on the scale and signed. `cut.weighed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CutWeighed {
    pub breakdown: BreakdownId,
    /// What it is cut from.
    pub source: LotId,
    /// The lot that it becomes; none where it goes straight into waste.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lot: Option<CutLot>,
    pub item: Named<ItemId>,
    pub weight: Grams,
    pub pieces: u16,
    pub goes_to: GoesTo,
    /// Fat of trim as the eye judges it, per cent: 20 is called 80/20.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub fat: Option<Percent>,
}

/// The tag that a cut gets, and where it is put.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CutLot {
    pub id: LotId,
    pub code: LotCode,
    pub form: Form,
    pub place: Named<PlaceId>,
}

impl Entry for CutWeighed {
    const KIND: &'static str = "cut.weighed";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = Effects::none().take(self.source, self.weight).about(self.breakdown);
        match &self.lot {
            Some(lot) => effects
                .open(NewLot {
                    id: lot.id,
                    code: lot.code,
                    form: lot.form,
                    item: self.item.clone(),
                    place: Some(lot.place.id),
                })
                .give(lot.id, self.weight),
            None => effects.account(Account::Waste, None, self.weight),
        }
    }

    fn line(&self, say: &Say) -> Line {
        let pieces = if self.pieces == 1 { String::new() } else { format!(", {} pieces", self.pieces) };
        let fat = self.fat.map_or_else(String::new, |fat| format!(", {}", fat_class(fat)));
        let place =
            self.lot.as_ref().map_or_else(String::new, |lot| format!(", {} in {}", lot.code, lot.place.name));
        Line::new(format!("{}{pieces}", self.item.name))
            .why(format!("to {}{fat}{place}", self.goes_to.word()))
            .figure(say.weight(self.weight))
    }
}

/// The classes that trim is sorted into by eye, as per cent fat. Common practice.
pub const FAT_CLASSES: [u32; 7] = [5, 10, 20, 30, 40, 50, 70];

/// `80/20 visual` for 20 % fat.
pub fn fat_class(fat: Percent) -> String {
    format!("{}/{} visual", Percent::HUNDRED - fat, fat)
}

/// A source gives no more than still lies on the block; only trim is sorted by its fat.
pub fn weigh(cut: CutWeighed, item_form: Form, block: &OnTheBlock, say: &Say) -> Result<CutWeighed, Refusal> {
    block.open("Strike its closing line to weigh another cut.")?;
    block.source.usable("")?;
    if cut.weight > block.source.grams {
        return Err(Refusal::at(
            "weight",
            format!(
                "Only {} still lies on the block. {} cannot come off it. If the scale is right, weigh the source again.",
                say.weight(block.source.grams),
                say.weight(cut.weight)
            ),
        ));
    }
    if cut.fat.is_some() && item_form != Form::Trim {
        return Err(Refusal::at("fat", format!("{} is not trim. Only trim has a fat class.", cut.item.name)));
    }
    Ok(cut)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{SAY, block, collar};
    use super::*;

    #[test]
    fn a_cut_is_as_heavy_as_what_it_takes_from_the_carcass() {
        assert!(collar(3_180).effects().imbalance().is_zero());
    }

    #[test]
    fn the_walk_of_the_cost_knows_a_cut_by_its_kind() {
        assert_eq!(CutWeighed::KIND, crate::costs::TAKES_APART);
    }

    #[test]
    fn a_cut_heavier_than_what_lies_on_the_block_is_refused_at_the_weight() {
        assert!(weigh(collar(3_180), Form::Cut, &block(3_180), &SAY).is_ok());
        let refusal = weigh(collar(3_181), Form::Cut, &block(3_180), &SAY).expect_err("refused");
        assert_eq!(refusal.field, "weight");
    }

    #[test]
    fn nothing_is_weighed_on_a_closed_breakdown() {
        let closed = OnTheBlock { closed: true, ..block(20_000) };
        assert!(weigh(collar(1), Form::Cut, &closed, &SAY).is_err());
    }

    #[test]
    fn trim_says_its_fat_as_the_eye_sees_it_and_a_collar_does_not() {
        let fat = Some(Percent::new(20.into()));
        let trim = CutWeighed { fat, goes_to: GoesTo::Mince, ..collar(900) };
        assert!(trim.line(&SAY).why.contains("80/20 visual"), "{}", trim.line(&SAY).why);
        assert!(weigh(trim.clone(), Form::Trim, &block(3_180), &SAY).is_ok());
        assert_eq!(weigh(trim, Form::Cut, &block(3_180), &SAY).expect_err("refused").field, "fat");
    }

    #[test]
    fn waste_goes_to_its_account_and_gets_no_tag() {
        let waste = CutWeighed { lot: None, goes_to: GoesTo::Waste, ..collar(300) };
        assert!(waste.effects().opens.is_empty());
        assert!(waste.effects().imbalance().is_zero());
    }
}
