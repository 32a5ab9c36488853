//! An invented shop and about ten weeks of its work, for looking around. The story is told through the program's own
//! forms, with times relative to the day on which it is started, so that Today always has something due.

mod db;
mod story;
mod teller;

use anyhow::{Context, Result};
use time::{Duration, OffsetDateTime};

use crate::app;
use crate::clock::Clock;
use crate::measure::ShopZone;
use crate::people;
use crate::web::{App, Hashing, Site};

use teller::Teller;

/// How many days before today the story begins.
const DAYS: i64 = 70;
/// Where the shop is.
const ZONE: &str = "Europe/London";
/// What people sign in with while the story is told; nobody is told it, and it is changed when the story ends.
const WHILE_TOLD: &str = "told, not typed, by anyone";

/// How to sign in to the demo.
pub struct SignIn {
    pub name: &'static str,
    pub password: String,
}

/// Whether a story has been told in this book already.
pub async fn is_told(app: &App) -> Result<bool> {
    let mut conn = app.db().await?;
    Ok(crate::web::db::founded(&mut conn).await?)
}

/// Tells the whole story into an empty book.
pub async fn tell(pool: sqlx::PgPool, site: &Site, now: OffsetDateTime) -> Result<()> {
    let zone = ShopZone::parse(ZONE)?;
    let clock = Clock::told(now - Duration::days(DAYS + 1));
    let site = Site { hashing: Hashing::ForTests, secure: false, session_days: 365, ..site.clone() };
    let mut teller = Teller::begin(app::open(pool, clock, site), zone, now);
    story::tell(&mut teller).await
}

/// Gives everyone in the demo a new password, drawn at random: no password comes with the program, not even here.
pub async fn new_sign_in(app: &App) -> Result<SignIn> {
    let mut bytes = [0; 6];
    getrandom::fill(&mut bytes).map_err(|why| anyhow::anyhow!("no randomness: {why}"))?;
    let number = bytes.iter().fold(0_u64, |number, byte| number * 256 + u64::from(*byte));
    let password = format!("demo-{:012}", number % 1_000_000_000_000);
    people::give_everyone_this_password(app, &password).await.context("the demo's people got no password")?;
    Ok(SignIn { name: story::OWNER, password })
}
