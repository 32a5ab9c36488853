//! The people who sign: the owner's page of them, one's own page, switching on a shared tablet, the console.

mod roles;

use std::collections::BTreeMap;

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use flitchbook::people::console::{self, Newcomer};
use flitchbook::rights::Role;
use flitchbook::web::fresh_id;

use crate::shop::{Cast, PASSWORD, Page, Shop, goes_to};

/// A browser on one tablet, which keeps its cookies.
struct Browser<'a> {
    shop: &'a Shop,
    cookies: BTreeMap<String, String>,
}

impl<'a> Browser<'a> {
    fn new(shop: &'a Shop) -> Self {
        Self { shop, cookies: BTreeMap::new() }
    }

    async fn send(&mut self, request: axum::http::request::Builder, body: String) -> Page {
        let cookies: Vec<String> =
            self.cookies.iter().map(|(name, value)| format!("{name}={value}")).collect();
        let request = request.header(header::COOKIE, cookies.join("; "));
        let page = self.shop.send(Cast::Stranger, request, Body::from(body)).await;
        for line in page.headers.get_all(header::SET_COOKIE) {
            let (name, value) = line.to_str().unwrap().split(';').next().unwrap().split_once('=').unwrap();
            self.cookies.insert(name.to_owned(), value.to_owned());
        }
        page
    }

    async fn get(&mut self, path: &str) -> Page {
        self.send(Request::get(path), String::new()).await
    }

    async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Page {
        let id = fresh_id().to_string();
        let mut all = vec![("id", id.as_str())];
        all.extend_from_slice(fields);
        let request = Request::post(path).header("sec-fetch-site", "same-origin");
        self.send(request, serde_html_form::to_string(all).unwrap()).await
    }

    async fn sign_in(&mut self, name: &str) -> Page {
        self.post("/sign-in", &[("sign_in", name), ("password", PASSWORD), ("next", "/me")]).await
    }

    async fn set_pin(&mut self, pin: &str) -> Page {
        self.post("/me/pin", &[("pin", pin), ("pin_password", PASSWORD)]).await
    }

    async fn who(&mut self) -> String {
        self.get("/me").await.all("h1").join(" ")
    }
}

fn door(cast: Cast) -> String {
    format!("/switch/{}", cast.id())
}

/// A tablet on which the cutter and the curer have signed in, each with a PIN; the curer holds it.
async fn tablet(shop: &Shop) -> Browser<'_> {
    let mut tablet = Browser::new(shop);
    for (name, pin) in [("cass", "2580"), ("quill", "719064")] {
        assert_eq!(goes_to(&tablet.sign_in(name).await), "/me");
        assert_eq!(goes_to(&tablet.set_pin(pin).await), "/me?done=pin");
    }
    tablet
}

#[tokio::test]
async fn two_people_hand_a_tablet_to_each_other_by_pin() {
    let shop = Shop::open().await;
    let mut tablet = tablet(&shop).await;
    assert_eq!(tablet.who().await, "Quill Ransome");
    let before = tablet.cookies["flitchbook"].clone();
    assert_eq!(tablet.get("/me").await.all("ul.people a").len(), 1);
    let href = tablet.get("/me").await.attribute("ul.people a", "href").unwrap();
    assert!(href.starts_with(&door(Cast::Cutter)), "{href}");
    assert_eq!(tablet.get(&href).await.all("h1"), ["Cass Underhill"]);
    let switched = tablet.post(&door(Cast::Cutter), &[("pin", "2580"), ("next", "/block")]).await;
    assert_eq!(goes_to(&switched), "/block");
    assert_eq!(tablet.who().await, "Cass Underhill");
    assert_ne!(tablet.cookies["flitchbook"], before);
    tablet.post(&door(Cast::Curer), &[("pin", "719064")]).await;
    assert_eq!(tablet.who().await, "Quill Ransome");
}

#[tokio::test]
async fn the_session_before_a_switch_is_over() {
    let shop = Shop::open().await;
    let mut tablet = tablet(&shop).await;
    let mut old = Browser { shop: &shop, cookies: tablet.cookies.clone() };
    tablet.post(&door(Cast::Cutter), &[("pin", "2580")]).await;
    assert!(goes_to(&old.get("/me").await).starts_with("/sign-in"));
}

#[tokio::test]
async fn a_pin_counts_only_where_its_person_has_given_the_password() {
    let shop = Shop::open().await;
    tablet(&shop).await;
    let mut other = Browser::new(&shop);
    assert_eq!(other.post(&door(Cast::Cutter), &[("pin", "2580")]).await.status, StatusCode::NOT_FOUND);
    assert!(other.get("/switch").await.one("main").contains("Nobody has signed in on this device"));
    other.sign_in("quill").await;
    assert_eq!(other.get(&door(Cast::Cutter)).await.status, StatusCode::NOT_FOUND);
    assert_eq!(other.get("/switch/nobody").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn five_wrong_pins_ask_for_the_password_and_then_the_pin_counts_again() {
    let shop = Shop::open().await;
    let mut tablet = tablet(&shop).await;
    for n in 1..=5 {
        let page = tablet.post(&door(Cast::Cutter), &[("pin", "9999")]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert_eq!(page.one("main").contains("Five wrong PINs"), n == 5, "{n}");
        assert!(!page.text.contains("9999"));
    }
    let page = tablet.post(&door(Cast::Cutter), &[("pin", "2580")]).await;
    assert!(page.one(".errors").contains("Five wrong PINs"), "{}", page.text);
    assert_eq!(tablet.who().await, "Quill Ransome");
    assert!(tablet.get("/switch").await.one("ul.people").contains("by password, after wrong PINs"));
    tablet.sign_in("cass").await;
    tablet.post(&door(Cast::Curer), &[("pin", "719064")]).await;
    assert!(goes_to(&tablet.post(&door(Cast::Cutter), &[("pin", "2580")]).await).starts_with('/'));
    assert_eq!(tablet.who().await, "Cass Underhill");
}

#[tokio::test]
async fn a_right_pin_forgives_the_wrong_ones_before_it() {
    let shop = Shop::open().await;
    let mut tablet = tablet(&shop).await;
    for _ in 0..3 {
        for _ in 0..4 {
            tablet.post(&door(Cast::Cutter), &[("pin", "1000")]).await;
        }
        assert_eq!(goes_to(&tablet.post(&door(Cast::Cutter), &[("pin", "2580")]).await), "/");
    }
}

#[tokio::test]
async fn a_device_asks_for_the_password_again_when_the_sign_in_has_lapsed() {
    let shop = Shop::open().await;
    let mut tablet = tablet(&shop).await;
    shop.later(time::Duration::days(31));
    assert_eq!(tablet.get(&door(Cast::Cutter)).await.status, StatusCode::NOT_FOUND);
    assert!(tablet.get("/switch").await.all("ul.people a").is_empty());
}

#[tokio::test]
async fn who_signs_out_is_forgotten_on_that_device_and_the_others_are_not() {
    let shop = Shop::open().await;
    let mut tablet = tablet(&shop).await;
    assert_eq!(goes_to(&tablet.post("/me/sign-out", &[]).await), "/sign-in");
    assert_eq!(tablet.get(&door(Cast::Curer)).await.status, StatusCode::NOT_FOUND);
    assert!(tablet.get("/sign-in").await.text.contains("Sign in by PIN"));
    assert_eq!(goes_to(&tablet.post(&door(Cast::Cutter), &[("pin", "2580")]).await), "/");
}

#[tokio::test]
async fn who_signs_out_everywhere_is_out_on_every_device() {
    let shop = Shop::open().await;
    let (mut one, mut other) = (tablet(&shop).await, tablet(&shop).await);
    one.post("/me/sign-out-everywhere", &[]).await;
    assert!(goes_to(&other.get("/me").await).starts_with("/sign-in"));
    assert_eq!(other.get(&door(Cast::Curer)).await.status, StatusCode::NOT_FOUND);
    assert_eq!(other.get(&door(Cast::Cutter)).await.status, StatusCode::OK);
}

#[tokio::test]
async fn a_weak_pin_is_not_taken_and_neither_is_one_without_the_password() {
    let shop = Shop::open().await;
    let mut browser = Browser::new(&shop);
    browser.sign_in("cass").await;
    for pin in ["1234", "0000", "8888", "121212", "123", "123456789", "12a4", ""] {
        let page = browser.set_pin(pin).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{pin}");
        assert!(!page.error_at("pin").is_empty(), "{pin}");
    }
    let page = browser.post("/me/pin", &[("pin", "2580"), ("pin_password", "not mine")]).await;
    assert_eq!(page.error_at("pin_password"), "This is not your password.");
    assert!(browser.get("/switch").await.one("ul.people").contains("no PIN yet"));
}

#[tokio::test]
async fn guessing_at_ones_own_password_waits_too() {
    let shop = Shop::open().await;
    let mut browser = Browser::new(&shop);
    browser.sign_in("cass").await;
    for _ in 0..5 {
        browser.post("/me/pin", &[("pin", "2580"), ("pin_password", "a guess")]).await;
    }
    let page = browser.set_pin("2580").await;
    assert!(page.error_at("pin_password").contains("Wait 15 seconds"), "{}", page.text);
}

#[tokio::test]
async fn a_new_password_ends_every_other_sign_in_and_keeps_this_one() {
    let shop = Shop::open().await;
    let (mut here, mut elsewhere) = (Browser::new(&shop), Browser::new(&shop));
    here.sign_in("cass").await;
    elsewhere.sign_in("cass").await;
    let short = here.post("/me/password", &[("password", PASSWORD), ("new_password", "short")]).await;
    assert!(short.error_at("new_password").contains("at least 10"), "{}", short.text);
    let wrong =
        here.post("/me/password", &[("password", "no"), ("new_password", "brine and patience")]).await;
    assert_eq!(wrong.error_at("password"), "This is not your password.");
    let done =
        here.post("/me/password", &[("password", PASSWORD), ("new_password", "brine and patience")]).await;
    assert_eq!(goes_to(&done), "/me?done=password");
    assert_eq!(here.who().await, "Cass Underhill");
    assert!(goes_to(&elsewhere.get("/me").await).starts_with("/sign-in"));
    assert_eq!(elsewhere.sign_in("cass").await.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn pages_are_as_light_as_each_one_wants_them() {
    let shop = Shop::open().await;
    let theme = async |cast| shop.get(cast, "/me").await.attribute("html", "data-theme");
    assert_eq!(goes_to(&shop.post(Cast::Cutter, "/me/theme", &[("theme", "dark")]).await), "/me");
    assert_eq!(theme(Cast::Cutter).await.as_deref(), Some("dark"));
    assert_eq!(theme(Cast::Curer).await, None);
    assert_eq!(
        shop.post(Cast::Cutter, "/me/theme", &[("theme", "pink")]).await.status,
        StatusCode::UNPROCESSABLE_ENTITY
    );
    shop.post(Cast::Cutter, "/me/theme", &[("theme", "device")]).await;
    assert_eq!(theme(Cast::Cutter).await, None);
}
