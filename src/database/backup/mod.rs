//! The whole book in one file, and back. PostgreSQL's own archive format, so that a backup also moves the book from
//! one major version to the next.

mod dump;
mod program;
mod restore;

use std::io;
use std::path::PathBuf;

use super::cluster::OLDEST;

pub use dump::backup;
pub use restore::restore;

/// Tables whose rows are not part of the book and stay behind: who is signed in where.
const LEFT_BEHIND: [&str; 1] = ["session"];

/// Why a backup was not made or not read back.
#[derive(Debug, thiserror::Error)]
pub enum BackupError {
    #[error("There is no book in the database yet. Nothing was saved.")]
    NoBook,

    #[error("{path} exists already. Choose another name, or add --replace to put the new backup in its place.", path = path.display())]
    Exists { path: PathBuf },

    #[error("The backup could not be written to {path}: {cause}. No file of that name was made or changed.", path = path.display())]
    Write { path: PathBuf, cause: io::Error },

    #[error("{path} could not be read: {cause}", path = path.display())]
    Read { path: PathBuf, cause: io::Error },

    #[error("{path} is not a backup of a Flitchbook, or it is damaged. Nothing was restored.", path = path.display())]
    NotABackup { path: PathBuf },

    #[error(
        "The database already holds a book of {entries} entries. A restore never overwrites one: restore into another data folder (--data) or an empty database."
    )]
    BookThere { entries: i64 },

    #[error(
        "The database holds tables that are not Flitchbook's ({0}). Restore into an empty database of its own."
    )]
    Strangers(String),

    #[error(
        "PostgreSQL's programs pg_dump and pg_restore are not installed. Install them (Debian, Ubuntu: postgresql-client; Fedora: postgresql; Arch: postgresql; macOS: brew install libpq)."
    )]
    NoPrograms,

    #[error(
        "The database runs PostgreSQL {server}, and the newest pg_dump found here is version {found}, which cannot read it. Install PostgreSQL's client programs of version {server} (on Debian: postgresql-client-{server})."
    )]
    TooOld { server: u32, found: u32 },

    #[error("{what} did not work. It said:\n{said}")]
    Program { what: &'static str, said: String },

    #[error("The database did not answer")]
    Database(#[from] sqlx::Error),
}

/// The major version of the server behind `pool`.
async fn server_major(pool: &sqlx::PgPool) -> Result<u32, BackupError> {
    let number: i32 =
        sqlx::query_scalar("SELECT current_setting('server_version_num')::int").fetch_one(pool).await?;
    Ok(u32::try_from(number).map_or(OLDEST, |number| number / 10_000))
}
