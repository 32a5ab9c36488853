//! `/fermenting/rule`: which published rule set the shop goes by, and how.

use askama::Template;
use axum::extract::State as With;
use axum::http::StatusCode;
use axum::response::Response;
use serde::Deserialize;
use uuid::Uuid;

use super::super::db;
use super::super::entry::{self, Adopted, FermentationRuleAdopted, LONGEST_GAP, USUAL_GAP, figure};
use super::DECIDES;
use crate::error::{Error, Errors, Result};
use crate::measure::UnitSystem;
use crate::rights::Right;
use crate::rights::needs::Keep;
use crate::standards::degree_hours::{Edge, Method, RuleSet, Rules, may_take};
use crate::web::parts::Choice;
use crate::web::{App, Area, Form, Frame, Me, Reader, Shop, Signer, fresh_id, page};

#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct RuleForm {
    rules: String,
    method: String,
    edge: String,
    largest_gap: String,
    source: String,
}

impl RuleForm {
    fn of(by: &Adopted, source: String) -> Self {
        Self {
            rules: by.rules.word().into(),
            method: by.method.word().into(),
            edge: by.edge.word().into(),
            largest_gap: by.largest_gap.to_string(),
            source,
        }
    }

    /// What is offered first, never signed by itself.
    fn blank(system: UnitSystem) -> Self {
        let rules = if system == UnitSystem::Us { Rules::UnitedStates } else { Rules::Canada };
        Self { rules: String::new(), ..Self::of(&Adopted::as_published(rules), String::new()) }
    }

    fn read(&self, shop: &Shop) -> Result<FermentationRuleAdopted, Errors> {
        let mut read = Reader::new(shop);
        let rules = read.value("rules", &self.rules, "Choose the rule set.");
        let method = read.value("method", &self.method, "Choose what is held against the limit.");
        let edge = read.value("edge", &self.edge, "Choose what holds exactly at the limit.");
        let largest_gap = read.count("largest_gap", &self.largest_gap, 1, LONGEST_GAP);
        let source = read.line_or_empty("source", &self.source);
        read.finish(|| {
            Some(FermentationRuleAdopted {
                rules: rules?,
                method: method?,
                edge: edge?,
                largest_gap: largest_gap?,
                source: source?,
            })
        })
    }
}

struct Listed {
    degrees: String,
    limit: String,
    exact: String,
    printed: String,
}

/// A rule set as it is published.
struct Shown {
    name: &'static str,
    base: String,
    bands: Vec<(&'static str, String)>,
    unit: &'static str,
    source: &'static str,
    mark: &'static str,
    printed: bool,
    printed_source: &'static str,
    rows: Vec<Listed>,
}

#[derive(Template)]
#[template(path = "fermenting/rule.html")]
struct RulePage {
    frame: Frame,
    form_id: Uuid,
    form: RuleForm,
    errors: Errors,
    now: String,
    said: String,
    rules: Vec<Choice>,
    methods: Vec<Choice>,
    edges: Vec<Choice>,
    gap_hint: String,
    sets: Vec<Shown>,
    decides: &'static str,
    may_keep: bool,
}

/// GET `/fermenting/rule`
pub async fn page(With(app): With<App>, me: Me) -> Result<Response> {
    ask(&app, &me, StatusCode::OK, None, Errors::default()).await
}

/// POST `/fermenting/rule`
pub async fn adopt(With(app): With<App>, me: Signer<Keep>, form: Form<RuleForm>) -> Result<Response> {
    match sign(&app, &me, &form).await {
        Ok(()) => page::goto("/fermenting/rule"),
        Err(Error::Form(errors)) => {
            ask(&app, &me, StatusCode::UNPROCESSABLE_ENTITY, Some(form.fields), errors).await
        }
        Err(other) => Err(other),
    }
}

async fn sign(app: &App, me: &Me, form: &Form<RuleForm>) -> Result<()> {
    let adopted = entry::adopt(form.read(&me.shop)?)?;
    let Some(mut pen) = app.book.pen(me.stamp(&form.once)?).await? else { return Ok(()) };
    pen.append(adopted).await?;
    pen.commit().await
}

async fn ask(
    app: &App,
    me: &Me,
    status: StatusCode,
    form: Option<RuleForm>,
    errors: Errors,
) -> Result<Response> {
    let written = db::adopted(&mut *app.db().await?).await?;
    let now = written.as_ref().map(|written| written.adopted.words()).unwrap_or_default();
    let said = written.as_ref().map(|written| written.source.clone()).unwrap_or_default();
    let drawn = match (form, written) {
        (Some(form), _) => form,
        (None, Some(written)) => RuleForm::of(&written.adopted, written.source),
        (None, None) => RuleForm::blank(me.shop.system),
    };
    let page = RulePage {
        frame: Frame::new(app, me, Area::Setup),
        form_id: fresh_id(),
        form: drawn,
        errors,
        now,
        said,
        rules: Rules::ALL
            .into_iter()
            .map(|rules| Choice::new(rules.word(), rules.set().name).note(short(rules.set())))
            .collect(),
        methods: vec![
            Choice::new(Method::Formula.word(), "Degree-hours").note("the sum, against its limit"),
            Choice::new(Method::Printed.word(), "Printed table").note("whole hours; United States only"),
        ],
        edges: vec![
            Choice::new(Edge::AtMost.word(), "At most").note("exactly at the limit is within it"),
            Choice::new(Edge::LessThan.word(), "Less than").note("exactly at the limit is over it"),
        ],
        gap_hint: format!(
            "Readings further apart say nothing of the time between: the higher of the two counts for all of it. {USUAL_GAP} \
             hours is common practice for readings by hand."
        ),
        sets: Rules::ALL.into_iter().map(|rules| shown(rules.set())).collect(),
        decides: DECIDES,
        may_keep: me.may(Right::Keep),
    };
    page::show(status, &page)
}

/// "°F above 60"
fn short(set: &RuleSet) -> String {
    format!("{} above {}", set.scale.symbol(), figure(set.base))
}

fn shown(set: &'static RuleSet) -> Shown {
    // The temperatures that the printed table lists, or every second degree over the range of a fermentation.
    let degrees: Vec<_> = if set.printed.is_empty() {
        (10..=25).map(|n| rust_decimal::Decimal::from(2 * n)).collect()
    } else {
        set.printed.iter().map(|(degrees, _)| *degrees).collect()
    };
    let row = |degrees: rust_decimal::Decimal| Listed {
        degrees: figure(degrees),
        limit: figure(set.band(degrees).limit),
        exact: may_take(set, degrees).map(|hours| figure(hours.round_dp(2))).unwrap_or_default(),
        printed: set.listed(degrees).map(|(_, hours)| figure(hours)).unwrap_or_default(),
    };
    Shown {
        name: set.name,
        base: format!("{}\u{a0}{}", figure(set.base), set.scale.symbol()),
        bands: set.bands.iter().map(|band| (band.words, figure(band.limit))).collect(),
        unit: set.scale.degree_hours(),
        source: set.source,
        mark: set.mark,
        printed: !set.printed.is_empty(),
        printed_source: set.printed_source,
        rows: degrees.into_iter().map(row).collect(),
    }
}
