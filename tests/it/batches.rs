//! Batches, from the meat to the released piece.

use flitchbook::measure::Grams;
use flitchbook::recipes::Stage;

use crate::shop::Shop;

#[tokio::test]
async fn loins_in_cure_weigh_what_they_weighed_and_their_share_of_the_cure() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    // 108 g of salt and cure over 2,000 g and 1,600 g.
    assert_eq!(shop.lot_now(made.pieces[0].lot).await.grams, Grams::whole(2_060));
    assert_eq!(shop.lot_now(made.pieces[1].lot).await.grams, Grams::whole(1_648));
    let batch = shop.batch_now(made.batch).await;
    assert_eq!((batch.stage, batch.mix.grams), (Stage::Drying, Grams::ZERO));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn salami_of_one_mix_weigh_what_the_mix_weighed_less_what_stayed_in_the_stuffer() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.salami(&things).await;
    assert_eq!(made.pieces.len(), 4);
    let batch = shop.batch_now(made.batch).await;
    assert_eq!(batch.mix.grams, Grams::ZERO);
    shop.release(&made).await;
    assert_eq!(shop.batch_now(made.batch).await.stage, Stage::Released);
    assert_eq!(shop.verify().await.findings, []);
}
