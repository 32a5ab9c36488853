//! What the book says of breaking down, and the rules at the block.

use serde::{Deserialize, Serialize};

use crate::book::{Account, Effects, Entry, Form, Line, Lot, NewLot, Say};
use crate::error::Refusal;
use crate::ids::{BreakdownId, CutListId, ItemId, LotId, Named, PlaceId};
use crate::measure::{Grams, LotCode, Percent};

/// Where a cut goes from the block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum GoesTo {
    #[serde(rename = "whole-muscle cure")]
    WholeMuscleCure,
    #[serde(rename = "mince")]
    Mince,
    #[serde(rename = "render")]
    Render,
    #[serde(rename = "stock")]
    Stock,
    #[serde(rename = "fresh counter")]
    FreshCounter,
    #[serde(rename = "freezer")]
    Freezer,
    #[serde(rename = "break down further")]
    BreakDownFurther,
    #[serde(rename = "waste")]
    Waste,
}

impl GoesTo {
    pub const ALL: [Self; 8] = [
        Self::WholeMuscleCure,
        Self::Mince,
        Self::Render,
        Self::Stock,
        Self::FreshCounter,
        Self::Freezer,
        Self::BreakDownFurther,
        Self::Waste,
    ];

    pub fn word(self) -> &'static str {
        match self {
            Self::WholeMuscleCure => "whole-muscle cure",
            Self::Mince => "mince",
            Self::Render => "render",
            Self::Stock => "stock",
            Self::FreshCounter => "fresh counter",
            Self::Freezer => "freezer",
            Self::BreakDownFurther => "break down further",
            Self::Waste => "waste",
        }
    }
}

impl std::str::FromStr for GoesTo {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|goes| goes.word() == text).ok_or(())
    }
}

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
    #[serde(default)]
    pub retired: bool,
}

impl Entry for CutListWritten {
    const KIND: &'static str = "cut_list.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.cut_list)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("Cut list {}", self.name)).why(format!("{} cuts", self.cuts.len()))
    }
}

/// A lot is laid on the block. `breakdown.opened`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct BreakdownOpened {
    pub breakdown: BreakdownId,
    pub lot: Named<LotId>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cut_list: Option<Named<CutListId>>,
    /// What lay on the block then.
    pub taken_in: Grams,
}

impl Entry for BreakdownOpened {
    const KIND: &'static str = "breakdown.opened";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        Effects::none().opens(self.breakdown).about(self.lot.id)
    }

    fn line(&self, say: &Say) -> Line {
        let list =
            self.cut_list.as_ref().map_or_else(|| "without a cut list".into(), |list| list.name.clone());
        Line::new(format!("{} laid on the block", self.lot.name)).why(list).figure(say.weight(self.taken_in))
    }
}

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
    /// Visual fat, of trim.
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
        let place =
            self.lot.as_ref().map_or_else(String::new, |lot| format!(", {} in {}", lot.code, lot.place.name));
        Line::new(format!("{}{pieces}", self.item.name))
            .why(format!("to {}{place}", self.goes_to.word()))
            .figure(say.weight(self.weight))
    }
}

/// What lies on the block: the source of a breakdown, and how far it has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OnTheBlock {
    pub breakdown: BreakdownId,
    pub taken_in: Grams,
    pub closed: bool,
    pub source: Lot,
}

/// A lot comes on the block whole or as what is left of it, never while it is on hold.
pub fn open(opened: BreakdownOpened, lot: &Lot, say: &Say) -> Result<BreakdownOpened, Refusal> {
    lot.usable("lot")?;
    if !lot.form.is_meat() || matches!(lot.form, Form::Mix | Form::Piece | Form::Pack) {
        return Err(Refusal::at(
            "lot",
            format!("{} is not broken down: it is a {}.", lot.code, lot.form.word()),
        ));
    }
    if opened.taken_in != lot.grams || lot.grams.is_zero() {
        let message = format!("{} holds {} now. Open the page again.", lot.code, say.weight(lot.grams));
        return Err(Refusal::at("lot", message));
    }
    Ok(opened)
}

/// A source gives no more than still lies on the block.
pub fn weigh(cut: CutWeighed, block: &OnTheBlock, say: &Say) -> Result<CutWeighed, Refusal> {
    if block.closed {
        return Err(Refusal::of("This breakdown is closed. Strike its closing line to weigh another cut."));
    }
    block.source.usable("")?;
    if cut.weight > block.source.grams {
        return Err(Refusal::at(
            "weight",
            format!(
                "Only {} still lies on the block. {} cannot come off it.",
                say.weight(block.source.grams),
                say.weight(cut.weight)
            ),
        ));
    }
    Ok(cut)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Seq;
    use crate::measure::UnitSystem;
    use uuid::Uuid;

    const SAY: Say = Say { system: UnitSystem::Metric };

    fn carcass(grams: i64) -> Lot {
        Lot {
            id: LotId(Uuid::from_u128(1)),
            code: "26329-02".parse().expect("a code"),
            form: Form::Carcass,
            item: ItemId(Uuid::from_u128(2)),
            item_name: "pig carcass".into(),
            place: None,
            grams: Grams::whole(grams),
            seq: Seq(1),
            held: None,
            struck: false,
        }
    }

    fn block(grams: i64) -> OnTheBlock {
        OnTheBlock {
            breakdown: BreakdownId(Uuid::from_u128(3)),
            taken_in: Grams::whole(92_400),
            closed: false,
            source: carcass(grams),
        }
    }

    fn collar(grams: i64) -> CutWeighed {
        CutWeighed {
            breakdown: BreakdownId(Uuid::from_u128(3)),
            source: LotId(Uuid::from_u128(1)),
            lot: Some(CutLot {
                id: LotId(Uuid::from_u128(4)),
                code: "26329-02.05".parse().expect("a code"),
                form: Form::Cut,
                place: Named::new(PlaceId(Uuid::from_u128(5)), "cooler 1"),
            }),
            item: Named::new(ItemId(Uuid::from_u128(6)), "collar"),
            weight: Grams::whole(grams),
            pieces: 2,
            goes_to: GoesTo::WholeMuscleCure,
            fat: None,
        }
    }

    #[test]
    fn a_cut_is_as_heavy_as_what_it_takes_from_the_carcass() {
        assert!(collar(3_180).effects().imbalance().is_zero());
    }

    #[test]
    fn a_cut_heavier_than_what_lies_on_the_block_is_refused_at_the_weight() {
        assert!(weigh(collar(3_180), &block(3_180), &SAY).is_ok());
        let refusal = weigh(collar(3_181), &block(3_180), &SAY).expect_err("refused");
        assert_eq!(refusal.field, "weight");
    }

    #[test]
    fn nothing_is_weighed_on_a_closed_breakdown() {
        let closed = OnTheBlock { closed: true, ..block(20_000) };
        assert!(weigh(collar(1), &closed, &SAY).is_err());
    }

    #[test]
    fn a_held_carcass_does_not_come_on_the_block() {
        let held = Lot { held: Some("surface at 6.2 °C".into()), ..carcass(92_400) };
        let opened = BreakdownOpened {
            breakdown: BreakdownId(Uuid::from_u128(3)),
            lot: held.named(),
            cut_list: None,
            taken_in: held.grams,
        };
        assert_eq!(open(opened, &held, &SAY).expect_err("refused").field, "lot");
    }

    #[test]
    fn waste_goes_to_its_account_and_gets_no_tag() {
        let waste = CutWeighed { lot: None, goes_to: GoesTo::Waste, ..collar(300) };
        assert!(waste.effects().opens.is_empty());
        assert!(waste.effects().imbalance().is_zero());
    }
}
