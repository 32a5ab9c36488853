//! Recipes, through the router and a real database.

use axum::http::StatusCode;

use crate::shop::{Cast, Larder, Shop, goes_to};

async fn shop() -> (Shop, Larder) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    (shop, larder)
}

/// The form of a salami: trim 100 %, salt 2.5 %, cure 0.25 % of the meat, two days and thirty.
fn salami(larder: &Larder) -> Vec<(&'static str, String)> {
    let mut fields = vec![
        ("name", "Pepper salami".to_owned()),
        ("kind", "ground and fermented".to_owned()),
        ("product", larder.salami.id.to_string()),
        ("target_loss", "35".to_owned()),
        ("weigh_every", "7".to_owned()),
    ];
    let lines =
        [("meat", larder.trim.id, "100"), ("salt", larder.salt.id, "2,5"), ("cure", larder.cure.id, "0.25")];
    for (role, item, percent) in lines {
        fields.push(("role", role.to_owned()));
        fields.push(("item", item.to_string()));
        fields.push(("percent", percent.to_owned()));
        fields.push(("per", "meat".to_owned()));
    }
    for (stage, lasts, unit) in [("fermenting", "48", "hours"), ("drying", "30", "days")] {
        fields.push(("stage", stage.to_owned()));
        fields.push(("lasts", lasts.to_owned()));
        fields.push(("lasts_in", unit.to_owned()));
    }
    fields
}

fn sent<'a>(fields: &'a [(&'static str, String)]) -> Vec<(&'static str, &'a str)> {
    fields.iter().map(|(name, value)| (*name, value.as_str())).collect()
}

/// The same form with one value in the place of another.
fn with(fields: &[(&'static str, String)], name: &str, old: &str, new: &str) -> Vec<(&'static str, String)> {
    let swap = |(field, value): &(&'static str, String)| {
        let hit = *field == name && value == old;
        (*field, if hit { new.to_owned() } else { value.clone() })
    };
    fields.iter().map(swap).collect()
}

#[tokio::test]
async fn a_recipe_shows_its_ppm_by_the_strength_of_the_newest_lot_on_hand() {
    let (shop, larder) = shop().await;
    let path = goes_to(&shop.post(Cast::Curer, "/recipes/new", &sent(&salami(&larder))).await);
    let page = shop.get(Cast::Inspector, &path).await;
    // 9 CFR 424.21(c): 4 oz of a 6.25 % cure to 100 lb, which is 0.25 %, are 156.25 ppm; shown whole.
    assert_eq!(page.all("dl.figures dd.big")[0], "156 ppm");
    assert!(page.text.contains("of the meat block"), "the base stands beside the figure");
    assert!(page.text.contains("Directive 7620.3"), "and its source");
    assert!(page.text.contains("the newest on hand"));
    // 2.5 and 0.25 × 93.75 %, which is 2.7344.
    assert_eq!(page.all("dl.figures dd.big")[1], "2.73 %");
    assert!(page.text.contains("30 days") && page.text.contains("2 days"));
    assert!(page.text.contains("Fermented without a starter culture"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_change_is_the_next_version_and_the_first_stays_as_it_was() {
    let (shop, larder) = shop().await;
    let path = goes_to(&shop.post(Cast::Curer, "/recipes/new", &sent(&salami(&larder))).await);
    let form = shop.get(Cast::Curer, &format!("{path}/versions")).await;
    assert_eq!(form.attribute("input[name=percent]", "value").as_deref(), Some("100"));
    assert_eq!(form.attribute("input[name=last]", "value").as_deref(), Some("1"));
    let mut fields = with(&salami(&larder), "percent", "2,5", "2.8");
    fields.push(("last", "1".into()));
    goes_to(&shop.post(Cast::Curer, &format!("{path}/versions"), &sent(&fields)).await);
    assert!(shop.get(Cast::Curer, &path).await.text.contains("2.8\u{a0}%"));
    let first = shop.get(Cast::Curer, &format!("{path}?version=1")).await;
    assert!(first.text.contains("2.5\u{a0}%") && first.text.contains("not the last one"));
    let stale = shop.post(Cast::Curer, &format!("{path}/versions"), &sent(&fields)).await;
    assert_eq!(stale.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(stale.one(".errors").contains("Version 2 was written in the meantime"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_recipe_that_does_not_reckon_is_refused_and_stays_typed() {
    let (shop, larder) = shop().await;
    let good = salami(&larder);
    let long = "x".repeat(200);
    let cases = [
        (with(&good, "percent", "100", "95"), "comes to 95 %"),
        (with(&good, "percent", "2,5", "-1"), "Line 2"),
        (with(&good, "percent", "2,5", "2.5 kg"), "Line 2"),
        (with(&good, "percent", "0.25", "0"), "Line 3"),
        (with(&good, "per", "meat", "brine"), "brine"),
        (with(&good, "role", "salt", "magic"), "Line 2: choose what it is for"),
        (with(&good, "item", &larder.salt.id.to_string(), "7"), "Line 2: choose what goes in"),
        (with(&good, "name", "Pepper salami", ""), "name"),
        (with(&good, "name", "Pepper salami", &long), "120"),
        (with(&good, "kind", "ground and fermented", "stew"), "Choose the kind"),
        (with(&good, "lasts", "48", "0"), "Step 1"),
        (with(&good, "lasts", "30", "99999999"), "Step 2"),
        (with(&good, "target_loss", "35", "100"), "below 100"),
        (with(&good, "weigh_every", "7", "soon"), "whole number"),
    ];
    let before = shop.lines().await;
    for (fields, says) in cases {
        let page = shop.post(Cast::Curer, "/recipes/new", &sent(&fields)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{says}");
        assert!(page.one(".errors").contains(says), "{says}: {}", page.one(".errors"));
        let typed = fields.iter().find(|(name, _)| *name == "weigh_every").unwrap();
        assert_eq!(page.attribute("input[name=weigh_every]", "value").as_ref(), Some(&typed.1));
        assert_eq!(page.all("select[name=role] option[selected]").first().map(String::as_str), Some("meat"));
    }
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn rows_are_added_without_a_script_and_nothing_is_written() {
    let (shop, larder) = shop().await;
    let before = shop.lines().await;
    let mut fields = salami(&larder);
    let rows = shop.get(Cast::Curer, "/recipes/new").await.all("input[name=percent]").len();
    fields.push(("more", "yes".into()));
    let page = shop.post(Cast::Curer, "/recipes/new", &sent(&fields)).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.all("input[name=percent]").len() > rows);
    assert_eq!(page.attribute("input[name=name]", "value").as_deref(), Some("Pepper salami"));
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn a_recipe_sent_twice_is_one_recipe_and_two_cannot_share_a_name() {
    let (shop, larder) = shop().await;
    let id = shop.get(Cast::Curer, "/recipes/new").await.form_id();
    let fields = salami(&larder);
    let mut once = vec![("id", id.as_str())];
    once.extend(sent(&fields));
    let path = goes_to(&shop.post_raw(Cast::Curer, "/recipes/new", &once).await);
    let before = shop.lines().await;
    assert_eq!(goes_to(&shop.post_raw(Cast::Curer, "/recipes/new", &once).await), path);
    assert_eq!(shop.lines().await, before);
    let again = shop.post(Cast::Curer, "/recipes/new", &sent(&fields)).await;
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(again.error_at("name").contains("Another recipe"));
}

#[tokio::test]
async fn scaling_rounds_to_the_scales_and_shows_what_that_did() {
    let (shop, larder) = shop().await;
    let path = goes_to(&shop.post(Cast::Curer, "/recipes/new", &sent(&salami(&larder))).await);
    let page = shop.get(Cast::Cutter, &format!("{path}/scale?meat=8.642&meat_unit=kg")).await;
    // Targets 8642, 216.05, 21.605 g; scales of 5 g and 0.1 g.
    let weigh: Vec<String> = page.all("tbody td[data-name=Weigh]");
    assert_eq!(weigh, ["8.640 kg", "216.1 g", "21.6 g"]);
    // 21.6 over 8640.
    assert_eq!(page.all("tbody td[data-name='As weighed']")[2], "0.25 %");
    // 216.1 over 8640.
    assert_eq!(page.all("tbody td[data-name='Rounding did']")[1], "+0.0012 %");
    let back = shop.get(Cast::Cutter, &format!("{path}/scale?from=3&stock=12.57&stock_unit=g")).await;
    // A 0.1 g scale weighs 12.5 g out of 12.57 g: enough for 5 kg at 0.25 %.
    assert!(back.one("caption").contains("5.000 kg"), "{}", back.one("caption"));
    for (query, field) in [
        ("meat=-1", "meat"),
        ("meat=abc", "meat"),
        ("from=9&stock=5", "stock"),
        ("from=2&stock=", "stock"),
        ("from=0&stock=5", "from"),
        ("meat=0.001&meat_unit=g", "meat"),
    ] {
        let page = shop.get(Cast::Cutter, &format!("{path}/scale?{query}")).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{query}");
        assert!(!page.error_at(field).is_empty(), "{query}: {:?}", page.all(".error"));
    }
}

#[tokio::test]
async fn a_cure_whose_strength_nobody_stated_has_no_ppm() {
    let (shop, larder) = shop().await;
    let fields = with(&salami(&larder), "item", &larder.cure.id.to_string(), &larder.pepper.id.to_string());
    let path = goes_to(&shop.post(Cast::Curer, "/recipes/new", &sent(&fields)).await);
    let page = shop.get(Cast::Curer, &path).await;
    assert!(page.one(".notice.wait").contains("No lot on hand states the strength of black pepper"));
    assert!(!page.text.contains("Ingoing nitrite"));
}

#[tokio::test]
async fn who_may_not_write_recipes_reads_them() {
    let (shop, larder) = shop().await;
    let fields = salami(&larder);
    let path = goes_to(&shop.post(Cast::Curer, "/recipes/new", &sent(&fields)).await);
    for cast in [Cast::Cutter, Cast::Reviewer, Cast::Inspector] {
        assert_eq!(shop.get(cast, &path).await.status, StatusCode::OK);
        assert_eq!(shop.get(cast, "/recipes").await.status, StatusCode::OK);
        assert_eq!(shop.get(cast, "/recipes/new").await.status, StatusCode::FORBIDDEN);
        assert_eq!(shop.post(cast, "/recipes/new", &sent(&fields)).await.status, StatusCode::FORBIDDEN);
        let versions = format!("{path}/versions");
        assert_eq!(shop.post(cast, &versions, &sent(&fields)).await.status, StatusCode::FORBIDDEN);
        let aside = format!("{path}/retirement");
        assert_eq!(shop.post(cast, &aside, &[("retired", "yes")]).await.status, StatusCode::FORBIDDEN);
    }
    assert_eq!(shop.get(Cast::Stranger, &path).await.status, StatusCode::SEE_OTHER);
    let nowhere = "/recipes/00000000-0000-7000-8000-000000000000";
    for path in [
        nowhere.to_owned(),
        format!("{nowhere}/scale"),
        format!("{nowhere}/versions"),
        format!("{path}?version=9"),
    ] {
        assert_eq!(shop.get(Cast::Curer, &path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
}

#[tokio::test]
async fn a_recipe_laid_aside_is_listed_apart_and_can_be_taken_up_again() {
    let (shop, larder) = shop().await;
    let path = goes_to(&shop.post(Cast::Curer, "/recipes/new", &sent(&salami(&larder))).await);
    let retirement = format!("{path}/retirement");
    goes_to(&shop.post(Cast::Curer, &retirement, &[("retired", "yes")]).await);
    assert!(shop.get(Cast::Curer, "/recipes").await.one("details.more").contains("Pepper salami"));
    assert!(shop.get(Cast::Curer, &path).await.all("a.act").is_empty());
    goes_to(&shop.post(Cast::Curer, &retirement, &[("retired", "no")]).await);
    assert!(
        shop.get(Cast::Curer, "/recipes")
            .await
            .all("details.more")
            .iter()
            .all(|d| !d.contains("Pepper salami"))
    );
    assert_eq!(shop.verify().await.findings, []);
}
