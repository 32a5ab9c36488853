//! `flitchbook demo`

use anyhow::{Context, Result};

use super::serve::{answer, site};
use super::{Outcome, Shutdown, unless_stopped};
use crate::app;
use crate::clock::Clock;
use crate::config::Settings;
use crate::database::{self, Company, Database};
use crate::demo::{self, SignIn};
use crate::web::App;

/// Opens a book with an invented shop in it, in a data folder of its own, and says how to sign in.
pub async fn run(settings: &Settings, shutdown: &mut Shutdown) -> Result<Outcome> {
    let settings = settings.clone().for_demo();
    let opening = async { Ok(database::open(&settings.database, Company::Alone).await?) };
    let database = unless_stopped(shutdown, opening).await?;
    let served = serve(&settings, &database, shutdown).await;
    database.close().await;
    served.map(|()| Outcome::Fine)
}

async fn serve(settings: &Settings, database: &Database, shutdown: &mut Shutdown) -> Result<()> {
    let app = app::open(database.pool().clone(), Clock::Machine, site(settings));
    let sign_in = unless_stopped(shutdown, fill(settings, database, &app)).await?;
    let ready = |address| {
        println!("An invented shop's book is open on http://{address}. Ctrl-C closes it.");
        println!("Sign in as {} with the password {}", sign_in.name, sign_in.password);
        println!(
            "Others there: dunstan (cutter), ines (curer), wilf (reviewer), greta (inspector); the same password."
        );
    };
    answer(settings.listen, app::router(app.clone()), shutdown, ready).await
}

async fn fill(settings: &Settings, database: &Database, app: &App) -> Result<SignIn> {
    if !demo::is_told(app).await? {
        println!("Writing ten weeks of an invented shop into {}", settings.data.display());
        let told = demo::tell(database.pool().clone(), &site(settings), app.book.clock.now()).await;
        told.context("The demo's story could not be told; take its data folder away and start it again")?;
    }
    demo::new_sign_in(app).await
}
