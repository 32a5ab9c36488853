//! Brings the tables up to the program, each step in a transaction of its own.

use sqlx::migrate::{MigrateError, Migrator};
use sqlx::postgres::PgConnectOptions;
use sqlx::{ConnectOptions, Connection};

/// Every step, in order, as it was when the program was built.
pub static MIGRATIONS: Migrator = sqlx::migrate!("./migrations");

/// Why the tables could not be brought up to the program.
#[derive(Debug, thiserror::Error)]
pub enum MigrationError {
    #[error(
        "The book was last opened by a newer Flitchbook: its tables have step {0}, which this program does not know. Nothing was changed. Install the newer version again."
    )]
    Newer(i64),

    #[error(
        "The book's tables were made by another build of Flitchbook: step {0} is not the one that this program has. Nothing was changed. Install the version that last opened the book."
    )]
    Changed(i64),

    #[error(
        "Step {step} of bringing the book's tables up to this program failed and was undone; the book is as it was before that step: {cause}"
    )]
    Failed { step: i64, cause: sqlx::Error },

    #[error("The book's tables could not be checked: {0}")]
    Other(MigrateError),
}

/// Runs the steps that are missing. Two instances that start at once take turns.
///
/// On a connection of its own: a step over a large book may take longer than any page may.
pub async fn migrate(options: &PgConnectOptions) -> Result<(), MigrationError> {
    run(&MIGRATIONS, options).await
}

async fn run(steps: &Migrator, options: &PgConnectOptions) -> Result<(), MigrationError> {
    let connection = options.connect().await;
    let mut connection = connection.map_err(|error| MigrationError::Other(MigrateError::Execute(error)))?;
    let outcome = steps.run(&mut connection).await;
    // A connection that does not close cleanly is closed by the server, and its lock with it.
    let _ = connection.close().await;
    outcome.map_err(|error| match error {
        MigrateError::VersionMissing(step) => MigrationError::Newer(step),
        MigrateError::VersionMismatch(step) => MigrationError::Changed(step),
        MigrateError::ExecuteMigration(cause, step) => MigrationError::Failed { step, cause },
        other => MigrationError::Other(other),
    })
}
