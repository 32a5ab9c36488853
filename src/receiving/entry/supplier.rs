//! Who brings it.

use serde::{Deserialize, Serialize};
use time::Date;

use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::ids::SupplierId;

/// Who brings it, new or changed. `supplier.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct SupplierWritten {
    pub supplier: SupplierId,
    pub name: String,
    pub address: String,
    /// Establishment or approval number.
    pub number: String,
    pub contact: String,
    /// The last day of the shop's approval; never approved when there is none.
    #[serde(default, with = "crate::measure::maybe_date", skip_serializing_if = "Option::is_none")]
    pub approved_until: Option<Date>,
    /// Papers held: certificates, letters of guarantee.
    #[serde(default)]
    pub papers: String,
    #[serde(default)]
    pub retired: bool,
}

impl Entry for SupplierWritten {
    const KIND: &'static str = "supplier.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.supplier)
    }

    fn line(&self, _say: &Say) -> Line {
        let why = match (self.retired, self.approved_until) {
            (true, _) => "no longer used".to_owned(),
            (false, Some(day)) => format!("approved until {}", crate::measure::day_year(day)),
            (false, None) => "not approved".to_owned(),
        };
        Line::new(format!("{} in the list of suppliers", self.name)).why(why)
    }
}

/// Whoever takes deliveries in may note a supplier; approving and retiring one is the shopkeeper's.
pub fn write_supplier(
    new: SupplierWritten,
    approved_before: Option<Date>,
    retired_before: bool,
    may_approve: bool,
) -> Result<SupplierWritten, Refusal> {
    if may_approve {
        return Ok(new);
    }
    if new.approved_until != approved_before {
        return Err(Refusal::at("approved_until", "Only the owner says until when a supplier is approved."));
    }
    if new.retired != retired_before {
        return Err(Refusal::at("retired", "Only the owner says that a supplier is no longer used."));
    }
    Ok(new)
}

#[cfg(test)]
mod tests {
    use super::*;
    use time::macros::date;
    use uuid::Uuid;

    fn farm() -> SupplierWritten {
        SupplierWritten {
            supplier: SupplierId(Uuid::from_u128(1)),
            name: "Hazelrigg Farm".into(),
            address: String::new(),
            number: "UK EF 201".into(),
            contact: String::new(),
            approved_until: Some(date!(2027 - 03 - 31)),
            papers: String::new(),
            retired: false,
        }
    }

    #[test]
    fn a_cutter_mends_an_address_but_approves_nobody() {
        assert!(write_supplier(farm(), farm().approved_until, false, false).is_ok());
        let approved = write_supplier(farm(), None, false, false).expect_err("not theirs");
        assert_eq!(approved.field, "approved_until");
        let retired = SupplierWritten { retired: true, ..farm() };
        let refusal =
            write_supplier(retired.clone(), farm().approved_until, false, false).expect_err("not theirs");
        assert_eq!(refusal.field, "retired");
        assert!(write_supplier(retired, None, false, true).is_ok());
    }
}
