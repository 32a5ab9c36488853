//! `/setup`: the way to everything that the shop sets for itself.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use super::super::db;
use crate::error::Result;
use crate::web::{App, Area, Frame, Me, page};

struct Tile {
    href: &'static str,
    name: &'static str,
    big: String,
    words: &'static str,
}

#[derive(Template)]
#[template(path = "setup/index.html")]
struct IndexPage {
    frame: Frame,
    tiles: Vec<Tile>,
}

/// GET `/setup`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    let mut conn = app.db().await?;
    let counts = db::counts(&mut conn).await?;
    let tiles = vec![
        Tile {
            href: "/setup/items",
            name: "Things",
            big: counts.items.to_string(),
            words: "Carcasses, cuts, trim, ingredients, casings, products: what lots are of.",
        },
        Tile {
            href: "/setup/places",
            name: "Places",
            big: counts.places.to_string(),
            words: "Coolers, chambers, rails: where lots lie and hang, and how often each is read.",
        },
        Tile {
            href: "/setup/instruments",
            name: "Instruments",
            big: counts.instruments.to_string(),
            words: "Scales, thermometers, meters: what figures are measured with.",
        },
        Tile {
            href: "/block/cut-lists",
            name: "Cut lists",
            big: counts.cut_lists.to_string(),
            words: "What is expected of a carcass, a shoulder, a leg, and where each cut goes.",
        },
        Tile {
            href: "/limits",
            name: "Limits of curing",
            big: String::new(),
            words: "Whose limits on nitrite and nitrate the shop holds itself to, and its own.",
        },
        Tile {
            href: "/release/families",
            name: "Families of products",
            big: counts.products.to_string(),
            words: "What each product needs before it is sold: its criteria, and where each figure comes from.",
        },
        Tile {
            href: "/setup/people",
            name: "People",
            big: counts.people.to_string(),
            words: "Who signs here, with which initials and roles.",
        },
        Tile {
            href: "/inspection",
            name: "Inspection",
            big: String::new(),
            words: "What an inspector sees first, and how long records are kept.",
        },
        Tile {
            href: "/setup/labels",
            name: "Label sizes",
            big: String::new(),
            words: "What tags and pack labels measure, single or on a sheet.",
        },
        Tile {
            href: "/receiving/checks",
            name: "At the door",
            big: String::new(),
            words: "What is checked of every delivery before it comes in.",
        },
        Tile {
            href: "/checks/limits",
            name: "Limits",
            big: String::new(),
            words: "Temperatures, humidity, pH, water activity, sanitizer: what readings are held against.",
        },
        Tile {
            href: "/costs/method",
            name: "Costs",
            big: String::new(),
            words: "How a carcass's cost is shared among its cuts.",
        },
        Tile {
            href: "/fermenting/rule",
            name: "Degree-hours",
            big: String::new(),
            words: "Which published rule set fermentations are judged by, and how.",
        },
        Tile {
            href: "/setup/shop",
            name: "The shop",
            big: me.shop.currency.to_string(),
            words: "Name, address, approval number, units, time zone, scales.",
        },
    ];
    page::show(StatusCode::OK, &IndexPage { frame: Frame::new(&app, &me, Area::Setup), tiles })
}
