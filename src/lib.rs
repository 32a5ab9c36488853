//! Flitchbook: a small butcher shop's record book for meat that is cured, fermented and dried.
//!
//! Each room may lean on those above it and on none below. `tests/it/house_rules.rs` holds it to that.

/// Weights, shares, temperatures, money, codes and days: read as people type them, printed as people read them.
pub mod measure;

/// Published formulas, one file a subject, each with its source.
pub mod standards;

/// The ids of everything that has one.
pub mod ids;

/// Refusals, which a person can mend, and failures, which we must.
pub mod error;

/// Roles and the rights that they hold.
pub mod rights;

/// The one place that asks what time it is.
pub mod clock;

/// Where the book is kept: the private cluster, the pool, migrations, backup and restore.
pub mod database;

/// The settings: flags, environment, file.
pub mod config;

/// The append-only record, mass as double entry, strikes, replay, verify.
pub mod book;

/// How a criterion stands by what is recorded: met and by which lines, not yet, or failed.
pub mod evidence;

/// What every page shares: who signs, the form reader, the frame, failures, assets, guards.
pub mod web;

/// The people who sign.
pub mod people;

/// Things, places and instruments of the shop.
pub mod setup;

/// Lines of the book as pages of their own, and striking them.
pub mod entries;

/// What was found out of limits, what was done about it, and what is on hold.
pub mod deviations;

/// Suppliers and deliveries.
pub mod receiving;

/// What a lot costs: money follows the grams.
pub mod costs;

/// Breaking down at the block.
pub mod block;

/// Limits on what goes into cured meat: whose the shop holds itself to, and its own.
pub mod limits;

/// Formulas by proportion, in versions.
pub mod recipes;

/// One making of a recipe each, from meat to released pieces.
pub mod batches;

/// Sums of the trade on pages of their own: nothing of them is kept.
pub mod reckoning;

/// Readings, limits, checks, deviations and holds.
pub mod checks;

/// Plans with their critical control points, the programmes beside them, and the checks that they ask for.
pub mod plan;

/// How long a batch has been warm, in degree-hours to pH 5.3.
pub mod fermenting;

/// What data loggers measured: imports, their seals, and readings over time.
pub mod loggers;

/// How far each piece has dried, and when it may reach its target.
pub mod drying;

/// Instruments held against what is known, and what is in question when one fails.
pub mod calibration;

/// Where things hang, and what they weigh there.
pub mod hanging;

/// How warm it was where a lot lay, and the time and cold of a cure.
pub mod cold;

/// What is done against parasites: a control for each product, and what of it is recorded.
pub mod parasites;

/// Mixing sanitizer, and which limits a strip's reading meets.
pub mod sanitizer;

/// What each family of products asks before it is sold, the review of a batch's records, and the release.
pub mod release;

/// Packs, dockets, customers, discards.
pub mod dispatch;

/// From any code back to the door and forward to whoever got it.
pub mod trace;

/// Tags and pack labels at their true size.
pub mod labels;

/// What cuts, sources, suppliers, breeds and cutters gave and cost.
pub mod yields;

/// The page of any lot or piece, and finding it by its code.
pub mod lots;

/// Papers attached to what they speak of, sealed by the book.
pub mod attachments;

/// What is handed to the inspector: the records of a batch, a lot, a place or a span of days in one file.
pub mod packet;

/// What an inspector sees first, and how long records are kept.
pub mod inspection;

/// What is due, late and done today.
pub mod today;

/// The first start of an empty book, and the lists that come with the program.
pub mod start;

/// The one router that joins the areas.
pub mod app;

/// An invented shop's ten weeks, for looking around.
pub mod demo;

/// What can be asked of the program from a console.
pub mod command;
