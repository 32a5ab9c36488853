//! How the shop shares the cost of a carcass over its cuts.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say};
use crate::standards::joint_cost::By;

/// The shop's way of sharing one cost over many cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Method {
    pub by: By,
    /// Whether bone, skin and fat are taken off at their sales value before the cuts share the rest.
    pub by_products_first: bool,
}

impl Default for Method {
    /// By weight: it needs no sales prices.
    fn default() -> Self {
        Self { by: By::Weight, by_products_first: false }
    }
}

impl Method {
    /// Written after the figure: "by weight, by-products taken off first".
    pub fn words(self) -> String {
        let first = if self.by_products_first { ", by-products taken off first" } else { "" };
        format!("{}{first}", self.by.words())
    }
}

/// The shop's way of sharing, in the words that the book keeps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum SharedBy {
    #[serde(rename = "weight")]
    Weight,
    #[serde(rename = "sales value")]
    SalesValue,
}

impl SharedBy {
    pub const ALL: [Self; 2] = [Self::Weight, Self::SalesValue];

    pub fn word(self) -> &'static str {
        match self {
            Self::Weight => "weight",
            Self::SalesValue => "sales value",
        }
    }
}

impl From<SharedBy> for By {
    fn from(shared: SharedBy) -> Self {
        match shared {
            SharedBy::Weight => Self::Weight,
            SharedBy::SalesValue => Self::SalesValue,
        }
    }
}

impl std::str::FromStr for SharedBy {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|by| by.word() == text).ok_or(())
    }
}

/// How cost is shared from here on, in every reckoning, also of what was cut before. `cost_method.written`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CostMethodWritten {
    pub by: SharedBy,
    pub by_products_first: bool,
}

impl Entry for CostMethodWritten {
    const KIND: &'static str = "cost_method.written";

    fn effects(&self) -> Effects {
        Effects::none()
    }

    fn line(&self, _say: &Say) -> Line {
        let method = Method { by: self.by.into(), by_products_first: self.by_products_first };
        Line::new("How the cost of a source is shared over its cuts").why(method.words())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shop_that_has_said_nothing_shares_by_weight() {
        assert_eq!(Method::default().words(), "by weight");
        assert!(SharedBy::ALL.iter().all(|by| by.word().parse() == Ok(*by)));
    }
}
