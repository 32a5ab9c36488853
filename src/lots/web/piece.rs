//! The page of a piece: the way it came, how far it has dried, what went in, what still stands between it and sale, and every
//! line of its life.

use askama::Template;
use axum::http::StatusCode;
use axum::response::Response;
use sqlx::PgConnection;

use super::super::curve::{self, Drying, Weight};
use super::super::db::{self, Went};
use super::lot::Head;
use super::stands;
use crate::book::Lot;
use crate::drying::{self, Ahead};
use crate::error::Result;
use crate::hanging::{self, Hung, Weighing};
use crate::release;
use crate::web::parts::{Chart, Fact, Figure, Notice, Stand};
use crate::web::{App, Area, Frame, Me, ledger, page};

/// A line of what went in.
struct WentRow {
    name: String,
    code: String,
    href: String,
    weight: String,
    share: &'static str,
}

#[derive(Template)]
#[template(path = "lots/piece.html")]
struct PiecePage {
    frame: Frame,
    head: Head,
    said: String,
    figures: Vec<Figure>,
    chart: Chart,
    /// What is said ahead, and how that was reckoned; both may be empty.
    ahead: String,
    how: String,
    drying: String,
    warnings: Vec<Notice>,
    stands: Vec<Stand>,
    went: Vec<WentRow>,
    facts: Vec<Fact>,
    weigh: String,
    batch: String,
}

pub async fn draw(
    app: &App,
    me: &Me,
    conn: &mut PgConnection,
    head: Head,
    lot: &Lot,
    piece: &Hung,
) -> Result<Response> {
    let weighed = hanging::weigh_ins(conn, lot.id).await?;
    let batch = db::batch(conn, piece.batch).await?;
    let went = db::went_in(conn, piece.batch, lot.id).await?;
    let known = stands::Known {
        cures: db::cures(conn, piece.batch).await?,
        stages: db::stages(conn, piece.batch).await?,
    };
    let criteria = release::piece_stands(me, conn, piece.batch, lot.id).await?;
    let facts = batch.map(|batch| {
        vec![
            Fact::new("Recipe", format!("{}, version {}", batch.recipe_name, batch.version))
                .link(batch.recipe.path()),
            Fact::new("Batch", format!("{}, begun {}", batch.code, ledger::day(me, batch.begun_at)))
                .link(batch.id.path()),
        ]
    });
    let history = drying::history(conn, piece.batch).await?;
    let ahead = history.piece(lot.id).filter(|_| lot.grams.is_positive()).map(|own| history.ahead(own));
    let warnings = drying::stalls(conn, &[lot.id]).await?;
    let page = PiecePage {
        frame: Frame::new(app, me, Area::Hanging),
        said: said(me, piece),
        figures: figures(me, piece),
        chart: chart(me, piece, &weighed, ahead.as_ref()),
        ahead: ahead.as_ref().map(|ahead| drying::said_ahead(me, ahead)).unwrap_or_default(),
        how: match &ahead {
            Some(Ahead::Foretold(forecast)) => forecast.how(),
            _ => String::new(),
        },
        drying: drying::path(piece.batch),
        warnings: warnings.into_iter().map(|stall| Notice::new("late", stall.text)).collect(),
        stands: stands::stands(me, piece, &known, criteria),
        went: went.into_iter().map(|one| went_row(me, one)).collect(),
        facts: facts.unwrap_or_default(),
        weigh: hanging::weigh_path(&head.code, ""),
        batch: piece.batch.path(),
        head,
    };
    page::show(StatusCode::OK, &page)
}

/// "Drying, day 28, rail B, hook 14"
fn said(me: &Me, piece: &Hung) -> String {
    let days = piece.days(me.today(), |at| me.shop.date(at));
    let mut stage = piece.stage.clone();
    if let Some(first) = stage.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    format!("{stage}, day {days}, {}", piece.where_it_is())
}

fn figures(me: &Me, piece: &Hung) -> Vec<Figure> {
    let system = me.shop.system;
    let figure = |name: &str, grams: crate::measure::Grams| {
        let (value, unit) = grams.figure(system);
        Figure::new(name, value, unit)
    };
    let (_, other) = piece.grams.both(system);
    let when = piece.last_at.map_or_else(|| "not weighed in yet".to_owned(), |at| ledger::moment(me, at));
    let loss = piece.loss();
    let target = loss.target.map(|target| format!(", target {target} %")).unwrap_or_default();
    let percent = loss.percent.text_places(1);
    let mut all = vec![
        figure("Weight now", piece.grams).beneath(format!("{other}, {when}")),
        figure("Green weight", piece.green).beneath(ledger::day(me, piece.green_at)),
        Figure::new("Loss", percent.trim_end_matches([' ', '%']), "%")
            .beneath(format!("of green weight{target}"))
            .chief(),
    ];
    if let Some(weight) = piece.target_weight() {
        let left = piece.grams - weight;
        let left =
            if left.is_positive() { format!("{} to go", me.shop.weight(left)) } else { "reached".to_owned() };
        all.push(figure("Target weight", weight).beneath(left));
    }
    let days = piece.days(me.today(), |at| me.shop.date(at));
    all.push(Figure::new("Days", days.to_string(), "").beneath(match piece.weigh_every {
        Some(every) => format!("weighed in every {every} days"),
        None => "no interval of weigh-ins".to_owned(),
    }));
    all
}

fn chart(me: &Me, piece: &Hung, weighed: &[Weighing], ahead: Option<&Ahead>) -> Chart {
    let weights: Vec<Weight> =
        weighed.iter().map(|one| Weight { at: one.at, grams: one.grams, struck: one.struck }).collect();
    let drying = Drying {
        green: piece.green,
        green_at: piece.green_at,
        target: piece.target_loss,
        weights: &weights,
        now: me.now,
        ahead: match ahead {
            Some(Ahead::Foretold(forecast)) => {
                Some(curve::Ahead { curve: forecast.drawn(), early: forecast.early, late: forecast.late })
            }
            _ => None,
        },
    };
    curve::chart(&drying, |at| ledger::day(me, at), |grams| me.shop.weight(grams))
}

fn went_row(me: &Me, one: Went) -> WentRow {
    WentRow {
        name: one.item_name,
        code: one.code.map(|code| code.to_string()).unwrap_or_default(),
        href: one.lot.map(|lot| lot.path()).unwrap_or_default(),
        weight: me.shop.weight(one.grams),
        share: if one.own { "this piece" } else { "the whole batch" },
    }
}
