//! `flitchbook verify`

use anyhow::Result;

use super::{Outcome, with_database};
use crate::app;
use crate::book::verify::{Report, verify};
use crate::config::Settings;
use crate::database::{self, Company, Database};

/// Reads the whole book and says what does not fit, the first line that does not fit first.
pub async fn run(settings: &Settings) -> Result<Outcome> {
    with_database(settings, Company::Beside, database::open, async |database| {
        Ok(tell(&check(database).await?))
    })
    .await
}

/// Checks an open book.
pub async fn check(database: &Database) -> Result<Report> {
    let migrations: Vec<&str> = database::MIGRATIONS.iter().map(|step| step.sql.as_str()).collect();
    Ok(verify(database.pool(), &app::kinds(), &migrations).await?)
}

/// Prints the report.
pub fn tell(report: &Report) -> Outcome {
    if report.findings.is_empty() {
        println!(
            "{} lines, all as they were signed; every gram and every page agrees with them.",
            report.entries
        );
        if !report.head.is_empty() {
            println!("Seal of the last line: {}", report.head);
        }
        return Outcome::Fine;
    }
    for finding in &report.findings {
        println!("{finding}");
    }
    Outcome::Found
}
