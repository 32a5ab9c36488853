//! A shop that a browser can walk into.

use std::net::SocketAddr;
use std::sync::Arc;

use flitchbook::app;
use flitchbook::web::{Hashing, Site};
use thirtyfour::WebDriver;
use tokio::net::TcpListener;

use crate::driver::Driver;
use crate::shop::Shop;
use crate::tab::Tab;

/// A shop on a port, and a browser in front of it.
pub struct Open {
    pub tab: Tab,
    pub shop: Shop,
    /// Last of all, so that the browser has gone when its driver goes.
    _driver: Driver,
}

impl Open {
    /// Serves `shop` and opens a browser, then does `journey`, and shows the last page when it breaks off.
    pub async fn journey(shop: Shop, name: &str, scripts: bool, journey: impl AsyncFnOnce(&Self)) {
        let driver = Driver::start();
        let (shop, origin) = serve(shop).await;
        let browser = driver.browser(scripts).await;
        let open = Self { tab: Tab::new(browser, origin, name, scripts), shop, _driver: driver };
        journey(&open).await;
        open.leave().await;
    }

    async fn leave(self) {
        let findings = self.shop.verify().await.findings;
        let browser: WebDriver = self.tab.into_browser();
        browser.quit().await.unwrap();
        assert_eq!(findings, []);
    }
}

/// Answers on a free port of this machine, without TLS: the cookie must not ask for it.
async fn serve(mut shop: Shop) -> (Shop, String) {
    let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
    let origin = format!("http://{}", listener.local_addr().unwrap());
    let site = Site {
        address: origin.clone(),
        secure: false,
        hashing: Hashing::ForTests,
        ..(*shop.app.site).clone()
    };
    shop.app.site = Arc::new(site);
    shop.router = app::router(shop.app.clone());
    let service = shop.router.clone().into_make_service_with_connect_info::<SocketAddr>();
    tokio::spawn(async move { axum::serve(listener, service).await.unwrap() });
    (shop, origin)
}
