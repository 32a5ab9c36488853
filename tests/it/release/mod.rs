//! Families, reviews and releases, through the router and a real database.

mod cold;
mod families;
mod given;
mod guards;
mod reviews;
mod struck;

use axum::http::StatusCode;
use flitchbook::ids::LotId;

use crate::shop::{Cast, Made, REFRIGERATED, SEMI_DRY, Shop, Things, goes_to};

/// Two loins in drying, with nothing recorded of them yet.
pub async fn loins() -> (Shop, Things, Made) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    (shop, things, made)
}

/// Two packs of 400 g of the first piece.
pub async fn pack(shop: &Shop, things: &Things, made: &Made) {
    let (lot, cooler) = (made.pieces[0].lot.to_string(), things.cooler.id.to_string());
    let fields = [
        ("act", "sign"),
        ("lot", lot.as_str()),
        ("count", "2"),
        ("weight", "400"),
        ("weight_unit", "g"),
        ("loss_unit", "g"),
        ("place", cooler.as_str()),
        ("date_word", "best before"),
        ("use_by", "2027-02-01"),
    ];
    goes_to(&shop.post(Cast::Curer, "/dispatch/pack", &fields).await);
}

pub fn lots(made: &Made) -> Vec<LotId> {
    made.pieces.iter().map(|piece| piece.lot).collect()
}

#[tokio::test]
async fn each_criterion_stands_by_what_is_recorded_until_all_are_met_and_the_pieces_go() {
    let (shop, _, made) = loins().await;
    let path = format!("/release/{}", made.batch);
    let page = shop.get(Cast::Reviewer, &path).await;
    assert!(page.one(".notice").contains("in no family"), "{}", page.one(".notice"));
    let refused = shop.try_release(&made).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.one(".errors").contains("Choose its family first"), "{}", refused.one(".errors"));

    shop.place(made.product.id, REFRIGERATED).await;
    let refused = shop.try_release(&made).await;
    let errors = refused.one(".errors");
    assert!(errors.contains("Water activity, measured, at most 0.910"), "{errors}");
    assert!(errors.contains("Records reviewed is not met"), "{errors}");
    let page = shop.get(Cast::Inspector, &path).await;
    let states = page.all(".criteria > li > .criterion .state");
    assert_eq!(states, ["not yet", "met", "met", "met", "not yet"]);
    assert!(page.all("input[name=pieces]").is_empty() && page.all("form button.act").is_empty());
    assert!(page.text.contains("the regulator and a process authority decide"));

    // One step past the limit is not met; at it, it is.
    shop.water_activity(&lots(&made), "0.911").await;
    assert!(
        shop.get(Cast::Owner, &path).await.one(".criterion").contains("0 of 2 pieces. aw 0.911 measured")
    );
    shop.water_activity(&lots(&made), "0.910").await;
    shop.review(made.batch).await;
    let page = shop.get(Cast::Reviewer, &path).await;
    assert_eq!(page.all(".criteria > li > .criterion .state"), ["met"; 5]);
    assert_eq!(page.all("input[name=pieces]").len(), 2);
    goes_to(&shop.try_release(&made).await);
    let released = shop.get(Cast::Owner, &made.batch.path()).await;
    assert!(released.one(".stamp").contains("Released"));
    assert!(released.text.contains("every criterion of Whole muscle, refrigerated, version 1, was met"));
    for page in [page, released] {
        let text = page.text.to_lowercase();
        assert!(!text.contains("is safe") && !text.contains("safe to eat"), "nothing is called safe");
    }
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_piece_that_is_not_met_stays_while_the_others_go() {
    let (shop, _, made) = loins().await;
    shop.evidence_of(&made).await;
    let (first, second) = (made.pieces[0].code.to_string(), made.pieces[1].lot.to_string());
    goes_to(&shop.post(Cast::Owner, "/checks/holds", &[("code", &first), ("reason", "a soft spot")]).await);
    shop.review(made.batch).await;
    let refused = shop.try_release(&made).await;
    assert!(refused.one(".errors").contains(&format!("{first} is on hold")), "{}", refused.one(".errors"));
    let path = format!("/release/{}", made.batch);
    let page = shop.get(Cast::Reviewer, &path).await;
    assert_eq!(page.attribute("input[name=pieces]", "value"), Some(second.clone()));
    goes_to(&shop.post(Cast::Reviewer, &path, &[("pieces", &second)]).await);
    assert_eq!(shop.batch_now(made.batch).await.pieces.iter().filter(|piece| piece.released).count(), 1);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_page_of_a_piece_and_of_its_batch_show_each_criterion() {
    let (shop, _, made) = loins().await;
    let piece = made.pieces[0].lot.path();
    assert!(shop.get(Cast::Cutter, &piece).await.one("ol.stands").contains("is in no family of products"));
    shop.place(made.product.id, REFRIGERATED).await;
    shop.water_activity(&lots(&made), "0.905").await;
    let stands = shop.get(Cast::Cutter, &piece).await.all("ol.stands li");
    for (word, what) in [("met", "aw 0.905"), ("not yet", "Records reviewed"), ("family", "version 1")] {
        let there = stands.iter().any(|stand| stand.starts_with(word) && stand.contains(what));
        assert!(there, "{word}, {what}: {stands:?}");
    }
    let batch = shop.get(Cast::Cutter, &made.batch.path()).await;
    assert_eq!(batch.all(".criteria > li").len(), 5);
    assert!(batch.one("section[aria-labelledby=release]").contains("Whole muscle, refrigerated"));
}

#[tokio::test]
async fn a_limit_for_a_stage_of_the_batch_needs_its_check() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let limit = [
        ("name", "pH at the end"),
        ("quantity", "ph"),
        ("applies", "end:fermenting"),
        ("most", "5.3"),
        ("source", "FSIS-GD-2023-0002"),
    ];
    let choices = shop.get(Cast::Owner, "/checks/limits").await;
    let value = scraper::Html::parse_document(&choices.text)
        .select(&scraper::Selector::parse("select[name=applies] option").unwrap())
        .find(|option| option.text().collect::<String>().contains("at the end of fermenting"))
        .and_then(|option| option.value().attr("value").map(ToOwned::to_owned))
        .unwrap();
    let limit = limit.map(|(name, text)| (name, if name == "applies" { value.as_str() } else { text }));
    goes_to(&shop.post(Cast::Owner, "/checks/limits", &limit).await);
    shop.later(time::Duration::hours(1));
    let made = shop.salami(&things).await;
    shop.later(time::Duration::hours(1));
    shop.place(made.product.id, SEMI_DRY).await;
    // It dries already: what is recorded now was not recorded while it fermented.
    goes_to(&shop.reading(("batch", made.batch.to_string()), "ph", "4.9").await);
    shop.review(made.batch).await;
    let refused = shop.try_release(&made).await;
    let errors = refused.one(".errors");
    assert!(errors.contains("pH at the end, at most pH 5.30, at the end of fermenting"), "{errors}");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn release_is_not_signed_by_who_may_not_and_not_found_where_there_is_no_batch() {
    let (shop, _, made) = loins().await;
    let path = format!("/release/{}", made.batch);
    for cast in [Cast::Cutter, Cast::Curer, Cast::Inspector] {
        assert_eq!(shop.post(cast, &path, &[]).await.status, StatusCode::FORBIDDEN, "{cast:?}");
    }
    for cast in [Cast::Cutter, Cast::Curer, Cast::Inspector] {
        assert_eq!(shop.post(cast, &format!("{path}/review"), &[]).await.status, StatusCode::FORBIDDEN);
    }
    for cast in [Cast::Cutter, Cast::Curer, Cast::Reviewer, Cast::Inspector] {
        assert_eq!(shop.post(cast, "/release/products", &[]).await.status, StatusCode::FORBIDDEN);
        assert_eq!(shop.post(cast, "/release/families", &[]).await.status, StatusCode::FORBIDDEN);
    }
    let none = "/release/00000000-0000-7000-8000-000000000000";
    for path in [none.to_owned(), format!("{none}/review"), "/release/x".to_owned()] {
        assert_eq!(shop.get(Cast::Owner, &path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    assert_eq!(shop.post(Cast::Stranger, &path, &[]).await.status, StatusCode::UNAUTHORIZED);
}
