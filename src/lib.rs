//! Flitchbook: a small butcher shop's record book for meat that is cured, fermented and dried.

/// Where the book is kept: the private cluster, the pool, migrations, backup and restore.
pub mod database;

/// The settings: flags, environment, file.
pub mod config;

/// What can be asked of the program from a console.
pub mod command;
