//! The trace as a picture: at sixty nodes every word of it can be read.

use flitchbook::book::{self, Form};
use flitchbook::ids::LotId;
use flitchbook::receiving::entry::Animal;
use serde_json::Value;

use crate::open::Open;
use crate::shop::{PASSWORD, Shifted, Shop};

/// What hangs over the edge of its node, what lies on another node, and the smallest letters on the screen in px.
const MEASURE: &str = r"
    const wrong = [];
    const boxes = [...document.querySelectorAll('svg.node')].map(node => {
        const frame = node.querySelector('rect').getBoundingClientRect();
        const texts = [...node.querySelectorAll('text')].filter(text => text.textContent).map(text => text.getBoundingClientRect());
        for (const text of texts)
            if (text.left < frame.left || text.right > frame.right) wrong.push(`${node.textContent} hangs over`);
        texts.forEach((a, i) => texts.slice(i + 1).forEach(b => {
            if (a.left < b.right && b.left < a.right && a.top + 4 < b.bottom && b.top + 4 < a.bottom) wrong.push(`${node.textContent} overlaps`);
        }));
        return frame;
    });
    boxes.forEach((a, i) => boxes.slice(i + 1).forEach(b => {
        if (a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom) wrong.push('two nodes in one place');
    }));
    const svg = document.querySelector('svg.trace');
    const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
    const sizes = [...svg.querySelectorAll('text')].map(text => parseFloat(getComputedStyle(text).fontSize) * scale);
    return { wrong, nodes: boxes.length, smallest: Math.floor(Math.min(...sizes)),
             sideways: document.documentElement.scrollWidth > innerWidth };";

/// A pig, its trim, a mix, so many salami, and a pack of each; the address of the mix's trace.
async fn salami(shop: &Shop, pieces: u32) -> String {
    let things = shop.things().await;
    let pig = shop.received(&things, "D-17", 90_000, |lot| {
        lot.animal =
            Some(Animal { species: "pig".into(), ear_tag: "UK 301042 00017".into(), ..Animal::default() });
    });
    let pig = pig.await;
    let from = |lot: LotId, grams: i64| Shifted::default().lot(lot, -grams);
    let trim = shop.new_lot(Form::Trim, "lean trim 80/20", Some(pig.code), from(pig.lot, 60_000)).await;
    let mix = shop.new_lot(Form::Mix, "field salami", None, from(trim.id, 60_000)).await;
    for _ in 0..pieces {
        let piece = shop.new_lot(Form::Piece, "field salami", Some(mix.code), from(mix.id, 1_000)).await;
        shop.new_lot(Form::Pack, "field salami", Some(mix.code), from(piece.id, 900)).await;
    }
    format!("/trace/lots/{}", mix.id)
}

/// One salami more, which is one too many.
async fn one_more(shop: &Shop, path: &str) {
    let mix = LotId(path.rsplit('/').next().unwrap().parse().unwrap());
    let code = book::db::lot(&mut shop.app.db().await.unwrap(), mix).await.unwrap().unwrap().code;
    shop.new_lot(Form::Piece, "field salami", Some(code), Shifted::default().lot(mix, -1_000)).await;
}

async fn measured(open: &Open, path: &str, picture: &str) -> Value {
    let tab = &open.tab;
    tab.goto(path).await;
    let measured = tab.browser().execute(MEASURE, Vec::new()).await.unwrap().json().clone();
    tab.picture(picture).await;
    assert_eq!(measured["wrong"], serde_json::json!([]), "{measured}");
    assert_eq!(measured["sideways"], false);
    measured
}

#[tokio::test(flavor = "multi_thread")]
async fn at_sixty_nodes_the_picture_is_readable_and_above_it_folds() {
    Open::journey(Shop::open_with_made_up_kinds().await, "picture", true, async |open| {
        let tab = &open.tab;
        tab.browser().set_window_rect(0, 0, 1280, 900).await.unwrap();
        tab.goto("/sign-in").await;
        tab.sign_in("orla", PASSWORD).await;
        let path = salami(&open.shop, 28).await;
        let all = measured(open, &path, "sixty").await;
        assert_eq!(all["nodes"], 60);
        assert!(all["smallest"].as_i64() >= Some(12), "{all}");
        let ear_tag = "/trace/ear-tags/UK%20301042%2000017/everything";
        measured(open, ear_tag, "everything").await;
        one_more(&open.shop, &path).await;
        let folded = measured(open, &path, "folded").await;
        assert!(folded["nodes"].as_i64() < Some(20), "{folded}");
        tab.sees("svg.trace .folded", "29 pieces").await;
    })
    .await;
}
