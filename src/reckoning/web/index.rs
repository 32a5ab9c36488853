//! `/reckoning`: what can be reckoned.

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::Response;

use crate::error::Result;
use crate::web::{App, Area, Frame, Me, page};

struct Tile {
    href: &'static str,
    name: &'static str,
    words: &'static str,
}

const TILES: [Tile; 9] = [
    Tile {
        href: "/reckoning/ppm",
        name: "Ppm of a cure",
        words: "Ingoing nitrite, nitrate and ascorbate by method, and how much cure makes a wanted ppm.",
    },
    Tile {
        href: "/reckoning/brine",
        name: "Brine and pump",
        words: "Per cent pump, cure for a pickle, the salt that it leaves in the piece.",
    },
    Tile {
        href: "/reckoning/belly",
        name: "Belly with its rind on",
        words: "The rind is left out of the base; the ppm with and without it.",
    },
    Tile {
        href: "/reckoning/blend",
        name: "Lean and fat",
        words: "What to take out of each bin for a wanted lean.",
    },
    Tile {
        href: "/reckoning/days",
        name: "Days of cure",
        words: "The least by thickness and weight, and what the piece weighs after it.",
    },
    Tile {
        href: "/reckoning/sack",
        name: "How far a sack goes",
        words: "Meat and batches that a weight of cure is enough for, and what is left.",
    },
    Tile { href: "/reckoning/links", name: "Links", words: "What a link weighs, how many a mince makes." },
    Tile {
        href: "/reckoning/water",
        name: "Salt in the water phase",
        words: "Before and after drying, and the most that water activity can be by salt alone.",
    },
    Tile {
        href: "/sanitizer",
        name: "Sanitizer",
        words: "How strong a mix is, in ppm, and on which side of the limits; how much of a bottle makes a wanted strength.",
    },
];

#[derive(Template)]
#[template(path = "reckoning/index.html")]
struct IndexPage {
    frame: Frame,
    tiles: &'static [Tile],
}

/// GET `/reckoning`
pub async fn page(State(app): State<App>, me: Me) -> Result<Response> {
    page::show(StatusCode::OK, &IndexPage { frame: Frame::new(&app, &me, Area::Recipes), tiles: &TILES })
}
