//! Roles are sets of rights. Every right is checked on the server: a handler's signature says which one it needs.

use serde::{Deserialize, Serialize};

/// What a person may do beyond reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Right {
    /// People, places, items, limits: the shop itself.
    Keep,
    /// Take in deliveries.
    Receive,
    /// Break down and weigh at the block.
    Cut,
    /// Write recipes and make batches.
    Cure,
    /// Hang, move, weigh in and take readings.
    Hang,
    /// Record checks and what was done about a deviation.
    Check,
    /// Decide what becomes of held lots.
    Decide,
    /// Label, dispatch and discard.
    Dispatch,
    /// Review records.
    Review,
    /// Make a packet and sign for it. Whoever reads may draw one; this writes the line that says it was handed over.
    Packet,
    /// Strike a line that somebody else signed. One's own line needs no right.
    Strike,
}

/// What a person is in the shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, sqlx::Type)]
#[serde(rename_all = "lowercase")]
#[sqlx(type_name = "text", rename_all = "lowercase")]
pub enum Role {
    Owner,
    Cutter,
    Curer,
    Reviewer,
    /// Reads everything, writes nothing.
    Inspector,
}

impl Role {
    pub const ALL: [Self; 5] = [Self::Owner, Self::Cutter, Self::Curer, Self::Reviewer, Self::Inspector];

    pub fn word(self) -> &'static str {
        match self {
            Self::Owner => "owner",
            Self::Cutter => "cutter",
            Self::Curer => "curer",
            Self::Reviewer => "reviewer",
            Self::Inspector => "inspector",
        }
    }

    /// The rights of the role.
    pub fn grants(self, right: Right) -> bool {
        use Right::{Check, Cure, Cut, Decide, Dispatch, Hang, Packet, Receive, Review, Strike};
        match self {
            Self::Owner => true,
            Self::Cutter => matches!(right, Receive | Cut | Hang | Check),
            Self::Curer => matches!(right, Receive | Cure | Hang | Check | Dispatch | Packet | Strike),
            Self::Reviewer => matches!(right, Check | Decide | Packet | Review),
            Self::Inspector => false,
        }
    }
}

impl std::str::FromStr for Role {
    type Err = ();
    fn from_str(text: &str) -> Result<Self, ()> {
        Self::ALL.into_iter().find(|role| role.word() == text).ok_or(())
    }
}

/// Whether somebody with these roles reads and does nothing else.
pub fn reads_only(roles: &[Role]) -> bool {
    roles == [Role::Inspector]
}

/// A right as a type, for a handler's signature.
pub trait Needs: Send + Sync + 'static {
    const RIGHT: Right;
}

macro_rules! rights {
    ($($name:ident => $right:ident),*) => {$(
        #[derive(Debug, Clone, Copy)]
        pub struct $name;
        impl Needs for $name {
            const RIGHT: Right = Right::$right;
        }
    )*};
}

/// The types that stand for the rights.
pub mod needs {
    use super::{Needs, Right};
    rights! {
        Keep => Keep, Receive => Receive, Cut => Cut, Cure => Cure, Hang => Hang, Check => Check, Decide => Decide,
        Dispatch => Dispatch, Review => Review, Packet => Packet
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_inspector_reads_all_and_writes_nothing() {
        let all = [Right::Keep, Right::Receive, Right::Cut, Right::Cure, Right::Hang, Right::Check];
        let rest = [Right::Decide, Right::Dispatch, Right::Review, Right::Packet, Right::Strike];
        assert!(all.iter().chain(&rest).all(|right| !Role::Inspector.grants(*right)));
    }

    #[test]
    fn a_cutter_weighs_cuts_but_writes_no_recipes() {
        assert!(Role::Cutter.grants(Right::Cut));
        assert!(!Role::Cutter.grants(Right::Cure));
    }

    #[test]
    fn only_the_owner_keeps_the_shop() {
        assert!(Role::ALL.iter().all(|role| role.grants(Right::Keep) == (*role == Role::Owner)));
    }
}
