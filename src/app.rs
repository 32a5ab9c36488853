//! The application: the areas joined in one router, and the layers around it.

use std::sync::Arc;

use axum::Router;
use axum::extract::Request;
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
use crate::web::{After, App, Failed, Part, Site, assets, echo, failure, guard, me};
use crate::{
    attachments, batches, block, calibration, checks, cold, costs, deviations, dispatch, drying, entries,
    fermenting, hanging, inspection, labels, limits, loggers, lots, packet, parasites, people, plan,
    receiving, recipes, reckoning, release, sanitizer, setup, start, today, trace, yields,
};

/// Every kind of entry that this program can read.
pub fn kinds() -> Kinds {
    let areas = [
        people::KINDS,
        setup::KINDS,
        deviations::KINDS,
        receiving::KINDS,
        costs::KINDS,
        block::KINDS,
        limits::KINDS,
        recipes::KINDS,
        batches::KINDS,
        checks::KINDS,
        plan::KINDS,
        fermenting::KINDS,
        loggers::KINDS,
        drying::KINDS,
        calibration::KINDS,
        hanging::KINDS,
        cold::KINDS,
        parasites::KINDS,
        release::KINDS,
        dispatch::KINDS,
        labels::KINDS,
        lots::KINDS,
        attachments::KINDS,
        packet::KINDS,
        inspection::KINDS,
    ];
    let own = crate::book::Kind::of::<Struck>();
    Kinds::new(areas.into_iter().flatten().copied().chain([own])).sealed_by(&[
        loggers::seals_hold,
        attachments::seals_hold,
        packet::seals_hold,
    ])
}

/// What rooms further down add to the pages of others, in the order in which a page shows them.
const PARTS: &[Part] = &[
    Part::OfBatch(plan::panel),
    Part::OfBatch(reckoning::panel),
    Part::OfBatch(fermenting::panel),
    Part::OfBatch(drying::panel),
    Part::OfBatch(parasites::panel),
    Part::OfBatch(release::panel),
    Part::OfBatch(packet::panel),
    Part::Of(calibration::part),
    Part::Of(attachments::part),
];

/// What rooms further down do after a reading, a stage or a logger's samples were signed, or a line was struck.
const AFTER: &[After] = &[fermenting::after, cold::after, plan::after, release::after];

/// The book on a database whose tables are up to date.
pub fn open(pool: PgPool, clock: Clock, site: Site) -> App {
    let book = Book { pool, kinds: Arc::new(kinds()), clock };
    App { book, assets: Arc::new(assets::Assets::new()), site: Arc::new(site), parts: PARTS, after: AFTER }
}

/// What stands before every line of the log that a request makes: its number, never what was typed.
fn span(request: &Request) -> tracing::Span {
    let number = failure::request_id(request.headers());
    tracing::info_span!("request", number, method = %request.method(), path = request.uri().path())
}

/// All pages. Outermost first: the request's number, the log, panics, headers, the page of a failure, same site; then
/// the session on the signed-in half.
pub fn router(app: App) -> Router {
    let signed_in = Router::new()
        .route("/measure/weight", get(echo::weight))
        .merge(people::routes())
        .merge(setup::routes())
        .merge(entries::routes())
        .merge(receiving::routes())
        .merge(costs::routes())
        .merge(block::routes())
        .merge(limits::routes())
        .merge(recipes::routes())
        .merge(reckoning::routes())
        .merge(batches::routes())
        .merge(checks::routes())
        .merge(plan::routes())
        .merge(fermenting::routes())
        .merge(loggers::routes())
        .merge(drying::routes())
        .merge(calibration::routes())
        .merge(hanging::routes())
        .merge(cold::routes())
        .merge(parasites::routes())
        .merge(sanitizer::routes())
        .merge(release::routes())
        .merge(dispatch::routes())
        .merge(trace::routes())
        .merge(labels::routes())
        .merge(yields::routes())
        .merge(lots::routes())
        .merge(attachments::routes())
        .merge(packet::routes())
        .merge(inspection::routes())
        .merge(today::routes())
        .fallback(async || Error::NotFound)
        .method_not_allowed_fallback(async || Failed::Method)
        .layer(from_fn_with_state(app.clone(), me::signed_in));
    let open = Router::new()
        .merge(people::open_routes())
        .merge(start::open_routes())
        .merge(loggers::open_routes())
        .route("/static/{*name}", get(assets::serve))
        .method_not_allowed_fallback(async || Failed::Method);
    let all = open
        .fallback_service(signed_in.with_state(app.clone()))
        .layer(from_fn(guard::same_site))
        .layer(CatchPanicLayer::custom(failure::panicked))
        .layer(from_fn_with_state(app.clone(), failure::outside))
        .layer(CompressionLayer::new());
    guard::headers(all)
        // A failure is logged once, where it is turned into its page, inside this span.
        .layer(TraceLayer::new_for_http().make_span_with(span).on_failure(()))
        .layer(PropagateRequestIdLayer::x_request_id())
        .layer(SetRequestIdLayer::x_request_id(failure::Numbers))
        .with_state(app)
}
