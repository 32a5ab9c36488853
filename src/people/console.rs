//! What the console does with people: it lets somebody in where nobody can sign in any more.

use sqlx::PgConnection;

use super::entry::{self, PersonAdded, Secret};
use super::web::{initials, line, sign_in_name};
use super::{db, password};
use crate::book::Stamp;
use crate::error::{Errors, Refusal, Result};
use crate::ids::PersonId;
use crate::rights::Role;
use crate::web::{App, fresh_id};

/// Somebody to add, as typed.
#[derive(Debug, Clone)]
pub struct Newcomer {
    pub sign_in: String,
    pub full_name: String,
    /// Empty: those of the name.
    pub initials: String,
    pub roles: Vec<Role>,
}

impl Newcomer {
    fn read(&self, person: PersonId) -> Result<PersonAdded, Errors> {
        let mut errors = Errors::default();
        let name = line(&mut errors, "name", &self.full_name, "Give the person's name.");
        let initials = initials(&mut errors, &self.initials, name.as_deref());
        let sign_in = sign_in_name(&mut errors, &self.sign_in);
        match (name, initials, sign_in) {
            (Some(name), Some(initials), Some(sign_in)) if errors.is_empty() => Ok(PersonAdded {
                person,
                name,
                sign_in,
                initials,
                roles: self.roles.clone(),
                by_console: true,
            }),
            _ => Err(errors),
        }
    }
}

/// Says no before a password is asked for.
pub async fn may_add(app: &App, newcomer: &Newcomer) -> Result<()> {
    let mut conn = app.db().await?;
    founded(&mut conn).await?;
    let person = newcomer.read(PersonId::made_by(fresh_id()))?;
    for other in db::people(&mut conn).await? {
        if other.sign_in == person.sign_in {
            return Err(Refusal::of(
                "Somebody signs in with this name already. `person reset` gives a new password.",
            )
            .into());
        }
        if other.initials == person.initials.as_str() {
            let say =
                format!("{} signs with {} already. Give others with --initials.", other.name, other.initials);
            return Err(Refusal::of(say).into());
        }
    }
    entry::add(person)?;
    Ok(())
}

/// Adds a person who signs their own first line.
///
/// # Errors
/// A refusal on an empty book: its first line is the shop, and the page of the first start writes it.
pub async fn add(app: &App, newcomer: Newcomer, password: String) -> Result<PersonId> {
    password::choose("password", &password)?;
    let id = fresh_id();
    let person = PersonId::made_by(id);
    let added = newcomer.read(person)?;
    let hash = password::hash(app.site.hashing, password).await?;
    let Some(mut pen) = app.book.pen(stamp(id, person)).await? else { return Ok(person) };
    founded(&mut pen).await?;
    pen.append(entry::add(added)?).await?;
    db::keep_password(&mut pen, person, &hash).await?;
    pen.commit().await?;
    Ok(person)
}

/// Says no before a password is asked for.
pub async fn may_reset(app: &App, name: &str) -> Result<()> {
    whose(&mut *app.db().await?, name).await?;
    Ok(())
}

/// Gives a person a new password and ends all their sign-ins.
pub async fn reset(app: &App, name: &str, password: String) -> Result<()> {
    password::choose("password", &password)?;
    let person = whose(&mut *app.db().await?, name).await?;
    let hash = password::hash(app.site.hashing, password).await?;
    let Some(mut pen) = app.book.pen(stamp(fresh_id(), person)).await? else { return Ok(()) };
    let standing = db::standing(&mut pen, person).await?.ok_or(crate::error::Error::NotFound)?;
    pen.append(entry::reset(Secret::Password, true, &standing)?).await?;
    db::new_password(&mut pen, person, &hash).await?;
    pen.commit().await
}

async fn founded(db: &mut PgConnection) -> Result<()> {
    if crate::web::db::founded(db).await? {
        return Ok(());
    }
    Err(Refusal::of(
        "This book is empty. Start `flitchbook serve` and open its page: it asks for the shop and its owner.",
    )
    .into())
}

async fn whose(db: &mut PgConnection, name: &str) -> Result<PersonId> {
    let name = name.trim().to_lowercase();
    let person = db::people(db).await?.into_iter().find(|person| person.sign_in == name);
    let person = person.ok_or_else(|| Refusal::of(format!("Nobody signs in with the name {name}.")))?;
    if person.retired {
        let say = format!("{} has retired. The owner can bring them back under Setup, People.", person.name);
        return Err(Refusal::of(say).into());
    }
    Ok(person.id)
}

fn stamp(id: uuid::Uuid, person: PersonId) -> Stamp {
    Stamp { id, digest: [0; 32], person, happened_at: None }
}
