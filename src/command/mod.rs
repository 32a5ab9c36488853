//! What can be asked of the program from a console, one file a command.

mod backup;
mod demo;
mod person;
mod restore;
mod secret;
mod serve;
mod signals;
mod verify;

use std::io::{self, IsTerminal};
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::{Context, Result};
use clap::{Args, Parser, Subcommand};
use tracing_subscriber::EnvFilter;

use crate::config::{Given, Settings};
use crate::database::{Company, Database, OpenError, Source};

pub use secret::ask as ask_secret;
pub use serve::answer;
pub use signals::Shutdown;

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "flitchbook",
    version,
    about = "A record book for a small butcher shop that cures: what came in, what became of every gram, and the evidence.",
    after_help = "Settings are taken from flags, then from the environment (FLITCHBOOK_LISTEN for --listen, and so on;\n\
        DATABASE_URL for --database-url), then from one file.\n\
        It ends with 0 when all is well, 1 when a check found something or a command failed, 2 when it was asked wrongly."
)]
pub struct Cli {
    #[command(subcommand)]
    pub command: Command,
    #[command(flatten)]
    pub settings: Given,
}

#[derive(Debug, Subcommand)]
pub enum Command {
    /// Open the book: start the pages and keep them running until Ctrl-C
    Serve,
    /// Open a book with an invented shop in it, to look around; it has a data folder of its own
    Demo,
    /// Check the whole book: every line's seal, every gram, every page's figures
    ///
    /// Ends with 1, and names the first line that does not fit, when something is off.
    Verify,
    /// Save the whole book in one file; the shop can go on working meanwhile
    Backup(BackupArgs),
    /// Put a saved book into an empty database; a book that is there already is never overwritten
    Restore(RestoreArgs),
    /// Add a person, or give one a new password, when nobody can sign in
    #[command(subcommand)]
    Person(PersonCommand),
}

#[derive(Debug, Args)]
pub struct BackupArgs {
    /// The file to write. It holds the whole book and everybody's password hash: keep it safe
    pub file: PathBuf,
    /// Put it in the place of an older backup of the same name, once it is complete
    #[arg(long)]
    pub replace: bool,
}

#[derive(Debug, Args)]
pub struct RestoreArgs {
    /// The file that `flitchbook backup` has written
    pub file: PathBuf,
}

/// The password is asked for on the terminal, or read from the first line of the input; never given as an argument,
/// where other users of the machine could read it.
#[derive(Debug, Subcommand)]
pub enum PersonCommand {
    /// Add a person who can sign in; the password is asked for
    Add {
        /// The name to sign in with
        name: String,
        /// The person's whole name, as lines of the book show it [default: the name to sign in with]
        #[arg(long)]
        full_name: Option<String>,
        /// One to four letters at the end of every line that the person signs [default: those of the whole name]
        #[arg(long)]
        initials: Option<String>,
        /// What the person may do; may be given several times
        #[arg(long = "role", required = true, value_parser = ["owner", "cutter", "curer", "reviewer", "inspector"])]
        roles: Vec<String>,
    },
    /// Give a person a new password and end all their sign-ins; the password is asked for
    Reset {
        /// The name to sign in with
        name: String,
    },
}

/// How a command ended that did not fail.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    Fine,
    /// A check found something, and has said what.
    Found,
}

/// Runs a command to its end. Whatever went wrong is told in one message, without a backtrace.
pub fn run(cli: Cli) -> ExitCode {
    let settings = match Settings::read(&cli.settings) {
        Ok(settings) => settings,
        Err(error) => {
            eprintln!("{error}");
            return ExitCode::from(2);
        }
    };
    start_log(&settings.log);
    match in_runtime(cli.command, &settings) {
        Ok(Outcome::Fine) => ExitCode::SUCCESS,
        Ok(Outcome::Found) => ExitCode::from(1),
        Err(error) => {
            eprintln!("{error:#}");
            ExitCode::from(1)
        }
    }
}

/// The runtime waits, when it is dropped, for a start of the database that was given up: so no server is left behind.
fn in_runtime(command: Command, settings: &Settings) -> Result<Outcome> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .context("The program could not be set going")?;
    runtime.block_on(async {
        // Before anything is started that must be stopped again.
        let mut shutdown = Shutdown::listen().context("The program could not listen for Ctrl-C")?;
        dispatch(command, settings, &mut shutdown).await
    })
}

async fn dispatch(command: Command, settings: &Settings, shutdown: &mut Shutdown) -> Result<Outcome> {
    match command {
        Command::Serve => serve::run(settings, shutdown).await,
        Command::Verify => unless_stopped(shutdown, verify::run(settings)).await,
        Command::Backup(arguments) => unless_stopped(shutdown, backup::run(settings, &arguments)).await,
        Command::Restore(arguments) => unless_stopped(shutdown, restore::run(settings, &arguments)).await,
        Command::Person(asked) => unless_stopped(shutdown, person::run(settings, &asked)).await,
        Command::Demo => demo::run(settings, shutdown).await,
    }
}

/// Gives the work up when somebody asks the program to stop.
pub async fn unless_stopped<T>(shutdown: &mut Shutdown, work: impl Future<Output = Result<T>>) -> Result<T> {
    tokio::select! {
        outcome = work => outcome,
        () = shutdown.asked() => anyhow::bail!("Stopped before it was done."),
    }
}

/// To standard error, so that what a command answers can be piped on.
fn start_log(filter: &str) {
    tracing_subscriber::fmt()
        // PostgreSQL's own notices are no news to a shop.
        .with_env_filter(EnvFilter::new(format!("{filter},sqlx::postgres::notice=warn")))
        .with_writer(io::stderr)
        .with_ansi(io::stderr().is_terminal())
        .init();
}

/// Opens the database with `open`, does the work, and closes it whichever way the work ended.
pub async fn with_database<T>(
    settings: &Settings,
    company: Company,
    open: impl AsyncFnOnce(&Source, Company) -> Result<Database, OpenError>,
    work: impl AsyncFnOnce(&Database) -> Result<T>,
) -> Result<T> {
    let database = open(&settings.database, company).await?;
    let outcome = work(&database).await;
    database.close().await;
    outcome
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    use super::*;

    #[test]
    fn the_command_line_is_well_formed() {
        Cli::command().debug_assert();
    }

    #[test]
    fn a_setting_may_stand_before_or_after_the_command() {
        for words in
            [["flitchbook", "--data", "/srv/book", "serve"], ["flitchbook", "serve", "--data", "/srv/book"]]
        {
            assert_eq!(Cli::try_parse_from(words).unwrap().settings.data.as_deref(), Some("/srv/book"));
        }
    }

    #[test]
    fn a_password_is_never_taken_as_an_argument() {
        let words = ["flitchbook", "person", "add", "Edda", "s3cret", "--role", "owner"];
        assert!(Cli::try_parse_from(words).is_err());
        let words = ["flitchbook", "person", "add", "Edda", "--role", "owner", "--role", "curer"];
        assert!(Cli::try_parse_from(words).is_ok());
        assert!(Cli::try_parse_from(["flitchbook", "person", "add", "Edda", "--role", "king"]).is_err());
    }
}
