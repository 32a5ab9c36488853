//! A packet of many lines is drawn beside the requests.

use axum::body::Body;
use axum::http::{Request, header};
use flitchbook::checks::entry::{ReadingTaken, Value as Read};
use flitchbook::deviations::entry::Subject;
use flitchbook::measure::Celsius;
use rust_decimal::dec;
use time::Duration;

use super::*;
use crate::shop::{MORNING, Page, Things, goes_to};

/// A shop with more lines than are drawn while somebody waits, and the packet of its days.
async fn long_book() -> (Shop, Things, String) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let mut pen = shop.pen(Cast::Cutter).await;
    for minute in 0..3_100 {
        pen.happened(MORNING - Duration::minutes(minute));
        let (subject, value) =
            (Subject::Place(things.cooler.clone()), Read::Temperature(Celsius::new(dec!(3.4)).unwrap()));
        pen.append(ReadingTaken { subject, value, instrument: None }).await.unwrap();
    }
    pen.commit().await.unwrap();
    let day = MORNING.date();
    let path = Scope::Days(day - Duration::days(7), day).path();
    (shop, things, path)
}

/// Its page when nobody draws it any more.
async fn when_done(shop: &Shop, path: &str) -> Page {
    loop {
        let page = shop.get(Cast::Inspector, path).await;
        if page.all("progress").is_empty() {
            return page;
        }
        assert!(page.attribute("meta[http-equiv=refresh]", "content").is_some(), "it looks again by itself");
        tokio::time::sleep(std::time::Duration::from_millis(100)).await;
    }
}

#[tokio::test]
async fn its_page_says_how_far_it_is_and_then_hands_out_the_file() {
    let (shop, _, path) = long_book().await;
    let page = shop.get(Cast::Inspector, &path).await;
    assert!(page.text.contains("Draw the packet"), "{}", page.text);
    assert!(page.all("table.table a[href*='/tables/']").is_empty(), "nothing is read before it is asked for");
    let unsigned = shop.post(Cast::Owner, &path, &[]).await;
    assert_eq!(unsigned.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(unsigned.text.contains("Draw it first"), "{}", unsigned.text);

    // Asked for twice, it is drawn once.
    for _ in 0..2 {
        assert_eq!(goes_to(&shop.get(Cast::Inspector, &format!("{path}/packet.pdf")).await), path);
    }
    let drawings = sqlx::query_scalar::<_, i64>("SELECT count(*) FROM packet_drawing");
    assert_eq!(drawings.fetch_one(&shop.app.book.pool).await.unwrap(), 1);
    let page = when_done(&shop, &path).await;
    assert!(page.attribute("meta[http-equiv=refresh]", "content").is_none(), "{}", page.text);
    assert!(page.all("table.table a[href*='/tables/']").len() > 15);
    let href = page.attribute("a.act[href*='/drawn/']", "href").unwrap();
    let file = shop.file(Cast::Inspector, &href).await;
    let text = text(&opened(std::slice::from_ref(&file))[0]);
    assert!(
        text.contains("Temperatureofcooler1") && text.contains("IvoNakamura(IN)"),
        "who asked stands on it"
    );
    // As long as no line is written it is that file that is handed out.
    assert_eq!(goes_to(&shop.get(Cast::Owner, &format!("{path}/packet.pdf")).await), href);

    let page = shop.get(Cast::Owner, &path).await;
    let drawing = page.attribute("input[name=drawing]", "value").unwrap();
    let lines = shop.lines().await;
    goes_to(&shop.post(Cast::Owner, &path, &[("drawing", &drawing), ("reader", "Ivo Nakamura")]).await);
    assert_eq!(shop.lines().await, lines + 1);
    assert!(shop.file(Cast::Owner, &format!("/packet/made/{}", lines + 1)).await == file);
    let behind = shop.get(Cast::Owner, &path).await;
    assert!(behind.text.contains("lines were written since") && behind.text.contains("Draw it anew"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_drawing_that_was_broken_off_says_so_and_is_begun_anew() {
    let (shop, things, path) = long_book().await;
    let scope = path.strip_prefix("/packet/").unwrap();
    let left = "INSERT INTO packet_drawing (id, scope, at, beat_at, percent)
                VALUES (gen_random_uuid(), $1, now() - interval '2 minutes', now() - interval '1 minute', 40)";
    sqlx::query(left).bind(scope).execute(&shop.app.book.pool).await.unwrap();
    let page = shop.get(Cast::Owner, &path).await;
    assert!(page.text.contains("The program was stopped while it was drawn"), "{}", page.text);
    goes_to(&shop.get(Cast::Owner, &format!("{path}/packet.pdf")).await);
    let page = when_done(&shop, &path).await;
    let href = page.attribute("a.act[href*='/drawn/']", "href").unwrap();
    let id = href.rsplit('/').next().unwrap();
    for elsewhere in
        [format!("/packet/lot-{}/drawn/{id}", things.cooler.id), format!("{path}/drawn/{}", things.cooler.id)]
    {
        assert_eq!(shop.get(Cast::Owner, &elsewhere).await.status, StatusCode::NOT_FOUND, "{elsewhere}");
    }
    assert_eq!(shop.get(Cast::Stranger, &href).await.status, StatusCode::SEE_OTHER);
}

#[tokio::test]
async fn its_lines_are_sent_as_they_are_read_and_none_is_missing() {
    let (shop, _, path) = long_book().await;
    let sent: Value =
        serde_json::from_slice(&shop.file(Cast::Inspector, &format!("{path}/lines.json")).await).unwrap();
    let seqs: Vec<i64> = sent["lines"]
        .as_array()
        .unwrap()
        .iter()
        .map(|line| line["form"]["seq"].as_str().unwrap().parse().unwrap())
        .collect();
    assert_eq!(seqs, (1..=shop.lines().await).collect::<Vec<_>>());
}

#[tokio::test]
async fn its_lines_come_to_their_end_in_a_browser_that_takes_them_packed() {
    let (shop, _, path) = long_book().await;
    let plain = shop.file(Cast::Inspector, &format!("{path}/lines.json")).await;
    let packed = Request::get(format!("{path}/lines.json")).header(header::ACCEPT_ENCODING, "gzip");
    let page = shop.send(Cast::Inspector, packed, Body::empty()).await;
    assert_eq!(page.headers[header::CONTENT_ENCODING], "gzip");
    assert!((1..plain.len()).contains(&page.size), "{} of {}", page.size, plain.len());
}
