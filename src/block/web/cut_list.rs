//! `/block/cut-lists/new` and `/block/cut-lists/{id}`: writing a list of expected cuts, many lines on one form. Rows
//! that are left empty are no lines; there are always some to spare, so that it works without script.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{
    self, CutListWritten, ExpectedCut, GoesTo, LINES, MOST_CUTS, SOURCES, write_cut_list,
};
use super::picks::CUT_FORMS;
use crate::book::Pen;
use crate::error::{Error, Errors, Refusal, Result};
use crate::ids::{CutListId, ItemId};
use crate::measure::Percent;
use crate::rights::Right;
use crate::rights::needs::Cut;
use crate::setup;
use crate::web::parts::{Choice, Tab};
use crate::web::{App, Area, Form, Frame, Me, Path, Reader, Shop, Signer, fresh_id, page};

/// Rows to spare beneath the lines.
const SPARE: usize = 5;

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct CutListForm {
    name: String,
    sources: Vec<String>,
    tolerance: String,
    item: Vec<String>,
    share: Vec<String>,
    goes_to: Vec<String>,
}

struct TypedLine {
    /// Its place on the form, for what is wrong with it.
    row: usize,
    item: ItemId,
    share: Percent,
    goes_to: GoesTo,
}

struct Typed {
    name: String,
    sources: Vec<crate::book::Form>,
    tolerance: Percent,
    lines: Vec<TypedLine>,
}

impl CutListForm {
    fn of(list: &db::CutList, lines: &[db::CutListLine]) -> Self {
        Self {
            name: list.name.clone(),
            sources: list.sources.iter().map(|form| form.word().to_owned()).collect(),
            tolerance: list.tolerance.to_string(),
            item: lines.iter().map(|line| line.item.to_string()).collect(),
            share: lines.iter().map(|line| line.share.to_string()).collect(),
            goes_to: lines.iter().map(|line| line.goes_to.clone()).collect(),
        }
    }

    /// Draws the lines together: what is said of the third line then stands at the third row.
    fn without_gaps(mut self) -> Self {
        let blank = |row: usize| {
            [&self.item, &self.share]
                .iter()
                .all(|cells| cells.get(row).is_none_or(|text| text.trim().is_empty()))
        };
        let kept: Vec<usize> = (0..self.item.len()).filter(|row| !blank(*row)).collect();
        let pick =
            |cells: &[String]| kept.iter().map(|row| cells.get(*row).cloned().unwrap_or_default()).collect();
        (self.item, self.share, self.goes_to) = (pick(&self.item), pick(&self.share), pick(&self.goes_to));
        self
    }

    fn read(&self, shop: &Shop) -> Result<Typed, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the list a name.");
        let sources = self.sources.iter().map(|word| word.parse().ok()).collect::<Option<Vec<_>>>();
        if sources.is_none() {
            read.refuse("sources", "Say what the list is for.");
        }
        let tolerance = read.percent("tolerance", &self.tolerance);
        if self.item.len() > MOST_CUTS {
            read.refuse("", format!("A list has at most {MOST_CUTS} cuts."));
        }
        let rows = 0..self.item.len().min(MOST_CUTS);
        let lines = rows.filter_map(|row| self.line(&mut read, row)).collect();
        read.finish(|| Some(Typed { name: name?, sources: sources?, tolerance: tolerance?, lines }))
    }

    /// What is wrong with a line is said to the reader.
    fn line(&self, read: &mut Reader, row: usize) -> Option<TypedLine> {
        let cell = |cells: &[String]| cells.get(row).map_or("", |text| text.trim()).to_owned();
        let (item, share, goes_to) = (cell(&self.item), cell(&self.share), cell(&self.goes_to));
        let field = LINES[row];
        let item = read.value(field, &item, "Choose the cut of this line.");
        let share = read.percent(field, &share);
        let goes_to = read.value(field, &goes_to, "Say where the cut of this line goes.");
        Some(TypedLine { row, item: item?, share: share?, goes_to: goes_to? })
    }
}

/// A row of the form.
struct Row {
    n: usize,
    field: &'static str,
    item: String,
    share: String,
    goes_to: String,
}

#[derive(Template)]
#[template(path = "block/cut_list.html")]
struct CutListPage {
    frame: Frame,
    tabs: Vec<Tab>,
    title: String,
    action: String,
    form_id: Uuid,
    form: CutListForm,
    errors: Errors,
    rows: Vec<Row>,
    items: Vec<Choice>,
    uses: Vec<Choice>,
    sources: Vec<Choice>,
    sum: String,
    /// The address to which its retirement is sent; empty for a new list and one that is retired.
    retirement: String,
    retire_id: Uuid,
    retired: bool,
    may_cut: bool,
}

/// GET `/block/cut-lists/new`
pub async fn fresh(State(app): State<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, None, Errors::default()).await
}

/// GET `/block/cut-lists/{id}`
pub async fn page(State(app): State<App>, me: Me, Path(id): Path<CutListId>) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, Some(id), None, Errors::default()).await
}

/// POST `/block/cut-lists/new`
pub async fn write_new(State(app): State<App>, me: Signer<Cut>, form: Form<CutListForm>) -> Result<Response> {
    answer(&app, &me, None, form).await
}

/// POST `/block/cut-lists/{id}`
pub async fn change(
    State(app): State<App>,
    me: Signer<Cut>,
    Path(id): Path<CutListId>,
    form: Form<CutListForm>,
) -> Result<Response> {
    answer(&app, &me, Some(id), form).await
}

async fn answer(app: &App, me: &Me, id: Option<CutListId>, form: Form<CutListForm>) -> Result<Response> {
    let form = Form { fields: form.fields.without_gaps(), once: form.once };
    match sign(app, me, id, &form).await {
        Ok(()) => page::goto("/block/cut-lists"),
        Err(Error::Form(errors)) => {
            ask(app, me, StatusCode::UNPROCESSABLE_ENTITY, id, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, id: Option<CutListId>, form: &Form<CutListForm>) -> Result<()> {
    let typed = form.read(&me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    if let Some(id) = id {
        db::cut_list(&mut pen, id).await?.ok_or(Error::NotFound)?;
    }
    let cut_list = id.unwrap_or_else(|| CutListId::made_by(pen.next().id));
    let list = named(&mut pen, cut_list, typed).await?;
    pen.append(write_cut_list(list)?).await?;
    pen.commit().await
}

/// Fills in the names of the cuts.
async fn named(pen: &mut Pen, cut_list: CutListId, typed: Typed) -> Result<CutListWritten> {
    let items = setup::items(pen, &CUT_FORMS).await?;
    let mut cuts = Vec::with_capacity(typed.lines.len());
    for line in typed.lines {
        let item = items.iter().find(|item| item.id == line.item);
        let item = item.ok_or_else(|| Refusal::at(LINES[line.row], "There is no such cut."))?;
        cuts.push(ExpectedCut { item: item.named(), share: line.share, goes_to: line.goes_to });
    }
    let Typed { name, sources, tolerance, .. } = typed;
    Ok(CutListWritten { cut_list, name, sources, cuts, tolerance, retired: false })
}

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct RetireForm {}

/// POST `/block/cut-lists/{id}/retirement`
pub async fn retire(
    State(app): State<App>,
    me: Signer<Cut>,
    Path(id): Path<CutListId>,
    form: Form<RetireForm>,
) -> Result<Response> {
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else {
        return page::goto("/block/cut-lists");
    };
    let list = db::cut_list(&mut pen, id).await?.ok_or(Error::NotFound)?;
    let lines = db::cut_list_lines(&mut pen, id).await?;
    let items = setup::items(&mut pen, &[]).await?;
    let cuts = lines.iter().filter_map(|line| {
        let item = items.iter().find(|item| item.id == line.item)?.named();
        Some(ExpectedCut { item, share: line.share, goes_to: line.goes_to.parse().ok()? })
    });
    let written = CutListWritten {
        cut_list: id,
        name: list.name,
        sources: list.sources,
        cuts: cuts.collect(),
        tolerance: list.tolerance,
        retired: true,
    };
    pen.append(written).await?;
    pen.commit().await?;
    page::goto("/block/cut-lists")
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    id: Option<CutListId>,
    form: Option<CutListForm>,
    errors: Errors,
) -> Result<Response> {
    let mut conn = app.db().await?;
    let list = match id {
        Some(id) => Some(db::cut_list(&mut conn, id).await?.ok_or(Error::NotFound)?),
        None => None,
    };
    let form = match (form, &list) {
        (Some(form), _) => form,
        (None, Some(list)) => CutListForm::of(list, &db::cut_list_lines(&mut conn, list.id).await?),
        (None, None) => {
            CutListForm { tolerance: CutListWritten::usual_tolerance().to_string(), ..CutListForm::default() }
        }
    };
    let items = setup::items(&mut conn, &CUT_FORMS).await?;
    let retired = list.as_ref().is_some_and(|list| list.retired);
    let page = CutListPage {
        frame: Frame::new(app, me, Area::Block),
        tabs: super::tabs(""),
        title: list.as_ref().map_or_else(|| "New cut list".into(), |list| format!("Cut list {}", list.name)),
        action: id.map_or_else(|| "/block/cut-lists/new".into(), |id| id.path()),
        form_id: fresh_id(),
        rows: rows(&form),
        form,
        errors,
        items: items.iter().map(|item| Choice::new(item.id, item.name.clone())).collect(),
        uses: GoesTo::ALL.iter().map(|goes| Choice::new(goes.word(), goes.word())).collect(),
        sources: SOURCES.iter().map(|form| Choice::new(form.word(), form.word())).collect(),
        sum: list.as_ref().map(|list| list.sum.text()).unwrap_or_default(),
        retirement: id.filter(|_| !retired).map(|id| format!("{}/retirement", id.path())).unwrap_or_default(),
        retire_id: fresh_id(),
        retired,
        may_cut: me.may(Right::Cut),
    };
    page::show(status, &page)
}

fn rows(form: &CutListForm) -> Vec<Row> {
    let filled = form.item.iter().rposition(|item| !item.is_empty()).map_or(0, |last| last + 1);
    let typed = form.share.iter().rposition(|share| !share.trim().is_empty()).map_or(0, |last| last + 1);
    let count = (filled.max(typed) + SPARE).clamp(12, entry::MOST_CUTS);
    let cell = |cells: &[String], row: usize| cells.get(row).cloned().unwrap_or_default();
    (0..count)
        .map(|row| Row {
            n: row + 1,
            field: LINES[row],
            item: cell(&form.item, row),
            share: cell(&form.share, row),
            goes_to: cell(&form.goes_to, row),
        })
        .collect()
}
