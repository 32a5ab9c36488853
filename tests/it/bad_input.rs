//! Every form of the program, found by walking through a shop in which every area has signed, and filled in wrongly: nothing
//! typed, too much, less than nothing, no figure at all, days that are not there or not yet, things that are not in the
//! list, by somebody without the right, from another site, to a thing that is not there. Each gets a clear error, what was
//! typed stays, and the book is as it was.
//!
//! What only makes sense in one area (a cut heavier than its source, a stale page, a lot of another kind, a form sent twice)
//! is tried in that area's own tests.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use scraper::{ElementRef, Html, Selector};
use uuid::Uuid;

use crate::crawl::{self, shape};
use crate::shop::{Cast, Page, Shop, goes_to};
use flitchbook::web::fresh_id;

/// Longer than any field takes.
const TOO_LONG: usize = 20_000;

/// How many pages of one shape are looked through for forms: every batch and every open breakdown of the demo is among them.
const PAGES_OF_A_SHAPE: usize = 150;

/// Forms that sign with nothing typed, because there is nothing to type or because what the page offers is already a whole
/// answer.
const NOTHING_TO_TYPE: &[&str] = &[
    // A limit that is empty is one that the shop does not ask for.
    "/receiving/checks",
    // It signs the figures as they stand.
    "/fermenting/{id}/judgement",
    "/recipes/{id}/retirement",
    // What is signed is that the records were looked over.
    "/release/{id}/review",
    // What is signed is that the packet was handed out as it stands.
    "/packet/{id}",
    "/block/cut-lists/{id}/retirement",
    "/setup/people/{id}/retirement",
    "/setup/people/{id}/return",
];

/// Forms that write nothing into the book: sessions, secrets and looks.
const NOT_OF_THE_BOOK: &[&str] = &["/me/theme", "/me/sign-out", "/me/sign-out-everywhere"];

/// Forms that stand before the sign-in or that a walk as one owner does not meet; each has tests of its own.
const MET_ELSEWHERE: &[(&str, &str)] = &[
    ("/start", "start.rs"),
    ("/sign-in", "signing_in.rs"),
    ("/switch/{id}", "signing_in.rs"),
    ("/setup/people/{id}/return", "people/mod.rs"),
    ("/batches/{id}/pieces", "batches/making.rs"),
    // Only while a draft waits, and while something was missed.
    // A file comes along with it.
    ("/attachments", "attachments.rs"),
    ("/plan/{id}", "plan.rs"),
    ("/plan/missed", "plan.rs"),
    // Only where a cure was too warm and no deviation speaks of it.
    ("/cold/batches/{id}", "release/cold.rs"),
    ("/batches/{id}/cure", "batches/making.rs"),
    ("/checks/limits/usual", "checks/records.rs"),
    ("/recipes/reckon", "limits/recipes.rs"),
    ("/limits/own/{id}", "limits/mod.rs"),
    ("/limits/rows/{id}", "limits/mod.rs"),
    // A device sends there, by its token.
    ("/loggers/samples", "loggers.rs"),
    ("/loggers/drafts/{id}", "loggers.rs"),
    ("/loggers/devices/{id}/end", "loggers.rs"),
];

/// A control of a form, as a browser would send it.
#[derive(Debug, Clone)]
struct Control {
    name: String,
    value: String,
    sort: Sort,
}

/// What may be typed into it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sort {
    Hidden,
    Figure,
    Words,
    Day,
    Moment,
    Choice,
    Tick,
}

/// A form as it stands on a page.
#[derive(Debug, Clone)]
struct Found {
    on: String,
    action: String,
    controls: Vec<Control>,
}

impl Found {
    /// The fields with one of them filled in otherwise; a form's own number is fresh each time.
    fn with(&self, changed: Option<(&str, &str)>) -> Vec<(String, String)> {
        let mut all = vec![("id".to_owned(), fresh_id().to_string())];
        let mut put = false;
        for control in self.controls.iter().filter(|control| control.name != "id") {
            match changed {
                Some((name, value)) if name == control.name => {
                    if !put {
                        all.push((name.to_owned(), value.to_owned()));
                    }
                    put = true;
                }
                _ => all.push((control.name.clone(), control.value.clone())),
            }
        }
        all
    }

    fn emptied(&self) -> Vec<(String, String)> {
        let mut all = self.with(None);
        for (name, value) in &mut all {
            let hidden = self.controls.iter().any(|one| one.name == *name && one.sort == Sort::Hidden);
            if !hidden {
                value.clear();
            }
        }
        all
    }
}

async fn send(shop: &Shop, cast: Cast, path: &str, fields: &[(String, String)]) -> Page {
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    shop.post_raw(cast, path, &fields).await
}

/// The forms of a page that sign something.
fn forms(on: &str, text: &str) -> Vec<Found> {
    let html = Html::parse_document(text);
    let form = Selector::parse("form[method=post]").unwrap();
    let control = Selector::parse("input[name], select[name], textarea[name], button[name]").unwrap();
    let read = |form: ElementRef| Found {
        on: on.to_owned(),
        action: form.attr("action").unwrap_or(on).to_owned(),
        controls: form.select(&control).filter_map(read_control).collect(),
    };
    html.select(&form).map(read).collect()
}

fn read_control(control: ElementRef) -> Option<Control> {
    let name = control.attr("name")?.to_owned();
    let value = control.attr("value").unwrap_or_default().to_owned();
    let ticked = control.attr("checked").is_some();
    let (sort, value) = match (control.value().name(), control.attr("type").unwrap_or("text")) {
        ("textarea", _) => (Sort::Words, control.text().collect()),
        ("select", _) => {
            let option = Selector::parse("option[selected]").unwrap();
            let chosen = control.select(&option).next().and_then(|option| option.attr("value"));
            (Sort::Choice, chosen.unwrap_or_default().to_owned())
        }
        ("button", _) | (_, "submit" | "file" | "password") => return None,
        (_, "hidden") => (Sort::Hidden, value),
        (_, "radio") => (Sort::Choice, if ticked { value } else { return None }),
        (_, "checkbox") => (Sort::Tick, if ticked { value } else { return None }),
        (_, "date") => (Sort::Day, value),
        (_, "datetime-local") => (Sort::Moment, value),
        _ if control.attr("inputmode") == Some("decimal") => (Sort::Figure, value),
        _ => (Sort::Words, value),
    };
    Some(Control { name, value, sort })
}

/// One of every shape of form that the owner meets.
async fn every_form(shop: &Shop) -> Vec<Found> {
    let mut found: BTreeMap<(String, BTreeSet<String>), Found> = BTreeMap::new();
    for (path, text) in crawl::pages(shop, Cast::Owner, PAGES_OF_A_SHAPE).await {
        let here = |form: &Found| !MET_ELSEWHERE.iter().any(|(met, _)| *met == shape(&form.action));
        for form in forms(&path, &text).into_iter().filter(here) {
            let names = form.controls.iter().map(|control| control.name.clone()).collect();
            found.entry((shape(&form.action), names)).or_insert(form);
        }
    }
    found.into_values().collect()
}

/// What is wrong with how a bad form was answered.
fn complaint(form: &Found, what: &str, page: &Page) -> Option<String> {
    let told = |why: String| Some(format!("{} on {}, {what}: {why}", form.action, form.on));
    if page.status != StatusCode::UNPROCESSABLE_ENTITY {
        return told(format!("answered {}", page.status));
    }
    if page.all(".errors li, .error, [id$=-error]").is_empty() {
        return told("no error stands on the page".into());
    }
    None
}

/// Whether a page still shows what was typed into a field.
fn keeps(page: &Page, name: &str, typed: &str) -> bool {
    let html = Html::parse_document(&page.text);
    let control = Selector::parse(&format!("input[name=\"{name}\"], textarea[name=\"{name}\"]")).unwrap();
    html.select(&control).any(|control| {
        control.attr("value") == Some(typed) || control.text().collect::<String>().trim() == typed.trim()
    })
}

/// What to type wrongly into a control of a sort.
fn wrongly(sort: Sort) -> Vec<(&'static str, String)> {
    match sort {
        Sort::Figure => vec![
            ("no figure", "a handful".into()),
            ("less than nothing", "-500".into()),
            ("a wrong unit", "5 bananas".into()),
            ("more than there is on earth", "9999999999999999999999999999999999".into()),
        ],
        Sort::Words => vec![("too long", "x".repeat(TOO_LONG))],
        Sort::Day => vec![("a day that is not there", "2026-02-30".into()), ("no day", "soon".into())],
        Sort::Moment => vec![
            ("a moment that is not there", "2026-02-30T10:00".into()),
            ("a moment to come", "2099-01-01T10:00".into()),
        ],
        Sort::Choice => vec![
            ("what is not in the list", "no such thing".into()),
            ("what is not in the book", Uuid::from_u128(0xbad).to_string()),
        ],
        Sort::Hidden | Sort::Tick => vec![],
    }
}

#[tokio::test]
async fn every_form_refuses_what_is_wrong_keeps_what_was_typed_and_leaves_the_book_alone() {
    let shop = Shop::demo().await;
    leave_open(&shop).await;
    let all = every_form(&shop).await;
    let mut wrong = untried(&all);
    for form in all.iter().filter(|form| !NOT_OF_THE_BOOK.contains(&shape(&form.action).as_str())) {
        let before = shop.lines().await;
        wrong.extend(nothing_typed(&shop, form).await);
        wrong.extend(typed_wrongly(&shop, form).await);
        if !form.action.starts_with("/me/") {
            wrong.extend(from_the_wrong_hands(&shop, form).await);
        }
        if shop.lines().await != before {
            wrong.push(format!("{} on {}: the book has changed", form.action, form.on));
        }
    }
    assert!(wrong.is_empty(), "{} of {} forms:\n{}", wrong.len(), all.len(), wrong.join("\n"));
}

/// What a shop has in hand at any hour, and the demo's story closes: something on the block, batches in the making, something
/// held, something found out of limits.
async fn leave_open(shop: &Shop) {
    let pool = &shop.app.book.pool;
    let one = async |sql: &'static str| -> String { sqlx::query_scalar(sql).fetch_one(pool).await.unwrap() };
    let lot = one(
        "SELECT id::text FROM lot WHERE form = 'cut' AND grams > 1000 AND struck_by IS NULL AND NOT EXISTS
                   (SELECT 1 FROM hold h WHERE h.lot = lot.id AND h.lifted_by IS NULL) ORDER BY seq LIMIT 1",
    )
    .await;
    goes_to(&shop.post(Cast::Owner, "/block", &[("lot", &lot), ("cut_list", "")]).await);
    let place = one("SELECT id::text FROM place WHERE kind = 'curing fridge' LIMIT 1").await;
    for kind in ["dry cure, equilibrium", "ground and fermented"] {
        let recipe = "SELECT recipe::text || '/' || version FROM recipe_version WHERE kind = $1 ORDER BY seq DESC LIMIT 1";
        let recipe: String = sqlx::query_scalar(recipe).bind(kind).fetch_one(pool).await.unwrap();
        let begun = [("recipe", recipe.as_str()), ("meat", "2"), ("meat_unit", "kg"), ("place", &place)];
        goes_to(&shop.post(Cast::Owner, "/batches/new", &begun).await);
    }
    let salt = one("SELECT code FROM lot WHERE form = 'ingredient' AND grams > 0 ORDER BY seq LIMIT 1").await;
    goes_to(&shop.post(Cast::Owner, "/checks/holds", &[("code", &salt), ("reason", "A torn bag.")]).await);
    let cooler = one("SELECT id::text FROM place WHERE kind = 'cooler' LIMIT 1").await;
    let warm = [("place", cooler.as_str()), ("quantity", "temperature"), ("value", "9.4 C")];
    goes_to(&shop.post(Cast::Owner, "/checks/record", &warm).await);
    // One that only waits for the decision.
    let deviation = goes_to(&shop.post(Cast::Owner, "/checks/record", &warm).await);
    let words = ["cause", "control", "prevent", "product"].map(|part| (part, "As the round's sheet says."));
    goes_to(&shop.post(Cast::Owner, &format!("{deviation}/corrective-action"), &words).await);
}

async fn nothing_typed(shop: &Shop, form: &Found) -> Option<String> {
    if NOTHING_TO_TYPE.contains(&shape(&form.action).as_str()) {
        return None;
    }
    let before = shop.lines().await;
    let page = send(shop, Cast::Owner, &form.action, &form.emptied()).await;
    // A draft, a search among drafts: another page and nothing signed.
    let unsigned = shop.lines().await == before;
    let elsewhere = page.status == StatusCode::SEE_OTHER || page.status.is_success();
    if unsigned && elsewhere { None } else { complaint(form, "nothing typed", &page) }
}

async fn typed_wrongly(shop: &Shop, form: &Found) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut tried = BTreeSet::new();
    for control in form.controls.iter().filter(|control| tried.insert(control.name.clone())) {
        for (what, typed) in wrongly(control.sort) {
            let what = format!("{what} in {}", control.name);
            let fields = form.with(Some((&control.name, &typed)));
            let page = send(shop, Cast::Owner, &form.action, &fields).await;
            // A choice that is not there is a thing that is not there.
            if control.sort == Sort::Choice && page.status == StatusCode::NOT_FOUND {
                continue;
            }
            let refused = complaint(form, &what, &page);
            if refused.is_none() && control.sort != Sort::Choice && !keeps(&page, &control.name, &typed) {
                wrong.push(format!("{} on {}, {what}: what was typed is gone", form.action, form.on));
            }
            wrong.extend(refused);
        }
    }
    wrong
}

/// Somebody without the right, nobody, another site, and a thing that is not there.
async fn from_the_wrong_hands(shop: &Shop, form: &Found) -> Vec<String> {
    let fields = form.with(None);
    let body = serde_html_form::to_string(&fields).unwrap();
    let foreign = Request::post(&form.action)
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .header("sec-fetch-site", "cross-site");
    let mut wrong = Vec::new();
    let mut expect = |who: &str, found: StatusCode, right: &[StatusCode]| {
        if !right.contains(&found) {
            wrong.push(format!("{}: {who} is answered {found}", form.action));
        }
    };
    let inspector = send(shop, Cast::Inspector, &form.action, &fields).await.status;
    expect("an inspector", inspector, &[StatusCode::FORBIDDEN]);
    let stranger = send(shop, Cast::Stranger, &form.action, &fields).await.status;
    expect("a stranger", stranger, &[StatusCode::UNAUTHORIZED]);
    let foreign = shop.send(Cast::Owner, foreign, Body::from(body)).await.status;
    expect("another site", foreign, &[StatusCode::FORBIDDEN]);
    if let Some(nowhere) = elsewhere(&form.action) {
        let nowhere = send(shop, Cast::Owner, &nowhere, &fields).await.status;
        expect("what is not there", nowhere, &[StatusCode::NOT_FOUND, StatusCode::UNPROCESSABLE_ENTITY]);
    }
    wrong
}

/// The same address for a thing that nobody made.
fn elsewhere(action: &str) -> Option<String> {
    let part = action.split('/').find(|part| Uuid::parse_str(part).is_ok())?;
    Some(action.replace(part, &Uuid::from_u128(0xbad).to_string()))
}

/// Every address that takes a form is among those that are tried, or says where else it is.
fn untried(all: &[Found]) -> Vec<String> {
    let tried: BTreeSet<String> = all.iter().map(|form| shape(&form.action)).collect();
    let mut missed = Vec::new();
    for folder in fs::read_dir("src").unwrap() {
        let Ok(text) = fs::read_to_string(folder.unwrap().path().join("mod.rs")) else { continue };
        for line in text.lines().filter(|line| line.contains("post(") && line.contains(".route(")) {
            let address = line.split('"').nth(1).unwrap();
            let address = address.split('/').map(|part| if part.starts_with('{') { "{id}" } else { part });
            let address = address.collect::<Vec<_>>().join("/");
            if !tried.contains(&address) && !MET_ELSEWHERE.iter().any(|(met, _)| *met == address) {
                missed.push(format!("no page of the demo has a form for {address}"));
            }
        }
    }
    missed
}
