//! What other rooms find of a batch, as criteria of its family: the cure within its limits, time and cold, fermentation,
//! parasites.

use super::*;

/// How a criterion of a batch stands on its release page: the word of its state, and everything that it says.
async fn stands(shop: &Shop, made: &Made, name: &str) -> (String, String) {
    let page = shop.get(Cast::Owner, &format!("/release/{}", made.batch)).await;
    let all = page.all(".criteria > li");
    let found = all.iter().position(|one| one.contains(name));
    let n = found.unwrap_or_else(|| panic!("no criterion {name} among {all:?}"));
    (page.all(".criteria > li > .criterion .state")[n].clone(), all[n].clone())
}

#[tokio::test]
async fn the_cure_is_within_its_limits_once_the_shop_says_whose_limits_it_holds_itself_to() {
    let (shop, _, made) = loins().await;
    shop.place_as_shipped(made.product.id, REFRIGERATED).await;
    let (state, said) = stands(&shop, &made, "Cure applied within limits").await;
    assert_eq!(state, "not yet", "{said}");
    assert!(said.contains("has not said whose limits"), "{said}");
    goes_to(&shop.post(Cast::Owner, "/limits", &[("jurisdiction", "United States")]).await);
    // 9 g of a 6.25 % cure on 3,600 g, dry cured: 156.25 ppm, and 625 are allowed (9 CFR 424.21(c)).
    let (state, said) = stands(&shop, &made, "Cure applied within limits").await;
    assert_eq!(state, "met", "{said}");
    assert!(said.contains("9 CFR 424.21(c)"), "{said}");
}

#[tokio::test]
async fn a_product_of_pork_says_what_is_done_against_parasites_before_it_goes() {
    let (shop, _, made) = loins().await;
    shop.place_as_shipped(made.product.id, REFRIGERATED).await;
    let (state, said) = stands(&shop, &made, "Parasites controlled").await;
    assert_eq!(state, "not yet", "{said}");
    let path = format!("/parasites/products/{}", made.product.id);
    let control = [("control", "not asked"), ("reason", "The carcass was examined, certificate 114.")];
    goes_to(&shop.post(Cast::Owner, &path, &control).await);
    let (state, said) = stands(&shop, &made, "Parasites controlled").await;
    assert_eq!(state, "met", "{said}");
    assert!(said.contains("certificate 114"), "{said}");
}

#[tokio::test]
async fn a_cure_that_nobody_watched_is_not_called_cold() {
    let (shop, _, made) = loins().await;
    shop.place_as_shipped(made.product.id, REFRIGERATED).await;
    let (state, said) = stands(&shop, &made, "Time and cold of cure").await;
    assert_eq!(state, "not yet", "{said}");
    let refused = shop.try_release(&made).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.one(".errors").contains("Time and cold of cure"), "{}", refused.one(".errors"));
}

#[tokio::test]
async fn a_salami_waits_for_the_rule_set_and_its_ph() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.salami(&things).await;
    shop.place_as_shipped(made.product.id, SEMI_DRY).await;
    let (state, said) = stands(&shop, &made, "Fermentation within degree-hours").await;
    assert_eq!(state, "not yet", "{said}");
    assert!(said.contains("No rule set"), "{said}");
    assert_eq!(shop.verify().await.findings, []);
}
