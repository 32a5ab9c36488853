//! `flitchbook restore FILE`

use anyhow::Result;

use super::{Outcome, RestoreArgs, verify, with_database};
use crate::config::Settings;
use crate::database::{self, Company};

/// The tables come as the backup has them, are brought up to this program, and then the whole book is read again.
pub async fn run(settings: &Settings, arguments: &RestoreArgs) -> Result<Outcome> {
    with_database(settings, Company::Alone, database::connect, async |database| {
        database::backup::restore(database, &arguments.file).await?;
        database.migrate().await?;
        println!("The book is restored from {}.", arguments.file.display());
        Ok(verify::tell(&verify::check(database).await?))
    })
    .await
}
