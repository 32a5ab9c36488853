//! The command line, nothing else.

use std::process::ExitCode;

use clap::Parser;
use flitchbook::command::{Cli, run};

fn main() -> ExitCode {
    run(Cli::parse())
}
