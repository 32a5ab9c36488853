//! Signing in and out, and who may do what.

use std::net::SocketAddr;

use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::{Request, StatusCode};

use crate::shop::{Cast, PASSWORD, Shop, goes_to};

#[tokio::test]
async fn the_right_password_signs_in_and_the_cookie_is_kept_from_scripts_and_other_sites() {
    let shop = Shop::open().await;
    let fields = [("sign_in", "CASS"), ("password", PASSWORD), ("next", "/block")];
    let page = shop.post(Cast::Stranger, "/sign-in", &fields).await;
    assert_eq!(goes_to(&page), "/block");
    let cookie = page.headers["set-cookie"].to_str().unwrap();
    for part in ["HttpOnly", "SameSite=Lax", "Secure", "Path=/"] {
        assert!(cookie.contains(part), "{cookie}");
    }
}

#[tokio::test]
async fn a_wrong_password_and_an_unknown_name_are_told_the_same() {
    let shop = Shop::open().await;
    let wrong = shop.post(Cast::Stranger, "/sign-in", &[("sign_in", "cass"), ("password", "no")]).await;
    let unknown = shop.post(Cast::Stranger, "/sign-in", &[("sign_in", "nobody"), ("password", "no")]).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(wrong.error_at("sign_in"), unknown.error_at("sign_in"));
    assert_eq!(wrong.attribute("input[name=sign_in]", "value").as_deref(), Some("cass"));
}

#[tokio::test]
async fn a_stranger_is_led_to_the_sign_in_and_back() {
    let shop = Shop::open().await;
    assert_eq!(goes_to(&shop.get(Cast::Stranger, "/block?a=b").await), "/sign-in?next=%2Fblock%3Fa%3Db");
}

#[tokio::test]
async fn a_form_of_another_site_is_not_taken() {
    let shop = Shop::open().await;
    let foreign = Request::post("/me/sign-out").header("sec-fetch-site", "cross-site");
    let page = shop.send(Cast::Owner, foreign, Body::from("id=")).await;
    assert_eq!(page.status, StatusCode::FORBIDDEN);
    assert_eq!(shop.get(Cast::Owner, "/me").await.status, StatusCode::OK);
}

#[tokio::test]
async fn who_signs_out_is_out() {
    let shop = Shop::open().await;
    assert_eq!(goes_to(&shop.post(Cast::Cutter, "/me/sign-out", &[]).await), "/sign-in");
    assert!(goes_to(&shop.get(Cast::Cutter, "/me").await).starts_with("/sign-in"));
}

#[tokio::test]
async fn every_page_forbids_foreign_scripts_and_frames() {
    let shop = Shop::open().await;
    for path in ["/me", "/block", "/nothing-here"] {
        let policy =
            shop.get(Cast::Owner, path).await.headers["content-security-policy"].to_str().unwrap().to_owned();
        assert!(policy.contains("default-src 'none'") && !policy.contains("unsafe-inline"), "{policy}");
    }
}

#[tokio::test]
async fn an_address_that_is_not_in_the_book_says_so_inside_the_frame() {
    let shop = Shop::open().await;
    let page = shop.get(Cast::Owner, "/block/breakdowns/not-an-id").await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
    assert_eq!(page.all("h1"), ["Nothing stands here"]);
    assert_eq!(page.all("header.top .shop"), ["Whitcombe & Daughter"]);
}

const WRONG: &[(&str, &str)] = &[("sign_in", "cass"), ("password", "not this one"), ("next", "")];
const RIGHT: &[(&str, &str)] = &[("sign_in", "cass"), ("password", PASSWORD), ("next", "")];

#[tokio::test]
async fn after_five_wrong_passwords_the_name_waits_and_the_page_says_how_long() {
    let shop = Shop::open().await;
    for _ in 0..5 {
        let page = shop.post(Cast::Stranger, "/sign-in", WRONG).await;
        assert!(page.error_at("sign_in").contains("do not belong together"), "{}", page.error_at("sign_in"));
    }
    let page = shop.post(Cast::Stranger, "/sign-in", RIGHT).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("sign_in").contains("Wait 15 seconds"), "{}", page.error_at("sign_in"));
    shop.later(time::Duration::seconds(16));
    assert_eq!(goes_to(&shop.post(Cast::Stranger, "/sign-in", RIGHT).await), "/");
    let page = shop.post(Cast::Stranger, "/sign-in", WRONG).await;
    assert!(page.error_at("sign_in").contains("do not belong together"), "the count began anew");
}

#[tokio::test]
async fn an_unknown_name_waits_like_a_known_one() {
    let shop = Shop::open().await;
    let tries = [("sign_in", "nobody"), ("password", "no"), ("next", "")];
    for _ in 0..5 {
        shop.post(Cast::Stranger, "/sign-in", &tries).await;
    }
    assert!(
        shop.post(Cast::Stranger, "/sign-in", &tries).await.error_at("sign_in").contains("Wait 15 seconds")
    );
    assert_eq!(goes_to(&shop.post(Cast::Stranger, "/sign-in", RIGHT).await), "/");
}

#[tokio::test]
async fn tries_at_the_same_moment_count_one_by_one() {
    let shop = Shop::open().await;
    let tries = (0..12).map(|_| shop.post(Cast::Stranger, "/sign-in", WRONG));
    let pages = join_all(tries).await;
    let looked_at = pages.iter().filter(|page| page.error_at("sign_in").contains("do not belong")).count();
    assert_eq!(looked_at, 5);
}

async fn join_all<T>(all: impl Iterator<Item = impl Future<Output = T>>) -> Vec<T> {
    let mut waiting: Vec<_> = all.map(Box::pin).collect();
    let mut done = Vec::new();
    std::future::poll_fn(|context| {
        waiting.retain_mut(|one| match one.as_mut().poll(context) {
            std::task::Poll::Ready(page) => {
                done.push(page);
                false
            }
            std::task::Poll::Pending => true,
        });
        if waiting.is_empty() { std::task::Poll::Ready(()) } else { std::task::Poll::Pending }
    })
    .await;
    done
}

#[tokio::test]
async fn one_address_that_tries_many_names_waits_and_another_does_not() {
    let shop = Shop::open().await;
    let from = async |address: [u8; 4], name: &str, password: &str| {
        let info = ConnectInfo(SocketAddr::from((address, 40_000)));
        let request = Request::post("/sign-in").header("sec-fetch-site", "same-origin").extension(info);
        let fields = serde_html_form::to_string([("sign_in", name), ("password", password)]).unwrap();
        shop.send(Cast::Stranger, request, Body::from(fields)).await
    };
    for n in 0..40 {
        from([203, 0, 113, 9], &format!("name {n}"), "no").await;
    }
    assert!(from([203, 0, 113, 9], "cass", PASSWORD).await.error_at("sign_in").contains("Wait"));
    assert_eq!(goes_to(&from([198, 51, 100, 7], "cass", PASSWORD).await), "/");
}

#[tokio::test]
async fn a_sign_in_that_nobody_uses_lapses() {
    let shop = Shop::open().await;
    shop.later(time::Duration::days(29));
    assert_eq!(shop.get(Cast::Cutter, "/me").await.status, StatusCode::OK);
    shop.later(time::Duration::days(29));
    assert_eq!(shop.get(Cast::Cutter, "/me").await.status, StatusCode::OK);
    shop.later(time::Duration::days(31));
    assert!(goes_to(&shop.get(Cast::Cutter, "/me").await).starts_with("/sign-in"));
}

#[tokio::test]
async fn what_is_understood_of_a_weight_is_said_back_to_who_is_signed_in() {
    let shop = Shop::open().await;
    let path = "/measure/weight?text=8.16&unit=kg&from=20540.00";
    let answer = shop.get(Cast::Inspector, path).await;
    assert_eq!(answer.headers["content-type"], "application/json");
    assert!(answer.text.contains("\"ok\":true") && answer.text.contains("18 lb 0 oz"), "{}", answer.text);
    assert!(shop.get(Cast::Inspector, "/measure/weight?text=much").await.text.contains("\"ok\":false"));
    assert!(goes_to(&shop.get(Cast::Stranger, path).await).starts_with("/sign-in"));
}
