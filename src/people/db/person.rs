//! People as the book has them.

use sqlx::{PgConnection, query, query_as};

use super::super::entry::{PersonAdded, PersonChanged, PersonReset, PersonRetired, PersonReturned, Standing};
use crate::book::{Project, Seq, Written};
use crate::error::{OnConstraint, Result};
use crate::ids::{Named, PersonId};
use crate::rights::Role;

const TAKEN: &[(&str, &str, &str)] = &[
    ("person_sign_in_key", "sign_in", "Somebody else signs in with this name."),
    ("person_initials_key", "initials", "Somebody else signs with these initials."),
];

fn words(roles: &[Role]) -> Vec<String> {
    roles.iter().map(|role| role.word().to_owned()).collect()
}

impl Project for PersonAdded {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "INSERT INTO person (id, name, sign_in, initials, roles, seq) VALUES ($1, $2, $3, $4, $5, $6)",
            self.person.0,
            self.name,
            self.sign_in,
            self.initials.to_string(),
            &words(&self.roles),
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraints(TAKEN)?;
        Ok(())
    }
}

impl Project for PersonChanged {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "UPDATE person SET name = $2, sign_in = $3, initials = $4, roles = $5, seq = $6 WHERE id = $1",
            self.person.0,
            self.name,
            self.sign_in,
            self.initials.to_string(),
            &words(&self.roles),
            at.seq as Seq
        )
        .execute(db)
        .await
        .on_constraints(TAKEN)?;
        Ok(())
    }
}

impl Project for PersonRetired {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!("UPDATE person SET retired_by = $2 WHERE id = $1", self.person.id.0, at.seq as Seq)
            .execute(db)
            .await?;
        Ok(())
    }
}

impl Project for PersonReturned {
    async fn apply(&self, db: &mut PgConnection, at: &Written) -> Result<()> {
        query!(
            "UPDATE person SET retired_by = NULL, seq = $2 WHERE id = $1",
            self.person.id.0,
            at.seq as Seq
        )
        .execute(db)
        .await?;
        Ok(())
    }
}

/// The secret itself stands outside the book, in `credential`.
impl Project for PersonReset {}

/// A person, as the list of people shows them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    pub id: PersonId,
    pub name: String,
    pub sign_in: String,
    pub initials: String,
    pub roles: Vec<Role>,
    pub retired: bool,
    pub has_pin: bool,
}

/// Everybody, those who have retired last, by name.
pub async fn people(db: &mut PgConnection) -> Result<Vec<Listed>> {
    let people = query_as!(
        Listed,
        r#"SELECT p.id AS "id: PersonId", p.name, p.sign_in, p.initials, p.roles AS "roles: Vec<Role>",
                  p.retired_by IS NOT NULL AS "retired!", c.pin IS NOT NULL AS "has_pin!"
           FROM person p LEFT JOIN credential c ON c.person = p.id
           ORDER BY p.retired_by IS NOT NULL, lower(p.name), p.initials"#
    );
    Ok(people.fetch_all(db).await?)
}

/// One of them.
pub async fn one(db: &mut PgConnection, id: PersonId) -> Result<Option<Listed>> {
    let person = query_as!(
        Listed,
        r#"SELECT p.id AS "id: PersonId", p.name, p.sign_in, p.initials, p.roles AS "roles: Vec<Role>",
                  p.retired_by IS NOT NULL AS "retired!", c.pin IS NOT NULL AS "has_pin!"
           FROM person p LEFT JOIN credential c ON c.person = p.id WHERE p.id = $1"#,
        id.0
    );
    Ok(person.fetch_optional(db).await?)
}

/// What the rules need to know of a person before they are written of again.
pub async fn standing(db: &mut PgConnection, id: PersonId) -> Result<Option<Standing>> {
    let row = query!(
        r#"SELECT p.name, p.roles AS "roles: Vec<Role>", p.retired_by IS NOT NULL AS "retired!",
                  (SELECT count(*) FROM person o WHERE o.id <> p.id AND o.retired_by IS NULL
                                                   AND 'owner' = ANY (o.roles)) AS "other_owners!"
           FROM person p WHERE p.id = $1"#,
        id.0
    )
    .fetch_optional(db)
    .await?;
    Ok(row.map(|row| Standing {
        person: Named::new(id, row.name),
        roles: row.roles,
        retired: row.retired,
        other_owners: row.other_owners,
    }))
}
