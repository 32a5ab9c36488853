//! The form of a supplier, new or known.

use serde::Deserialize;

use super::super::db::Supplier;
use super::super::entry::SupplierWritten;
use crate::error::Errors;
use crate::ids::SupplierId;
use crate::measure::input_day;
use crate::web::{Reader, Shop};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct SupplierForm {
    pub name: String,
    pub address: String,
    pub number: String,
    pub contact: String,
    pub approved_until: String,
    pub papers: String,
    pub retired: String,
}

impl SupplierForm {
    /// What the book says, ready to be changed.
    pub fn of(supplier: &Supplier) -> Self {
        Self {
            name: supplier.name.clone(),
            address: supplier.address.clone(),
            number: supplier.number.clone(),
            contact: supplier.contact.clone(),
            approved_until: supplier.approved_until.map(input_day).unwrap_or_default(),
            papers: supplier.papers.clone(),
            retired: if supplier.retired { "yes".into() } else { String::new() },
        }
    }

    /// What the form says. Who may not approve has no field for it: what the book says then stays.
    pub fn read(
        &self,
        id: SupplierId,
        before: Option<&Supplier>,
        may_approve: bool,
        shop: &Shop,
    ) -> Result<SupplierWritten, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the supplier's name.");
        let address = read.note("address", &self.address, "Give the address. A trace has to name it.");
        let number = read.line_or_empty("number", &self.number);
        let contact = read.line_or_empty("contact", &self.contact);
        let mut approved_until = read.maybe_date("approved_until", &self.approved_until);
        let papers = read.note_or_empty("papers", &self.papers);
        let mut retired = self.retired == "yes";
        if !may_approve && self.approved_until.trim().is_empty() {
            approved_until = Some(before.and_then(|supplier| supplier.approved_until));
            retired = retired || before.is_some_and(|supplier| supplier.retired);
        }
        read.finish(|| {
            Some(SupplierWritten {
                supplier: id,
                name: name?,
                address: address?,
                number: number?,
                contact: contact?,
                approved_until: approved_until?,
                papers: papers?,
                retired,
            })
        })
    }
}
