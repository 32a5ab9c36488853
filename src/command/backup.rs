//! `flitchbook backup FILE`

use std::fs;

use anyhow::Result;

use super::{BackupArgs, Outcome, with_database};
use crate::config::Settings;
use crate::database::{self, Company};

/// The tables are left as they are: a backup must not change what it saves.
pub async fn run(settings: &Settings, arguments: &BackupArgs) -> Result<Outcome> {
    with_database(settings, Company::Beside, database::connect, async |database| {
        database::backup::backup(database, &arguments.file, arguments.replace).await?;
        let kilobytes = fs::metadata(&arguments.file).map_or(0, |file| file.len().div_ceil(1000));
        println!("The book is saved in {} ({kilobytes} kB).", arguments.file.display());
        Ok(Outcome::Fine)
    })
    .await
}
