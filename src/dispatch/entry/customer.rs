//! Who receives it.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say};
use crate::ids::CustomerId;

/// A customer, new or changed. `customer.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CustomerWritten {
    pub customer: CustomerId,
    pub name: String,
    pub address: String,
    /// Name and address of who owns the goods where that is somebody else; empty where it is the customer.
    #[serde(default)]
    pub consignee: String,
    #[serde(default)]
    pub contact: String,
    #[serde(default)]
    pub retired: bool,
}

impl Entry for CustomerWritten {
    const KIND: &'static str = "customer.written";

    fn effects(&self) -> Effects {
        Effects::none().about(self.customer)
    }

    fn line(&self, _say: &Say) -> Line {
        let line = Line::new(format!("{} in the list of customers", self.name));
        if self.retired { line.why("no longer used") } else { line }
    }
}
