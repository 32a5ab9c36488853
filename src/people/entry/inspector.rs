//! The sign-in of an inspector: open for the days that the owner sets, and each visit a line of the book.

use serde::{Deserialize, Serialize};
use time::{Duration, OffsetDateTime};

use super::person::Standing;
use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::ids::{Named, PersonId};
use crate::rights;

/// The longest that a sign-in is open, in days; after it the owner opens it anew.
pub const LONGEST: u16 = 366;

/// Somebody who only reads may sign in for so many days. `inspector.admitted`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InspectorAdmitted {
    pub person: Named<PersonId>,
    pub days: u16,
    /// The moment at which it is over.
    #[serde(with = "time::serde::rfc3339")]
    pub until: OffsetDateTime,
}

impl Entry for InspectorAdmitted {
    const KIND: &'static str = "inspector.admitted";

    fn effects(&self) -> Effects {
        Effects::none().about(self.person.id)
    }

    fn line(&self, _say: &Say) -> Line {
        let days = if self.days == 1 { "1 day".to_owned() } else { format!("{} days", self.days) };
        Line::new(format!("{} may sign in as inspector for {days}", self.person.name))
            .why("reads everything, writes nothing")
    }
}

/// An inspector came in to read. `inspector.visited`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InspectorVisited {
    pub person: Named<PersonId>,
}

impl Entry for InspectorVisited {
    const KIND: &'static str = "inspector.visited";

    fn effects(&self) -> Effects {
        Effects::none().about(self.person.id)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("{}, inspector, signed in to read the book", self.person.name))
    }
}

/// Only a sign-in that reads and nothing else has an end set; what others sign would end with it.
pub fn admit(standing: &Standing, days: u16, from: OffsetDateTime) -> Result<InspectorAdmitted, Refusal> {
    if standing.retired {
        return Err(Refusal::of(format!("{} has retired. Bring them back first.", standing.person.name)));
    }
    if !rights::reads_only(&standing.roles) {
        return Err(Refusal::at("days", "Only the sign-in of an inspector ends by itself."));
    }
    if days == 0 || days > LONGEST {
        return Err(Refusal::at("days", "A sign-in is open for 1 to 366 days."));
    }
    Ok(InspectorAdmitted {
        person: standing.person.clone(),
        days,
        until: from + Duration::days(i64::from(days)),
    })
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;
    use crate::measure::UnitSystem;
    use crate::rights::Role;

    fn standing(roles: &[Role]) -> Standing {
        let person = Named::new(PersonId(uuid::Uuid::from_u128(1)), "Cass Vane");
        Standing { person, roles: roles.to_vec(), retired: false, other_owners: 1 }
    }

    const NOON: OffsetDateTime = datetime!(2026-11-25 12:00 UTC);

    #[test]
    fn a_sign_in_of_one_day_ends_a_day_later() {
        let admitted = admit(&standing(&[Role::Inspector]), 1, NOON).expect("admitted");
        assert_eq!(admitted.until, datetime!(2026-11-26 12:00 UTC));
        let line = admitted.line(&Say { system: UnitSystem::Metric });
        assert_eq!(line.what, "Cass Vane may sign in as inspector for 1 day");
    }

    #[test]
    fn only_who_reads_and_nothing_else_has_an_end_set_and_only_within_a_year() {
        let inspector = standing(&[Role::Inspector]);
        assert!(admit(&inspector, 0, NOON).is_err() && admit(&inspector, 367, NOON).is_err());
        assert!(admit(&inspector, 366, NOON).is_ok());
        assert!(admit(&standing(&[Role::Inspector, Role::Cutter]), 7, NOON).is_err());
        assert!(admit(&Standing { retired: true, ..inspector }, 7, NOON).is_err());
    }
}
