//! Dispatch: lots leave on one docket, with the facts that food of animal origin travels with.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::Leaving;
use super::lines::{self, Part};
use crate::book::{Account, Effects, Entry, Line, Say};
use crate::error::{Errors, Refusal};
use crate::ids::{CustomerId, DispatchId, LotId, Named};
use crate::measure::{Grams, PricePerKg};

/// A name and an address as they stand on paper.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Party {
    pub name: String,
    pub address: String,
}

/// One line of a docket.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DocketLine {
    pub lot: Named<LotId>,
    pub description: String,
    pub weight: Grams,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub price: Option<PricePerKg>,
}

/// Lots leave. `lots.dispatched`
///
/// With the time of the entry it holds the eight facts of Regulation (EU) No 931/2011, art. 3(1): description (a), weight
/// (b), the dispatching operator (c) and the consignor where that is somebody else (d), the receiving operator (e) and
/// the consignee where that is somebody else (f), the lot (g) and the date of dispatch (h).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LotsDispatched {
    pub dispatch: DispatchId,
    /// None over the counter: Regulation (EC) No 178/2002, art. 18(3), asks for businesses supplied, not for consumers.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub customer: Option<Named<CustomerId>>,
    /// The docket's number: `D26329-01`.
    pub reference: String,
    pub from: Party,
    /// Name and address of who owns the goods before they leave, where that is not the shop.
    #[serde(default)]
    pub consignor: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub to: Option<Party>,
    /// Name and address of who owns the goods once they left, where that is not the customer.
    #[serde(default)]
    pub consignee: String,
    pub lines: Vec<DocketLine>,
}

impl LotsDispatched {
    pub fn weight(&self) -> Grams {
        self.lines.iter().map(|line| line.weight).sum()
    }

    fn receiver(&self) -> &str {
        self.customer.as_ref().map_or("the counter", |customer| &customer.name)
    }
}

impl Entry for LotsDispatched {
    const KIND: &'static str = "lots.dispatched";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let party = self.customer.as_ref().map(|customer| customer.id.0);
        let effects = Effects::none().opens(self.dispatch);
        let effects = party.into_iter().fold(effects, Effects::about);
        let effects = self.lines.iter().fold(effects, |effects, line| effects.take(line.lot.id, line.weight));
        effects.account(Account::Customer, party, self.weight())
    }

    fn line(&self, say: &Say) -> Line {
        let lots: Vec<String> =
            self.lines.iter().map(|line| format!("{} {}", line.description, line.lot.name)).collect();
        Line::new(format!("Dispatched to {}", self.receiver()))
            .why(format!("docket {}: {}", self.reference, lots.join(", ")))
            .figure(say.weight(self.weight()))
    }
}

/// What leaves is in the book, not on hold, for sale, and there. `lots` are those of the lines, in their order.
///
/// # Errors
/// Every line that may not leave, each at its own field.
pub fn dispatch(docket: LotsDispatched, lots: &[Leaving], say: &Say) -> Result<LotsDispatched, Errors> {
    let mut errors = Errors::default();
    if docket.lines.is_empty() {
        errors.push(Refusal::at("code", "Add the code of what leaves."));
    }
    let mut seen = BTreeSet::new();
    for (n, (line, leaving)) in docket.lines.iter().zip(lots).enumerate() {
        if let Err(refusal) = may_leave(line, leaving, n, say) {
            errors.push(refusal);
        } else if !seen.insert(line.lot.id) {
            let message = format!("{} is on this docket twice. Leave one line out.", line.lot.name);
            errors.push(Refusal::at(lines::field(Part::Lot, n), message));
        }
    }
    if errors.is_empty() { Ok(docket) } else { Err(errors) }
}

fn may_leave(line: &DocketLine, leaving: &Leaving, n: usize, say: &Say) -> Result<(), Refusal> {
    let lot = lines::field(Part::Lot, n);
    leaving.lot.usable(lot)?;
    leaving.for_sale(lot)?;
    leaving.something_left(lot)?;
    leaving.lot.holds(line.weight, lines::field(Part::Weight, n), |grams| say.weight(grams))
}

#[cfg(test)]
mod tests {
    use super::super::tests::leaving;
    use super::*;
    use crate::book::{Account, Form, Side};
    use crate::measure::UnitSystem;
    use proptest::prelude::*;
    use uuid::Uuid;

    const SAY: Say = Say { system: UnitSystem::Metric };

    fn line(leaving: &Leaving, grams: i64) -> DocketLine {
        DocketLine {
            lot: leaving.lot.named(),
            description: leaving.description.clone(),
            weight: Grams::whole(grams),
            price: None,
        }
    }

    fn docket(lines: Vec<DocketLine>) -> LotsDispatched {
        LotsDispatched {
            dispatch: DispatchId(Uuid::from_u128(70)),
            customer: Some(Named::new(CustomerId(Uuid::from_u128(71)), "The Copper Ladle")),
            reference: "D26354-01".into(),
            from: Party { name: "Whitcombe & Daughter".into(), address: "3 Tannery Row".into() },
            consignor: String::new(),
            to: Some(Party { name: "The Copper Ladle".into(), address: "9 Weir Street".into() }),
            consignee: String::new(),
            lines,
        }
    }

    #[test]
    fn a_line_that_may_not_leave_is_named_and_the_others_are_checked_as_well() {
        let (good, mut held) = (leaving(1, Form::Pack, 200), leaving(2, Form::Pack, 200));
        held.lot.held = Some("core at 9 °C".into());
        let light = leaving(3, Form::Pack, 100);
        let lines = vec![line(&good, 200), line(&held, 200), line(&light, 101), line(&good, 1)];
        let lots = [good.clone(), held, light, good];
        let errors = dispatch(docket(lines), &lots, &SAY).expect_err("refused");
        let fields: Vec<&str> = errors.iter().map(|refusal| refusal.field).collect();
        assert_eq!(fields, ["lot-2", "weight-3", "lot-4"]);
    }

    #[test]
    fn an_empty_docket_is_not_signed() {
        assert!(dispatch(docket(vec![]), &[], &SAY).is_err());
    }

    proptest! {
        #[test]
        fn what_the_customer_gets_is_what_left_the_lots(grams in proptest::collection::vec(1..90_000_i64, 1..40)) {
            let lots: Vec<Leaving> = (1..).zip(&grams).map(|(n, g)| leaving(n, Form::Pack, *g)).collect();
            let lines = lots.iter().zip(&grams).map(|(lot, g)| line(lot, *g)).collect();
            let docket = dispatch(docket(lines), &lots, &SAY).unwrap();
            let effects = docket.effects();
            prop_assert!(effects.imbalance().is_zero());
            let customer = Side::Account(Account::Customer, Some(Uuid::from_u128(71)));
            let got = effects.movements.iter().find(|m| m.side == customer).unwrap().grams;
            prop_assert_eq!(got, Grams::whole(grams.iter().sum()));
        }
    }
}
