//! `/parasites/methods`: the published treatments, where each stands, and confirming what is from memory.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db::{self, ConfirmedMethod};
use super::super::entry::{self, MethodConfirmed};
use super::{Sheet, tabs};
use crate::error::{Error, Errors, Result};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::standards::trichinella::{
    CAUTION, Freezing, Method, Muscle, Sausage, centre_freezing, freezer_freezing,
};
use crate::standards::trichinella::{heating, sausage, whole};
use crate::web::parts::{Choice, State as Mark, Tab};
use crate::web::{App, Area, Form, Frame, Me, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct MethodForm {
    method: String,
    in_force: String,
    reason: String,
}

impl MethodForm {
    fn read(&self, shop: &Shop) -> Result<MethodConfirmed, Errors> {
        let mut read = Reader::new(shop);
        let method = Method::of_key(&self.method);
        if method.is_none() {
            read.refuse("method", "Choose the method.");
        }
        if !["yes", "no"].contains(&self.in_force.as_str()) {
            read.refuse("in_force", "Say whether it is rested on.");
        }
        let in_force = self.in_force == "yes";
        let reason = read.note("reason", &self.reason, "Say which text it was held against, and who did.");
        read.finish(|| Some(MethodConfirmed { method: method?.key().into(), in_force, reason: reason? }))
    }
}

struct Row {
    name: &'static str,
    source: &'static str,
    state: Mark,
    reason: String,
    asks: Vec<String>,
}

#[derive(Template)]
#[template(path = "parasites/methods.html")]
struct MethodsPage {
    frame: Frame,
    tabs: Vec<Tab>,
    caution: &'static str,
    rows: Vec<Row>,
    form_id: Uuid,
    form: MethodForm,
    errors: Errors,
    methods: Vec<Choice>,
    answers: Vec<Choice>,
    may_keep: bool,
}

/// GET `/parasites/methods`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, MethodForm::default(), Errors::default()).await
}

/// POST `/parasites/methods`
pub async fn confirm(State(app): State<App>, me: Signer<Keep>, form: Form<MethodForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/parasites/methods"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<MethodForm>) -> Result<()> {
    let confirmed = entry::confirm(form.read(&me.shop)?)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(confirmed).await?;
    pen.commit().await
}

fn row(method: Method, spoken: &[ConfirmedMethod]) -> Row {
    let own = spoken.iter().find(|one| one.method == method.key());
    let state = match own {
        Some(own) if own.in_force => Mark::new("met", "confirmed by the shop"),
        Some(_) => Mark::new("gone", "no longer rested on"),
        None if method.mark().is_confirmed() => Mark::new("met", method.mark().words()),
        None => Mark::new("wait", method.mark().words()),
    };
    Row {
        name: method.words(),
        source: method.source(),
        state,
        reason: own.map(|own| own.reason.clone()).unwrap_or_default(),
        asks: asks(method),
    }
}

/// What a treatment asks for, in words: the conditions of a record that holds nothing.
fn asks(method: Method) -> Vec<String> {
    let conditions = match method {
        Method::Freezing => freezer_freezing(&Freezing::default()),
        Method::CentreFreezing => centre_freezing(&Freezing::default()),
        Method::Heating => heating(None, false),
        _ if method.is_sausage() => sausage(method, &Sausage::default()),
        _ => whole(method, &Muscle::default()),
    };
    conditions.into_iter().map(|one| format!("{}: {}", one.what, one.needed)).collect()
}

async fn ask(app: &App, me: &Me, status: StatusCode, form: MethodForm, errors: Errors) -> Result<Response> {
    let spoken = db::methods(&mut *app.db().await?).await?;
    let from_memory = Method::ALL.into_iter().filter(|method| !method.mark().is_confirmed());
    let page = MethodsPage {
        frame: Frame::new(app, me, Area::Checks),
        tabs: tabs(Sheet::Methods),
        caution: CAUTION,
        rows: Method::ALL.into_iter().map(|method| row(method, &spoken)).collect(),
        form_id: fresh_id(),
        form,
        errors,
        methods: from_memory.map(|method| Choice::new(method.key(), method.words())).collect(),
        answers: vec![
            Choice::new("yes", "Confirmed against its text"),
            Choice::new("no", "No longer rested on"),
        ],
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}
