//! `/setup/labels`: the sizes that the shop prints on, and adding one.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, LabelSizeWritten, Paper, Sheet, Uses};
use crate::error::{Error, Errors, Result};
use crate::ids::LabelSizeId;
use crate::measure::{Length, LengthUnit, UnitSystem, parse_length};
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct SizeForm {
    pub name: String,
    pub unit: String,
    pub width: String,
    pub height: String,
    pub uses: String,
    /// Empty: a roll.
    pub paper: String,
    pub across: String,
    pub down: String,
    pub from_left: String,
    pub from_top: String,
    pub gap_across: String,
    pub gap_down: String,
    pub retired: String,
}

impl SizeForm {
    fn fresh(shop: &Shop) -> Self {
        let unit = if shop.system == UnitSystem::Us { LengthUnit::Inch } else { LengthUnit::Millimetre };
        Self { unit: unit.symbol().into(), uses: Uses::Both.word().into(), ..Self::default() }
    }

    pub(super) fn of(size: &LabelSizeWritten) -> Self {
        let number = |length: Length| length.number(size.unit).to_string();
        let mut form = Self {
            name: size.name.clone(),
            unit: size.unit.symbol().into(),
            width: number(size.width),
            height: number(size.height),
            uses: size.uses.word().into(),
            retired: if size.retired { "yes".into() } else { String::new() },
            ..Self::default()
        };
        if let Some(sheet) = &size.sheet {
            form.paper = sheet.paper.word().into();
            form.across = sheet.across.to_string();
            form.down = sheet.down.to_string();
            form.from_left = number(sheet.from_left);
            form.from_top = number(sheet.from_top);
            form.gap_across = number(sheet.gap_across);
            form.gap_down = number(sheet.gap_down);
        }
        form
    }

    pub(super) fn read(&self, size: LabelSizeId, shop: &Shop) -> Result<LabelSizeWritten, Errors> {
        let mut read = Reader::new(shop);
        let name = read.line("name", &self.name, "Give the size a name.");
        let unit = read.value("unit", &self.unit, "Choose what it is measured in.");
        let bare = unit.unwrap_or(LengthUnit::Millimetre);
        let width = read.take("width", parse_length(&self.width, bare));
        let height = read.take("height", parse_length(&self.height, bare));
        let uses = read.value("uses", &self.uses, "Choose what it is for.");
        let sheet = self.read_sheet(&mut read, bare);
        let retired = self.retired == "yes";
        let size = read.finish(|| {
            Some(LabelSizeWritten {
                size,
                name: name?,
                width: width?,
                height: height?,
                unit: unit?,
                uses: uses?,
                sheet: sheet?,
                retired,
            })
        })?;
        entry::write(size)
    }

    /// None inside: a roll.
    fn read_sheet(&self, read: &mut Reader, bare: LengthUnit) -> Option<Option<Sheet>> {
        let paper: Option<Paper> = read.maybe("paper", &self.paper, "Choose the paper.")?;
        let mut length = |field: &'static str, text: &str| {
            if text.trim().is_empty() {
                return Some(Length::ZERO);
            }
            read.take(field, parse_length(text, bare))
        };
        let from_left = length("from_left", &self.from_left);
        let from_top = length("from_top", &self.from_top);
        let gap_across = length("gap_across", &self.gap_across);
        let gap_down = length("gap_down", &self.gap_down);
        // On a roll nothing stands in rows, but what was typed there and cannot be read is not passed over.
        let mut count = |field: &'static str, text: &str, most: u16| {
            if paper.is_none() && text.trim().is_empty() { Some(1) } else { read.count(field, text, 1, most) }
        };
        let across = count("across", &self.across, 20);
        let down = count("down", &self.down, 40);
        let Some(paper) = paper else { return Some(None) };
        Some(Some(Sheet {
            paper,
            across: across?,
            down: down?,
            from_left: from_left?,
            from_top: from_top?,
            gap_across: gap_across?,
            gap_down: gap_down?,
        }))
    }
}

/// The answers that both pages offer.
pub(super) fn unit_choices() -> Vec<Choice> {
    LengthUnit::ALL.iter().map(|unit| Choice::new(unit.symbol(), unit.symbol())).collect()
}

pub(super) fn use_choices() -> Vec<Choice> {
    let word = |uses: Uses| match uses {
        Uses::Tag => "tags",
        Uses::Pack => "pack labels",
        Uses::Both => "both",
    };
    Uses::ALL.iter().map(|uses| Choice::new(uses.word(), word(*uses))).collect()
}

pub(super) fn paper_choices() -> Vec<Choice> {
    Paper::ALL.iter().map(|paper| Choice::new(paper.word(), paper.word())).collect()
}

struct Row {
    href: String,
    name: String,
    measures: String,
    sheet: String,
    uses: String,
    retired: bool,
}

#[derive(Template)]
#[template(path = "labels/sizes.html")]
struct SizesPage {
    frame: Frame,
    form_id: Uuid,
    form: SizeForm,
    errors: Errors,
    rows: Vec<Row>,
    units: Vec<Choice>,
    uses: Vec<Choice>,
    papers: Vec<Choice>,
    may: bool,
}

/// GET `/setup/labels`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let form = SizeForm::fresh(&me.shop);
    ask(&app, &me, StatusCode::OK, form, Errors::default()).await
}

/// POST `/setup/labels`
pub async fn add(State(app): State<App>, me: Signer<Keep>, form: Form<SizeForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/setup/labels"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, form.fields, errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<SizeForm>) -> Result<()> {
    let written = form.read(LabelSizeId::made_by(form.once.id()?), &me.shop)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(written).await?;
    pen.commit().await
}

/// The one place that draws this page.
async fn ask(app: &App, me: &Me, status: StatusCode, form: SizeForm, errors: Errors) -> Result<Response> {
    let sizes = db::sizes(&mut *app.db().await?).await?;
    let rows = sizes.into_iter().map(|size| Row {
        href: size.size.path(),
        measures: size.measures(),
        sheet: size
            .sheet
            .map(|sheet| format!("{} on {}", sheet.labels(), sheet.paper.word()))
            .unwrap_or_default(),
        uses: match size.uses {
            Uses::Tag => "tags".into(),
            Uses::Pack => "pack labels".into(),
            Uses::Both => "tags and pack labels".into(),
        },
        name: size.name,
        retired: size.retired,
    });
    let page = SizesPage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        form,
        errors,
        rows: rows.collect(),
        units: unit_choices(),
        uses: use_choices(),
        papers: paper_choices(),
        may: me.may(Right::Keep),
    };
    page::show(status, &page)
}
