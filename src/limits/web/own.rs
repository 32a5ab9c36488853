//! `/limits/own` and `/limits/own/{id}`: a limit of the shop's own, written, changed or laid aside.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::NOT_SAID;
use crate::book;
use crate::error::{Error, Errors, Result};
use crate::ids::CuringLimitId;
use crate::limits::db;
use crate::limits::entry::{self, CuringLimitWritten};
use crate::measure::{Ppm, input_day, parse_ppm};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::standards::limits::{Base, Product, StatedAs, Substance, Way};
use crate::web::ledger::{self, Style};
use crate::web::parts::{Choice, Line};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

/// How many lines of the book the page shows.
const LINES: i64 = 20;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct OwnForm {
    name: String,
    substance: String,
    way: String,
    product: String,
    least: String,
    most: String,
    base: String,
    stated: String,
    reason: String,
    document: String,
    from: String,
    until: String,
    retired: String,
}

impl OwnForm {
    fn fresh() -> Self {
        Self {
            substance: Substance::Nitrite.word().into(),
            base: Base::ByMethod.word().into(),
            stated: StatedAs::SodiumNitrite.word().into(),
            ..Self::default()
        }
    }

    fn of(own: &CuringLimitWritten) -> Self {
        let ppm = |end: Option<Ppm>| end.map(|ppm| ppm.to_string()).unwrap_or_default();
        Self {
            name: own.name.clone(),
            substance: own.substance.word().into(),
            way: own.way.map(|way| way.word().to_owned()).unwrap_or_default(),
            product: own.product.map(|product| product.word().to_owned()).unwrap_or_default(),
            least: ppm(own.least),
            most: ppm(own.most),
            base: own.base.word().into(),
            stated: own.stated.word().into(),
            reason: own.reason.clone(),
            document: own.document.clone(),
            from: own.from.map(input_day).unwrap_or_default(),
            until: own.until.map(input_day).unwrap_or_default(),
            retired: if own.retired { "yes".into() } else { String::new() },
        }
    }

    fn read(&self, shop: &Shop, limit: CuringLimitId) -> Result<CuringLimitWritten, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the limit a name.");
        let substance = read.value("substance", &self.substance, "Choose what is limited.");
        let way = read.maybe("way", &self.way, "Choose the method, or all.");
        let product = read.maybe("product", &self.product, "Choose the product, or all.");
        let least = end(&mut read, "least", &self.least);
        let most = end(&mut read, "most", &self.most);
        let base = read.value("base", &self.base, "Choose what the figure is of.");
        let stated = read.value("stated", &self.stated, "Choose what the figure is stated as.");
        let reason = read.note("reason", &self.reason, "Say why the shop sets it.");
        let document = read.note_or_empty("document", &self.document);
        let from = read.maybe_date("from", &self.from);
        let until = read.maybe_date("until", &self.until);
        read.finish(|| {
            Some(CuringLimitWritten {
                limit,
                name: name?,
                substance: substance?,
                way: way?,
                product: product?,
                least: least?,
                most: most?,
                base: base?,
                stated: stated?,
                reason: reason?,
                document: document?,
                from: from?,
                until: until?,
                instead_of: Vec::new(),
                retired: self.retired == "yes",
            })
        })
    }
}

/// One end of the limit; it may stay open.
#[allow(clippy::option_option, reason = "as the reader has it: not read, or left open, or a value")]
fn end(read: &mut Reader<'_>, field: &'static str, text: &str) -> Option<Option<Ppm>> {
    if text.trim().is_empty() { Some(None) } else { read.take(field, parse_ppm(text)).map(Some) }
}

#[derive(Template)]
#[template(path = "limits/own.html")]
struct OwnPage {
    frame: Frame,
    form_id: Uuid,
    form: OwnForm,
    errors: Errors,
    action: String,
    title: String,
    /// Whether it is written already.
    written: bool,
    /// What it stands instead of; empty where it is not looser.
    looser: String,
    substances: Vec<Choice>,
    ways: Vec<Choice>,
    products: Vec<Choice>,
    bases: Vec<Choice>,
    stated: Vec<Choice>,
    lines: Vec<Line>,
    not_said: &'static str,
    may_keep: bool,
}

/// GET `/limits/own`
pub async fn blank(State(app): State<App>, me: Signer<Keep>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, Some(OwnForm::fresh()), Errors::default()).await
}

/// POST `/limits/own`
pub async fn first(State(app): State<App>, me: Signer<Keep>, form: Form<OwnForm>) -> Result<Response> {
    write(&app, &me, None, form).await
}

/// GET `/limits/own/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<CuringLimitId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, Some(id), None, Errors::default()).await
}

/// POST `/limits/own/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Keep>,
    Path(id): Path<CuringLimitId>,
    form: Form<OwnForm>,
) -> Result<Response> {
    write(&app, &me, Some(id), form).await
}

async fn write(app: &App, me: &Me, id: Option<CuringLimitId>, form: Form<OwnForm>) -> Result<Response> {
    match sign(app, me, id, &form).await {
        Ok(()) => page::goto("/limits"),
        Err(Error::Form(errors)) => {
            ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: Option<CuringLimitId>, form: &Form<OwnForm>) -> Result<()> {
    let limit = match id {
        Some(id) => id,
        None => CuringLimitId::made_by(form.once.id()?),
    };
    let own = form.read(&me.shop, limit)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    if id.is_some() && !db::own(&mut pen).await?.iter().any(|one| one.limit == limit) {
        return Err(Error::NotFound);
    }
    let day = own.from.map_or(me.today(), |from| from.max(me.today()));
    let adopted = db::adopted_rows(&mut pen, day, me.now).await?;
    // To keep the shop is the owner's right alone.
    pen.append(entry::write_own(own, &adopted, me.may(Right::Keep))?).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: Option<CuringLimitId>,
    form: Option<OwnForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let known = match id {
        Some(id) => {
            let all = db::own(&mut conn).await?;
            Some(all.into_iter().find(|one| one.limit == id).ok_or(Error::NotFound)?)
        }
        None => None,
    };
    let entries = match id {
        Some(id) => book::db::about(&mut conn, id.0, LINES).await?,
        None => Vec::new(),
    };
    let form = form.or_else(|| known.as_ref().map(OwnForm::of)).unwrap_or_default();
    let page = OwnPage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        errors,
        action: id.map_or_else(|| "/limits/own".into(), |id| id.path()),
        title: known.as_ref().map_or_else(|| "A limit of the shop's own".into(), |own| own.name.clone()),
        written: known.is_some(),
        looser: known.map(|own| own.instead_of.join(", ")).unwrap_or_default(),
        substances: Substance::ALL.iter().map(|one| Choice::new(one.word(), one.word())).collect(),
        ways: Way::ALL.iter().map(|one| Choice::new(one.word(), one.word())).collect(),
        products: Product::ALL.iter().map(|one| Choice::new(one.word(), one.word())).collect(),
        bases: Base::ALL.iter().map(|one| Choice::new(one.word(), one.word())).collect(),
        stated: StatedAs::ALL.iter().map(|one| Choice::new(one.word(), one.word())).collect(),
        lines: ledger::lines(&app.book.kinds, me, &entries, Style { days: true, ..Style::default() })?,
        not_said: NOT_SAID,
        may_keep: me.may(Right::Keep),
        form,
    };
    page::show(status, &page)
}
