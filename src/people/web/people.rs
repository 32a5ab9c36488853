//! `/setup/people`: who signs here, and adding somebody.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::entry::{self, PersonAdded, Standing};
use super::super::{db, password};
use super::{initials, line, sign_in_name, take};
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{Named, PersonId};
use crate::measure::Initials;
use crate::rights::needs::Keep;
use crate::rights::{self, Right, Role};
use crate::web::parts::{Choice, State as Mark};
use crate::web::{App, Area, Form, Frame, Me, Signer, fresh_id, page};

/// What is asked of a person, new or changed.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct PersonForm {
    pub name: String,
    pub initials: String,
    pub sign_in: String,
    pub roles: Vec<String>,
    /// How long an inspector's sign-in is open; asked where nothing but reading is given.
    pub days: String,
    /// Asked only of a new one.
    pub password: String,
}

/// A person as typed.
pub struct Typed {
    pub name: String,
    pub initials: Initials,
    pub sign_in: String,
    pub roles: Vec<Role>,
    /// Days that the sign-in is open; none where they do more than read, or none were typed.
    pub days: Option<u16>,
}

/// Reads for how many days a sign-in is open; nothing where nothing was typed.
pub fn days(errors: &mut Errors, text: &str) -> Option<u16> {
    if text.trim().is_empty() {
        return None;
    }
    let days = text.trim().parse().ok().filter(|days| (1..=entry::LONGEST).contains(days));
    take(errors, "days", days.ok_or("A sign-in is open for 1 to 366 days."))
}

impl PersonForm {
    /// Reads all but the password.
    pub fn read(&self, errors: &mut Errors) -> Option<Typed> {
        let name = line(errors, "name", &self.name, "Give the person's name.");
        let initials = initials(errors, &self.initials, name.as_deref());
        let sign_in = sign_in_name(errors, &self.sign_in);
        let roles: Option<Vec<Role>> = self.roles.iter().map(|word| word.parse().ok()).collect();
        let roles = take(errors, "roles", roles.ok_or("There is no such role."));
        let roles = roles?;
        // Read whoever it is for, so that nothing that was typed is passed over.
        let days = days(errors, &self.days).filter(|_| rights::reads_only(&roles));
        Some(Typed { name: name?, initials: initials?, sign_in: sign_in?, roles, days })
    }
}

/// For how many days an inspector's sign-in is opened, unless the owner types another number.
const USUAL_DAYS: &str = "14";

/// Said where an inspector is to sign in without an end.
pub const DAYS_NEEDED: &str =
    "Say for how many days this inspector may sign in, 1 to 366. You can open it anew.";

/// The roles to pick from, each with what it may do.
pub fn roles() -> Vec<Choice> {
    let may = |role| match role {
        Role::Owner => "everything, and this page",
        Role::Cutter => "receives, cuts, hangs, checks",
        Role::Curer => "receives, cures, hangs, checks, dispatches, strikes",
        Role::Reviewer => "checks, decides about held lots, reviews",
        Role::Inspector => "reads everything, writes nothing, for as many days as you set",
    };
    Role::ALL.into_iter().map(|role| Choice::new(role.word(), role.word()).note(may(role))).collect()
}

struct Row {
    href: String,
    name: String,
    initials: String,
    sign_in: String,
    roles: String,
    state: Mark,
}

impl Row {
    fn of(person: db::Listed) -> Self {
        let roles: Vec<&str> = person.roles.iter().map(|role| role.word()).collect();
        let state = match (person.retired, person.has_pin) {
            (true, _) => Mark::new("gone", "retired"),
            (false, true) => Mark::new("met", "signs, has a PIN"),
            (false, false) => Mark::new("met", "signs"),
        };
        Self {
            href: person.id.path(),
            name: person.name,
            initials: person.initials,
            sign_in: person.sign_in,
            roles: roles.join(", "),
            state,
        }
    }
}

#[derive(Template)]
#[template(path = "people/people.html")]
struct PeoplePage {
    frame: Frame,
    form_id: Uuid,
    form: PersonForm,
    errors: Errors,
    rows: Vec<Row>,
    roles: Vec<Choice>,
    may_keep: bool,
}

/// GET `/setup/people`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let form = PersonForm { days: USUAL_DAYS.into(), ..PersonForm::default() };
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/setup/people`
pub async fn add(State(app): State<App>, me: Signer<Keep>, form: Form<PersonForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(id) => page::goto(&id.path()),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Signer<Keep>, form: &Form<PersonForm>) -> Result<PersonId> {
    let mut errors = Errors::default();
    let typed = form.read(&mut errors);
    if form.roles.is_empty() {
        errors.push(Refusal::at("roles", "Give at least one role."));
    }
    if let Err(refusal) = password::choose("password", &form.password) {
        errors.push(refusal);
    }
    if typed.as_ref().is_some_and(|typed| rights::reads_only(&typed.roles) && typed.days.is_none()) {
        errors.push(Refusal::at("days", DAYS_NEEDED));
    }
    let (Some(typed), true) = (typed, errors.is_empty()) else { return Err(errors.into()) };
    let hash = password::hash(app.site.hashing, form.password.clone()).await?;
    let person = PersonId::made_by(form.once.id()?);
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(person) };
    let Typed { name, initials, sign_in, roles, days } = typed;
    let standing =
        Standing { person: Named::new(person, &name), roles: roles.clone(), retired: false, other_owners: 0 };
    let added = PersonAdded { person, name, sign_in, initials, roles, by_console: false };
    pen.append(entry::add(added)?).await?;
    if let Some(days) = days {
        let from = pen.next().happened_at;
        pen.append(entry::admit(&standing, days, from)?).await?;
    }
    db::keep_password(&mut pen, person, &hash).await?;
    pen.commit().await?;
    Ok(person)
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: PersonForm, errors: Errors) -> Result<Response> {
    let people = db::people(&mut *app.db().await?).await?;
    let page = PeoplePage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        form,
        errors,
        rows: people.into_iter().map(Row::of).collect(),
        roles: roles(),
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}
