//! What every page shares: who signs, the form reader, the frame, failures, assets, and the guards around them.

pub mod after;
pub mod assets;
pub mod caller;
pub mod csv;
pub mod db;
pub mod echo;
pub mod failure;
pub mod fields;
pub mod form;
pub mod frame;
pub mod guard;
pub mod ledger;
pub mod lists;
pub mod me;
pub mod page;
pub mod parts;
pub mod qr;
pub mod reader;
pub mod shop;
pub mod topic;

pub use after::{After, Afterwards, Touched};
pub use caller::Caller;
pub use db::sends_for;
pub use failure::Failed;
pub use form::{Form, Once, Path, Query, fresh_id};
pub use frame::{Area, Frame};
pub use me::{Me, Signer};
pub use reader::Reader;
pub use shop::Shop;
pub use topic::{Drawn, Part, Topic};

use std::sync::Arc;

use crate::book::Book;

/// What every handler has at hand.
#[derive(Clone)]
pub struct App {
    pub book: Book,
    pub assets: Arc<assets::Assets>,
    pub site: Arc<Site>,
    /// What later rooms add to the pages of others; `app.rs` names them.
    pub parts: &'static [Part],
    /// What later rooms do after something was signed; `app.rs` names them.
    pub after: &'static [After],
}

/// How the program is reached.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Site {
    /// The origin that goes into QR codes, without a slash at its end: `https://book.example`.
    pub address: String,
    /// Whether browsers reach us over TLS, so that cookies say Secure.
    pub secure: bool,
    /// Whether a proxy in front says where a request comes from.
    pub trust_proxy: bool,
    /// How long a sign-in lasts without being used, in days.
    pub session_days: u16,
    /// Weak hashing for tests, which sign in a thousand times.
    pub hashing: Hashing,
}

/// How much work a password hash costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hashing {
    /// 19 MiB, two passes, one lane: the first choice for Argon2id of OWASP's Password Storage Cheat Sheet.
    Strong,
    /// The weakest that argon2 allows.
    ForTests,
}

impl App {
    /// A connection for reading.
    pub async fn db(&self) -> crate::error::Result<sqlx::pool::PoolConnection<sqlx::Postgres>> {
        Ok(self.book.pool.acquire().await?)
    }
}
