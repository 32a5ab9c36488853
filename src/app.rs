//! The application: the areas joined in one router, and the layers around it.

use std::sync::Arc;

use axum::Router;
use axum::middleware::{from_fn, from_fn_with_state};
use axum::routing::get;
use sqlx::PgPool;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::request_id::{PropagateRequestIdLayer, SetRequestIdLayer};
use tower_http::trace::TraceLayer;

use crate::book::{Book, Kinds, strike::Struck};
use crate::clock::Clock;
use crate::error::Error;
use crate::web::{App, Failed, Site, assets, failure, guard, me};
use crate::{batches, block, entries, people, receiving, recipes, setup};

/// Every kind of entry that this program can read.
pub fn kinds() -> Kinds {
    let areas = [people::KINDS, setup::KINDS, receiving::KINDS, block::KINDS, recipes::KINDS, batches::KINDS];
    let own = crate::book::Kind::of::<Struck>();
    Kinds::new(areas.into_iter().flatten().copied().chain([own]))
}

/// The book on a database whose tables are up to date.
pub fn open(pool: PgPool, clock: Clock, site: Site) -> App {
    let book = Book { pool, kinds: Arc::new(kinds()), clock };
    App { book, assets: Arc::new(assets::Assets::new()), site: Arc::new(site) }
}

/// All pages. Outermost first: the request's number, the log, panics, headers, the page of a failure, same site; then
/// the session on the signed-in half.
pub fn router(app: App) -> Router {
    let signed_in = Router::new()
        .merge(people::routes())
        .merge(entries::routes())
        .merge(receiving::routes())
        .merge(block::routes())
        .merge(recipes::routes())
        .merge(batches::routes())
        .fallback(async || Error::NotFound)
        .method_not_allowed_fallback(async || Failed::Method)
        .layer(from_fn_with_state(app.clone(), me::signed_in));
    let open = Router::new()
        .merge(people::open_routes())
        .route("/static/{*name}", get(assets::serve))
        .method_not_allowed_fallback(async || Failed::Method);
    let all = open
        .fallback_service(signed_in.with_state(app.clone()))
        .layer(from_fn(guard::same_site))
        .layer(CatchPanicLayer::custom(failure::panicked))
        .layer(from_fn_with_state(app.clone(), failure::outside))
        .layer(CompressionLayer::new());
    guard::headers(all)
        .layer(TraceLayer::new_for_http())
        .layer(PropagateRequestIdLayer::x_request_id())
        .layer(SetRequestIdLayer::x_request_id(failure::Numbers))
        .with_state(app)
}
