//! `/batches`: every making that is not released, by when it wants something, and the latest that are.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use crate::batches::db::{self, Listed};
use crate::batches::due;
use crate::error::Result;
use crate::recipes::Stage;
use crate::rights::Right;
use crate::web::parts::State as Mark;
use crate::web::{App, Area, Frame, Me, ledger, page};

/// How many released batches the page still lists.
const RELEASED: i64 = 20;

struct Row {
    href: String,
    code: String,
    product: String,
    recipe: String,
    place: String,
    pieces: String,
    weight: String,
    since: String,
    state: Mark,
}

struct Group {
    title: String,
    rows: Vec<Row>,
}

#[derive(Template)]
#[template(path = "batches/index.html")]
struct IndexPage {
    frame: Frame,
    groups: Vec<Group>,
    may_cure: bool,
}

/// GET `/batches`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let rows = db::listed(&mut *app.db().await?, RELEASED).await?;
    let mut groups: Vec<Group> = Vec::new();
    for stage in Stage::ALL {
        let of_stage: Vec<_> =
            rows.iter().filter(|row| row.stage == *stage).map(|listed| row(&me, listed)).collect();
        if !of_stage.is_empty() {
            groups.push(Group { title: title(*stage), rows: of_stage });
        }
    }
    let frame = Frame::new(&app, &me, Area::Batches);
    page::show(StatusCode::OK, &IndexPage { frame, groups, may_cure: me.may(Right::Cure) })
}

/// "In the making", "Curing"
fn title(stage: Stage) -> String {
    if stage == Stage::Making {
        return "In the making".into();
    }
    let word = stage.word();
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

fn row(me: &Me, row: &Listed) -> Row {
    Row {
        href: row.id.path(),
        code: row.code.to_string(),
        product: row.product_name.clone(),
        recipe: format!("{}, version {}", row.recipe_name, row.version),
        place: row.place_name.clone().unwrap_or_default(),
        pieces: if row.pieces == 0 { String::new() } else { row.pieces.to_string() },
        weight: me.shop.weight(row.grams),
        since: ledger::day(me, row.stage_at),
        state: state(me, row),
    }
}

/// How it stands with its time.
fn state(me: &Me, row: &Listed) -> Mark {
    if row.stage == Stage::Released {
        return Mark::new("met", "released");
    }
    let due = due::of(row);
    let what = due.next.map_or_else(|| "look at it".to_owned(), |next| format!("then {}", next.word()));
    if row.stage == Stage::Making {
        return Mark::new("due", "go on making it");
    }
    let day = ledger::day(me, due.over_at);
    if due.over_at <= me.now {
        Mark::new("due", format!("over since {day}, {what}"))
    } else {
        Mark::new("wait", format!("until {day}, {what}"))
    }
}
