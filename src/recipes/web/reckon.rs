//! `/recipes/reckon`: the figures of a recipe while it is typed, by the very code that reckons a written one. Nothing is
//! written by it; without a script the button "Reckon" of the same form draws the page again with them.

use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use rust_decimal::Decimal;

use super::figures::{self, Reckoned, Sums};
use super::write::{RecipeForm, Scope};
use crate::error::{Errors, Result};
use crate::limits;
use crate::measure::Percent;
use crate::recipes::db;
use crate::recipes::entry::RecipeLine;
use crate::recipes::{Proportions, RecipeKind};
use crate::rights::needs::Cure;
use crate::setup::{self, Item};
use crate::standards::ingoing::Curing;
use crate::standards::limits::Product;
use crate::web::{App, Form, Me, Reader, Shop, Signer};

/// What a form says that can be reckoned.
struct Typed {
    kind: RecipeKind,
    brine: Option<Percent>,
    lines: Vec<RecipeLine>,
    scope: Scope,
}

impl RecipeForm {
    fn reckonable(&self, shop: &Shop, items: &[Item]) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let kind = read.value("kind", &self.kind, "Choose the kind.");
        let brine = read.maybe_percent("brine", &self.brine);
        let scope = self.scope(&mut read);
        let lines = self.lines(&mut read, items);
        read.finish(|| Some(Typed { kind: kind?, brine: brine?, lines: lines?, scope: scope? }))
    }

    fn is_untouched(&self) -> bool {
        self.percent.iter().all(|one| one.trim().is_empty())
    }
}

#[derive(Template)]
#[template(path = "recipes/reckoned.html")]
struct Fragment {
    sums: Sums,
    /// What cannot be reckoned yet, a sentence each.
    missing: Vec<String>,
    not_said: &'static str,
}

/// POST `/recipes/reckon`: the same form, the figures as a piece of HTML.
pub async fn fragment(State(app): State<App>, me: Signer<Cure>, form: Form<RecipeForm>) -> Result<Response> {
    let items = setup::items(&mut *app.db().await?, &[]).await?;
    let Drawn { head, figures } = draw(&app, &me, &form, &items).await?;
    let headers = [(header::CONTENT_TYPE, "text/html; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    Ok((headers, head + &figures).into_response())
}

/// What is said of a recipe while it is typed, as pieces of HTML.
#[derive(Default)]
pub struct Drawn {
    /// At the head of the page: that it is over a limit.
    pub head: String,
    pub figures: String,
}

/// The figures of what is typed; nothing as long as nothing is.
pub async fn draw(app: &App, me: &Me, form: &RecipeForm, items: &[Item]) -> Result<Drawn> {
    if form.is_untouched() {
        return Ok(Drawn::default());
    }
    let (sums, missing) = match form.reckonable(&me.shop, items) {
        Ok(typed) => reckon(app, me, &typed).await?,
        Err(errors) => (Sums::default(), errors.iter().map(|one| one.message.clone()).collect()),
    };
    let head = sums.head()?;
    let fragment = Fragment { sums, missing, not_said: limits::NOT_SAID };
    Ok(Drawn { head, figures: fragment.render().map_err(anyhow::Error::from)? })
}

async fn reckon(app: &App, me: &Me, typed: &Typed) -> Result<(Sums, Vec<String>)> {
    let proportions = match Proportions::new(typed.kind, &typed.lines, typed.brine) {
        Ok(proportions) => proportions,
        Err(why) => return Ok((Sums::default(), vec![why.to_string()])),
    };
    let mut conn = app.db().await?;
    let items: Vec<_> = typed.lines.iter().map(|line| line.item.id).collect();
    let lots = db::on_hand(&mut conn, &items).await?;
    let in_force = limits::in_force(&mut conn, me.today(), me.now).await?;
    let of = Reckoned {
        lines: &typed.lines,
        curing: Curing {
            way: typed.scope.way.unwrap_or_else(|| typed.kind.way()),
            pump: typed.scope.pump.unwrap_or_default(),
            pick_up: typed.scope.pick_up.unwrap_or_default(),
        },
        product: typed.scope.falls_under.unwrap_or(Product::Other),
        moisture: typed.scope.moisture,
    };
    let parts = proportions.parts(typed.lines.len());
    Ok((figures::sums(&of, &parts, Decimal::ONE_HUNDRED, &lots, &in_force), Vec::new()))
}
