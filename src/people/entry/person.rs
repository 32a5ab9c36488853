//! The people who sign. A person is never deleted: their lines stand in the book.

use serde::{Deserialize, Serialize};

use crate::book::{Effects, Entry, Line, Say};
use crate::error::Refusal;
use crate::ids::{Named, PersonId};
use crate::measure::Initials;
use crate::rights::Role;

/// Somebody who may sign from now on. `person.added`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PersonAdded {
    pub person: PersonId,
    pub name: String,
    /// What is typed to sign in, in lower case.
    pub sign_in: String,
    pub initials: Initials,
    pub roles: Vec<Role>,
    /// Added by whoever has the machine. Then the line is signed by the added person, since nobody else signed in.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_console: bool,
}

impl Entry for PersonAdded {
    const KIND: &'static str = "person.added";

    fn effects(&self) -> Effects {
        Effects::none().opens(self.person).signs(self.person, &self.name, self.initials.to_string())
    }

    fn line(&self, _say: &Say) -> Line {
        let console = if self.by_console { ", added at the console" } else { "" };
        Line::new(format!("{} signs here as {}", self.name, self.initials))
            .why(format!("{}{console}", words(&self.roles)))
    }
}

/// What is known of a person, said anew. `person.changed`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PersonChanged {
    pub person: PersonId,
    pub name: String,
    pub sign_in: String,
    pub initials: Initials,
    pub roles: Vec<Role>,
}

impl Entry for PersonChanged {
    const KIND: &'static str = "person.changed";

    fn effects(&self) -> Effects {
        Effects::none().about(self.person).signs(self.person, &self.name, self.initials.to_string())
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("{} signs from here on as {}", self.name, self.initials)).why(words(&self.roles))
    }
}

/// Somebody signs here no longer. `person.retired`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PersonRetired {
    pub person: Named<PersonId>,
}

impl Entry for PersonRetired {
    const KIND: &'static str = "person.retired";

    fn effects(&self) -> Effects {
        Effects::none().about(self.person.id)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("{} signs here no longer", self.person.name)).why("the lines signed before stand")
    }
}

/// Somebody who had retired signs here again. `person.returned`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PersonReturned {
    pub person: Named<PersonId>,
}

impl Entry for PersonReturned {
    const KIND: &'static str = "person.returned";

    fn effects(&self) -> Effects {
        Effects::none().about(self.person.id)
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new(format!("{} signs here again", self.person.name))
    }
}

/// What somebody proves with who they are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Secret {
    Password,
    Pin,
}

/// Somebody else chose a person's password or PIN. That it was done is in the book; the secret is not. `person.reset`
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PersonReset {
    pub person: Named<PersonId>,
    pub secret: Secret,
    /// Set by whoever has the machine. Then the line is signed by the person themself, since nobody else signed in.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub by_console: bool,
}

impl Entry for PersonReset {
    const KIND: &'static str = "person.reset";

    fn effects(&self) -> Effects {
        Effects::none().about(self.person.id)
    }

    fn line(&self, _say: &Say) -> Line {
        let secret = match self.secret {
            Secret::Password => "password",
            Secret::Pin => "PIN",
        };
        let line = Line::new(format!("{} was given a new {secret}", self.person.name));
        if self.by_console { line.why("at the console") } else { line }
    }
}

fn words(roles: &[Role]) -> String {
    roles.iter().map(|role| role.word()).collect::<Vec<_>>().join(", ")
}

/// How a person stands before they are written of again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Standing {
    pub person: Named<PersonId>,
    pub roles: Vec<Role>,
    pub retired: bool,
    /// How many others are owners and have not retired.
    pub other_owners: i64,
}

impl Standing {
    fn is_last_owner(&self) -> bool {
        !self.retired && self.roles.contains(&Role::Owner) && self.other_owners == 0
    }

    fn here(&self) -> Result<(), Refusal> {
        if self.retired {
            return Err(Refusal::of(format!("{} has retired. Bring them back first.", self.person.name)));
        }
        Ok(())
    }
}

/// Everyone has a role, or could not so much as read.
pub fn add(person: PersonAdded) -> Result<PersonAdded, Refusal> {
    some_role(&person.roles)?;
    Ok(person)
}

/// A shop keeps an owner: nobody could give the role back.
pub fn change(changed: PersonChanged, standing: &Standing) -> Result<PersonChanged, Refusal> {
    standing.here()?;
    some_role(&changed.roles)?;
    if standing.is_last_owner() && !changed.roles.contains(&Role::Owner) {
        let say = format!("{} is the only owner. Make somebody else an owner first.", standing.person.name);
        return Err(Refusal::at("roles", say));
    }
    Ok(changed)
}

/// The last owner stays.
pub fn retire(standing: &Standing) -> Result<PersonRetired, Refusal> {
    standing.here()?;
    if standing.is_last_owner() {
        let say = format!("{} is the only owner. Make somebody else an owner first.", standing.person.name);
        return Err(Refusal::of(say));
    }
    Ok(PersonRetired { person: standing.person.clone() })
}

/// Only who has retired comes back.
pub fn bring_back(standing: &Standing) -> Result<PersonReturned, Refusal> {
    if !standing.retired {
        return Err(Refusal::of(format!("{} signs here already.", standing.person.name)));
    }
    Ok(PersonReturned { person: standing.person.clone() })
}

/// Who has retired gets no new password.
pub fn reset(secret: Secret, by_console: bool, standing: &Standing) -> Result<PersonReset, Refusal> {
    standing.here()?;
    Ok(PersonReset { person: standing.person.clone(), secret, by_console })
}

fn some_role(roles: &[Role]) -> Result<(), Refusal> {
    if roles.is_empty() { Err(Refusal::at("roles", "Give at least one role.")) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::UnitSystem;

    fn ada(roles: &[Role]) -> PersonAdded {
        PersonAdded {
            person: PersonId(uuid::Uuid::from_u128(1)),
            name: "Ada Okoro".into(),
            sign_in: "ada".into(),
            initials: Initials::of_name("Ada Okoro").expect("initials"),
            roles: roles.to_vec(),
            by_console: false,
        }
    }

    fn changed(roles: &[Role]) -> PersonChanged {
        let PersonAdded { person, name, sign_in, initials, roles, .. } = ada(roles);
        PersonChanged { person, name, sign_in, initials, roles }
    }

    fn standing(roles: &[Role], other_owners: i64) -> Standing {
        let person = Named::new(PersonId(uuid::Uuid::from_u128(1)), "Ada Okoro");
        Standing { person, roles: roles.to_vec(), retired: false, other_owners }
    }

    #[test]
    fn nobody_signs_without_a_role() {
        assert_eq!(add(ada(&[])).expect_err("refused").field, "roles");
        assert_eq!(change(changed(&[]), &standing(&[Role::Cutter], 1)).expect_err("refused").field, "roles");
    }

    #[test]
    fn the_only_owner_neither_goes_nor_gives_the_role_up() {
        let only = standing(&[Role::Owner], 0);
        assert_eq!(change(changed(&[Role::Cutter]), &only).expect_err("refused").field, "roles");
        assert!(retire(&only).is_err());
        assert!(change(changed(&[Role::Owner, Role::Cutter]), &only).is_ok());
    }

    #[test]
    fn one_of_two_owners_may_go() {
        let one = standing(&[Role::Owner], 1);
        assert!(retire(&one).is_ok());
        assert!(change(changed(&[Role::Reviewer]), &one).is_ok());
    }

    #[test]
    fn who_has_retired_is_brought_back_before_anything_else() {
        let gone = Standing { retired: true, ..standing(&[Role::Cutter], 1) };
        assert!(change(changed(&[Role::Cutter]), &gone).is_err());
        assert!(reset(Secret::Password, false, &gone).is_err());
        assert!(retire(&gone).is_err());
        assert!(bring_back(&gone).is_ok());
        assert!(bring_back(&standing(&[Role::Cutter], 1)).is_err());
    }

    #[test]
    fn a_line_that_was_written_at_the_console_says_so() {
        let say = Say { system: UnitSystem::Metric };
        let added = PersonAdded { by_console: true, ..ada(&[Role::Owner]) };
        assert_eq!(added.line(&say).why, "owner, added at the console");
        let reset = reset(Secret::Password, true, &standing(&[Role::Owner], 0)).expect("reset");
        assert_eq!(reset.line(&say).why, "at the console");
    }

    #[test]
    fn a_body_from_before_there_was_a_console_still_reads() {
        let body = r#"{"initials":"AO","name":"Ada Okoro","person":"00000000-0000-0000-0000-000000000001","roles":["owner"],"sign_in":"ada"}"#;
        let read: PersonAdded = serde_json::from_str(body).expect("read");
        assert!(!read.by_console);
        assert!(!serde_json::to_string(&read).expect("written").contains("by_console"));
    }
}
