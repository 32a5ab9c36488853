//! `flitchbook person`: who has the machine lets somebody in. Nobody is signed in at a console, so the line in the book
//! is signed by the person whom it is about, and says that it was written there.

use anyhow::{Result, anyhow};

use super::{Outcome, PersonCommand, ask_secret, with_database};
use crate::app;
use crate::clock::Clock;
use crate::config::Settings;
use crate::database::{self, Company};
use crate::people::console::{self, Newcomer};
use crate::rights::Role;

/// `flitchbook person add` and `flitchbook person reset`
pub async fn run(settings: &Settings, asked: &PersonCommand) -> Result<Outcome> {
    with_database(settings, Company::Beside, database::open, async |database| {
        let app = app::open(database.pool().clone(), Clock::Machine, super::serve::site(settings));
        match asked {
            PersonCommand::Add { name, full_name, initials, roles } => {
                let newcomer = Newcomer {
                    sign_in: name.clone(),
                    full_name: full_name.clone().unwrap_or_else(|| name.clone()),
                    initials: initials.clone().unwrap_or_default(),
                    roles: roles.iter().filter_map(|word| word.parse::<Role>().ok()).collect(),
                };
                console::may_add(&app, &newcomer).await.map_err(said)?;
                let password = ask_secret("Password").await?;
                console::add(&app, newcomer, password).await.map_err(said)?;
                println!("{name} can sign in now.");
            }
            PersonCommand::Reset { name } => {
                console::may_reset(&app, name).await.map_err(said)?;
                let password = ask_secret("New password").await?;
                console::reset(&app, name, password).await.map_err(said)?;
                println!("{name} has a new password and is signed out everywhere.");
            }
        }
        Ok(Outcome::Fine)
    })
    .await
}

/// A refusal is a sentence for whoever sits there; a failure keeps its causes.
fn said(error: crate::error::Error) -> anyhow::Error {
    match error {
        crate::error::Error::Broken(why) => why,
        other => anyhow!("{other} Nothing was changed."),
    }
}
