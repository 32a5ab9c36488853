//! The pages of signing in: a file a page.

pub mod me;
pub mod sign_in;
pub mod start;

use axum::http::{HeaderValue, header};
use axum::response::Response;
use sha2::{Digest, Sha256};

use crate::book::chain::{Hash, hex};
use crate::error::Result;
use crate::web::App;
use crate::web::me::COOKIE;

/// A new token of 32 random bytes, and its SHA-256 for the table.
fn new_token() -> Result<(String, Hash)> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).map_err(|why| anyhow::anyhow!("no randomness: {why}"))?;
    let token = hex(&bytes);
    let hash = Sha256::digest(&token).into();
    Ok((token, hash))
}

/// Lays the token into the browser's cookie, or takes it out when empty.
fn with_cookie(app: &App, token: &str, mut response: Response) -> Result<Response> {
    let secure = if app.site.secure { "; Secure" } else { "" };
    let age = if token.is_empty() { 0 } else { u32::from(app.site.session_days) * 24 * 60 * 60 };
    let cookie = format!("{COOKIE}={token}; Path=/; HttpOnly; SameSite=Lax; Max-Age={age}{secure}");
    let value = HeaderValue::from_str(&cookie).map_err(anyhow::Error::from)?;
    response.headers_mut().append(header::SET_COOKIE, value);
    Ok(response)
}

/// Only an address of our own: a sign-in link must not lead elsewhere.
fn own_address(next: &str) -> &str {
    let inside = next.starts_with('/') && !next.starts_with("//") && !next.contains(['\\', '\r', '\n']);
    if inside { next } else { "/" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn after_signing_in_one_stays_in_the_book() {
        assert_eq!(own_address("/block/breakdowns/1?a=b"), "/block/breakdowns/1?a=b");
        for elsewhere in
            ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example", "", "/a\r\nb"]
        {
            assert_eq!(own_address(elsewhere), "/");
        }
    }
}
