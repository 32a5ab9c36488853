//! `/limits/rows/{key}`: one shipped limit in full, and switching on what waits for the shop.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::NOT_SAID;
use super::index::{days, scope, standing};
use crate::error::{Error, Errors, Result};
use crate::limits::db;
use crate::limits::entry::{self, CuringLimitSwitched, band};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::standards::limits::{Jurisdiction, Limit, Mark, shipped};
use crate::web::parts::{Fact, State as Word};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, ledger, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct SwitchForm {
    /// "yes" or "no".
    on: String,
    document: String,
    reason: String,
}

struct Typed {
    on: bool,
    document: String,
    reason: String,
}

impl SwitchForm {
    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let document = read.note_or_empty("document", &self.document);
        let reason = read.note_or_empty("reason", &self.reason);
        read.finish(|| Some(Typed { on: self.on == "yes", document: document?, reason: reason? }))
    }
}

#[allow(clippy::struct_excessive_bools, reason = "what the template asks is yes or no")]
#[derive(Template)]
#[template(path = "limits/row.html")]
struct RowPage {
    frame: Frame,
    form_id: Uuid,
    form: SwitchForm,
    errors: Errors,
    key: String,
    title: String,
    state: Word,
    facts: Vec<Fact>,
    note: String,
    /// Whether the shop has something to switch.
    waits: bool,
    on: bool,
    confirm: bool,
    not_said: &'static str,
    may_keep: bool,
}

/// A row of the shipped lists, and whose it is.
fn find(key: &str) -> Result<(Jurisdiction, Limit)> {
    for of in Jurisdiction::ALL {
        let set = shipped(*of).map_err(anyhow::Error::from)?;
        if let Some(limit) = set.limits.into_iter().find(|limit| limit.key == key) {
            return Ok((*of, limit));
        }
    }
    Err(Error::NotFound)
}

/// GET `/limits/rows/{key}`
pub async fn page(State(app): State<App>, me: Me, Path(key): Path<String>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, &key, SwitchForm::default(), Errors::default()).await
}

/// POST `/limits/rows/{key}`
pub async fn switch(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(key): Path<String>,
    form: Form<SwitchForm>,
) -> Result<Response> {
    match sign(&app, &me, &key, &form).await {
        Ok(()) => page::goto(&format!("/limits/rows/{key}")),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, &key, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, key: &str, form: &Form<SwitchForm>) -> Result<()> {
    let (_, row) = find(key)?;
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    let is_on = db::switches(&mut pen).await?.iter().any(|one| one.key == key && one.on);
    let switched = CuringLimitSwitched {
        key: key.to_owned(),
        name: row.name.clone(),
        band: band(&row),
        on: typed.on,
        document: typed.document,
        reason: typed.reason,
    };
    pen.append(entry::switch(switched, &row, is_on)?).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    key: &str,
    form: SwitchForm,
    errors: Errors,
) -> Result<Response> {
    let (of, limit) = find(key)?;
    let switches = db::switches(&mut *app.db().await?).await?;
    let last = switches.iter().find(|one| one.key == key);
    let on = last.is_some_and(|one| one.on);
    let mut facts = vec![
        Fact::new("Value", band(&limit)),
        Fact::new("Of", format!("{}, {}", limit.base.words(), limit.stated.word())),
        Fact::new("Holds for", scope(&limit)),
        Fact::new("Whose", of.word()),
        Fact::new("Citation", limit.citation.clone()),
        Fact::new("Mark", limit.mark.word()),
    ];
    if !limit.said.is_empty() {
        facts.push(Fact::new("In its own words", limit.said.clone()));
    }
    if let Some(required) = limit.required {
        facts.push(Fact::new("Required", format!("{required}\u{a0}ppm")));
    }
    if !days(&limit).is_empty() {
        facts.push(Fact::new("In force", days(&limit)));
    }
    if let Some(last) = last {
        let by = [&last.document, &last.reason].into_iter().filter(|text| !text.is_empty());
        let by = by.map(String::as_str).collect::<Vec<_>>().join("; ");
        let what = if on { "Switched on" } else { "Switched off" };
        facts.push(Fact::new(what, format!("{}: {by}", ledger::day(me, last.at))));
    }
    let page = RowPage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        form,
        errors,
        key: key.to_owned(),
        state: standing(&limit, on, me.today()),
        facts,
        note: limit.note.clone(),
        waits: limit.waits(),
        on,
        confirm: limit.mark == Mark::ToBeConfirmed,
        not_said: NOT_SAID,
        may_keep: me.may(Right::Keep),
        title: limit.name,
    };
    page::show(status, &page)
}
