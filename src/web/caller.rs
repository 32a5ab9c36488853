//! Where a request comes from, as far as it matters for counting tries.

use std::convert::Infallible;
use std::net::{IpAddr, Ipv6Addr, SocketAddr};

use axum::extract::{ConnectInfo, FromRequestParts};
use axum::http::request::Parts;

use super::App;

/// The address of who asks. `None` where nobody knows it, as in a test without a network.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caller(pub Option<IpAddr>);

impl FromRequestParts<App> for Caller {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Infallible> {
        let peer = parts.extensions.get::<ConnectInfo<SocketAddr>>().map(|info| info.0.ip());
        let forwarded = parts.headers.get_all("x-forwarded-for").iter().next_back();
        let said = forwarded.and_then(|value| value.to_str().ok());
        Ok(Self(caller(peer, app.site.trust_proxy, said)))
    }
}

/// A proxy adds who asked it at the end; what stands before that, anybody could have written.
fn caller(peer: Option<IpAddr>, trust_proxy: bool, forwarded: Option<&str>) -> Option<IpAddr> {
    let said = forwarded.filter(|_| trust_proxy).and_then(|list| list.rsplit(',').next());
    said.and_then(|last| last.trim().parse().ok()).or(peer)
}

impl Caller {
    /// What its tries are counted under. Of an IPv6 address the first half: who has one has all of the other.
    pub fn counted(self) -> Option<String> {
        self.0.map(|address| match address.to_canonical() {
            IpAddr::V4(address) => address.to_string(),
            IpAddr::V6(address) => Ipv6Addr::from_bits(address.to_bits() >> 64 << 64).to_string(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn address(text: &str) -> Option<IpAddr> {
        text.parse().ok()
    }

    #[test]
    fn only_a_trusted_proxy_says_who_asks_and_only_its_own_word_counts() {
        let peer = address("127.0.0.1");
        let said = Some("203.0.113.9, 198.51.100.7");
        assert_eq!(caller(peer, true, said), address("198.51.100.7"));
        assert_eq!(caller(peer, false, said), peer);
        assert_eq!(caller(peer, true, None), peer);
        assert_eq!(caller(peer, true, Some("nonsense")), peer);
        assert_eq!(caller(None, false, said), None);
    }

    #[test]
    fn who_has_one_address_of_a_house_has_them_all() {
        let counted = |text: &str| Caller(address(text)).counted();
        assert_eq!(counted("2001:db8:1:2::1"), counted("2001:db8:1:2:ffff::9"));
        assert_ne!(counted("2001:db8:1:2::1"), counted("2001:db8:1:3::1"));
        assert_eq!(counted("::ffff:203.0.113.9"), counted("203.0.113.9"));
    }
}
