//! How each setting is understood. A problem is a sentence; the place is added by the caller.

use std::fmt;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;

use axum::http::Uri;
use tracing_subscriber::EnvFilter;

use crate::database;

/// Answers this machine only, until somebody decides otherwise.
pub const DEFAULT_LISTEN: SocketAddr = SocketAddr::new(IpAddr::V4(Ipv4Addr::LOCALHOST), 7180);

/// An origin: scheme, host and, where it is not the usual one, port. No path, no closing slash.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PublicAddress {
    secure: bool,
    authority: String,
}

impl PublicAddress {
    /// `https://book.example.com`, `http://192.168.1.20:7180`
    pub fn parse(text: &str) -> Result<Self, String> {
        let example = "Write it as https://book.example.com, with nothing behind the host and its port.";
        let problem = || format!("“{text}” is not an address people can open. {example}");
        let uri: Uri = text.parse().map_err(|_| problem())?;
        let secure = match uri.scheme_str() {
            Some("https") => true,
            Some("http") => false,
            _ => return Err(problem()),
        };
        let authority = uri.authority().map(ToString::to_string).filter(|authority| !authority.contains('@'));
        let nothing_behind = matches!(uri.path(), "" | "/") && uri.query().is_none() && !text.contains('#');
        match authority {
            Some(authority) if nothing_behind => Ok(Self { secure, authority: authority.to_lowercase() }),
            _ => Err(problem()),
        }
    }

    /// Where nobody said how the shop is reached: the address listened on; for "all addresses", this machine.
    pub fn of_listener(listen: SocketAddr) -> Self {
        let authority = if listen.ip().is_unspecified() {
            format!("localhost:{}", listen.port())
        } else {
            listen.to_string()
        };
        Self { secure: false, authority }
    }

    /// Whether it is reached by https only, so that the cookie may be kept to it.
    pub fn is_secure(&self) -> bool {
        self.secure
    }
}

impl fmt::Display for PublicAddress {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}://{}", if self.secure { "https" } else { "http" }, self.authority)
    }
}

/// A folder, made absolute from where the program was started.
pub fn folder(text: &str) -> Result<PathBuf, String> {
    std::path::absolute(text).map_err(|error| format!("“{text}” is not a folder's path: {error}."))
}

/// An address that a connection could be tried with; it is not repeated, as it may hold a password.
pub fn database_address(text: &str) -> Result<String, String> {
    database::check_address(text).map(|()| text.to_owned()).map_err(|error| error.to_string())
}

pub fn listen(text: &str) -> Result<SocketAddr, String> {
    text.parse().map_err(|_| {
        format!("“{text}” is not an address and port to answer on, such as 127.0.0.1:7180 or [::]:7180.")
    })
}

pub fn yes_or_no(text: &str) -> Result<bool, String> {
    text.parse().map_err(|_| format!("“{text}” is neither true nor false."))
}

pub fn log_filter(text: &str) -> Result<String, String> {
    match EnvFilter::try_new(text) {
        Ok(_) => Ok(text.to_owned()),
        Err(_) => Err(format!("“{text}” is not a log level: error, warn, info, debug or trace.")),
    }
}

pub fn session_days(text: &str) -> Result<u16, String> {
    match text.parse() {
        Ok(days @ 1..=365) => Ok(days),
        _ => Err(format!("“{text}” is not a number of days from 1 to 365.")),
    }
}
