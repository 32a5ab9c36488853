//! Families: taken up as shipped, tightened freely, loosened with a reason and a document.

use super::*;

/// The fields of a family as the page draws them, with others set in their place.
async fn fields(shop: &Shop, path: &str, set: &[(&'static str, &str)]) -> Vec<(String, String)> {
    let page = shop.get(Cast::Owner, path).await;
    let html = scraper::Html::parse_document(&page.text);
    let inputs = scraper::Selector::parse("form.sheet input, form.sheet textarea").unwrap();
    let mut all = Vec::new();
    for input in html.select(&inputs) {
        let name = input.value().attr("name").unwrap_or_default();
        let ticked =
            input.value().attr("type") != Some("checkbox") || input.value().attr("checked").is_some();
        if name != "id" && ticked && !set.iter().any(|(other, _)| *other == name) {
            all.push((name.to_owned(), input.value().attr("value").unwrap_or_default().to_owned()));
        }
    }
    all.extend(set.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())));
    all
}

async fn write(shop: &Shop, path: &str, set: &[(&'static str, &str)]) -> crate::shop::Page {
    let fields = fields(shop, path, set).await;
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    shop.post(Cast::Owner, path, &fields).await
}

#[tokio::test]
async fn a_shipped_family_becomes_the_shops_own_when_a_product_goes_into_it() {
    let (shop, _, made) = loins().await;
    let page = shop.get(Cast::Inspector, "/release/families").await;
    assert_eq!(page.all(".families > li").len(), 6);
    assert!(page.all("form").iter().all(|form| !form.contains("Put a product")));
    shop.place_as_shipped(made.product.id, REFRIGERATED).await;
    let page = shop.get(Cast::Owner, "/release/families").await;
    assert_eq!(page.all(".families > li").len(), 6);
    assert!(page.all("table tbody tr").iter().any(|row| row == "cured loinWhole muscle, refrigerated"));
    let family = shop.get(Cast::Owner, &Shop::family(REFRIGERATED).path()).await;
    assert!(family.one("main").contains("version 1") && family.text.contains("3-502.12"));
    // Sent again for another product, it stays as it is.
    shop.place_as_shipped(made.product.id, SEMI_DRY).await;
    shop.place_as_shipped(made.product.id, REFRIGERATED).await;
    assert!(
        shop.get(Cast::Owner, &Shop::family(REFRIGERATED).path()).await.one("main").contains("version 1")
    );
    for (product, family, field) in [("", "", "product"), (&made.product.id.to_string(), "x", "family")] {
        let fields = [("product", product), ("family", family)];
        let page = shop.post(Cast::Owner, "/release/products", &fields).await;
        assert!(!page.error_at(field).is_empty(), "{:?}", page.all(".error"));
    }
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn tightening_is_free_and_loosening_needs_a_reason_and_a_document_and_shows() {
    let (shop, _, made) = loins().await;
    shop.place_as_shipped(made.product.id, REFRIGERATED).await;
    let path = Shop::family(REFRIGERATED).path();
    goes_to(&write(&shop, &path, &[("water_activity", "0.90")]).await);
    assert!(shop.get(Cast::Owner, &path).await.one("main").contains("version 2"));
    let page = write(&shop, &path, &[("water_activity", "0.92")]).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(page.error_at("reason").contains("loosened") && !page.error_at("document").is_empty());
    assert_eq!(page.attribute("input[name=water_activity]", "value"), Some("0.92".into()));
    let grounds = [
        ("water_activity", "0.92"),
        ("reason", "Kept below 3 °C and eaten within ten days"),
        ("document", "Letter of the process authority, 3 March 2026"),
    ];
    goes_to(&write(&shop, &path, &grounds).await);
    for page in [path.clone(), format!("/release/{}", made.batch), format!("/release/{}/review", made.batch)]
    {
        let page = shop.get(Cast::Owner, &page).await;
        assert!(page.text.contains("Letter of the process authority, 3 March 2026"), "{}", page.one("h1"));
    }
    for page in [made.batch.path(), made.pieces[0].lot.path()] {
        assert!(
            shop.get(Cast::Owner, &page).await.text.contains("Letter of the process authority"),
            "{page}"
        );
    }
    let page = write(&shop, &path, &[("water_activity", "wet")]).await;
    assert!(!page.error_at("water_activity").is_empty());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_shop_writes_a_family_of_its_own_from_a_shipped_one() {
    let (shop, _, made) = loins().await;
    let fields = [("name", "Loin, moist"), ("shipped", REFRIGERATED)];
    let path = goes_to(&shop.post(Cast::Owner, "/release/families", &fields).await);
    assert!(shop.get(Cast::Owner, &path).await.one("h1").contains("Loin, moist"));
    let (product, family) = (made.product.id.to_string(), path.rsplit('/').next().unwrap().to_owned());
    let place = [("product", product.as_str()), ("family", family.as_str())];
    goes_to(&shop.post(Cast::Owner, "/release/products", &place).await);
    let page = shop.post(Cast::Owner, "/release/families", &[("name", ""), ("shipped", "")]).await;
    assert!(!page.error_at("name").is_empty());
    let twice = shop.post(Cast::Owner, "/release/families", &fields).await;
    assert!(twice.error_at("name").contains("Another family"), "{:?}", twice.all(".error"));
    assert_eq!(shop.verify().await.findings, []);
}
