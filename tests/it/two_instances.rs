//! Two instances of the program on one database: sessions and the one pen are in the database.

use flitchbook::app;
use futures::future::join_all;

use crate::shop::{Cast, Shop, goes_to};

#[tokio::test]
async fn two_instances_write_one_book_and_share_its_sessions() {
    let one = Shop::open().await;
    let things = one.things().await;
    let carcass = one.carcass(&things, 92_400).await;
    let two =
        one.beside(app::open(one.app.book.pool.clone(), one.app.book.clock.clone(), (*one.app.site).clone()));
    let opened =
        one.post(Cast::Cutter, "/block", &[("lot", &carcass.lot.to_string()), ("cut_list", "")]).await;
    let path = goes_to(&opened);
    let (collar, cooler) = (things.collar.id.to_string(), things.cooler.id.to_string());
    let fields = [
        ("cut", collar.as_str()),
        ("weight", "1.25"),
        ("weight_unit", "kg"),
        ("pieces", "1"),
        ("goes_to", "whole-muscle cure"),
        ("place", cooler.as_str()),
    ];
    let before = one.lines().await;
    let cuts = (0..20).map(|n| {
        let shop = if n % 2 == 0 { &one } else { &two };
        shop.post(Cast::Cutter, &path, &fields)
    });
    for page in join_all(cuts).await {
        assert_eq!(goes_to(&page), path);
    }
    assert_eq!(one.lines().await, before + 20);
    assert_eq!(one.grams("26328-01").await.decimal(), rust_decimal::dec!(67400));
    assert_eq!(one.verify().await.findings, []);
}
