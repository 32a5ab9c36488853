//! Walks through the shop by people who look for trouble: a curer at the limits, an inspector with a tag in hand.

use std::time::{Duration, Instant};

use crate::journeys::open_the_book;
use crate::open::Open;
use crate::shop::Shop;
use crate::tab::Tab;

/// A belly, salt and two cures of known strength come in.
async fn deliver(tab: &Tab) {
    tab.goto("/receiving/suppliers").await;
    tab.fill_all(&[
        ("name", "Hazelrigg Farm"),
        ("address", "Hazelrigg, Elverford"),
        ("number", "UK EF 201"),
        ("approved_until", "2027-12-31"),
    ])
    .await;
    tab.press("Add this supplier").await;
    tab.goto("/receiving/deliveries/new").await;
    tab.choose("supplier", "Hazelrigg Farm").await;
    tab.fill("docket", "H-4420").await;
    tab.press("Go on to its lines").await;
    tab.choose("item", "pork belly, boneless").await;
    tab.press("Go on").await;
    tab.fill_all(&[
        ("weight", "4"),
        ("temperature", "2.4"),
        ("breed", "Elver Saddleback"),
        ("solution", "0"),
    ])
    .await;
    tab.choose("frozen", "fresh").await;
    tab.press("Sign this line").await;
    for (item, weight, nitrite, nitrate) in [
        ("sea salt", "25", "", ""),
        ("cure, short (nitrite)", "2", "6.25", ""),
        ("cure, long (nitrite and nitrate)", "2", "6.25", "4"),
    ] {
        if tab.has("Something else").await {
            tab.press("Something else").await;
        }
        tab.choose("item", item).await;
        tab.press("Go on").await;
        tab.fill_all(&[("weight", weight), ("supplier_lot", "HP-118")]).await;
        tab.choose("cure", if nitrite.is_empty() { "no" } else { "yes" }).await;
        if !nitrite.is_empty() {
            tab.fill_all(&[("nitrite", nitrite), ("nitrate", nitrate)]).await;
        }
        tab.press("Sign this line").await;
    }
    tab.sees("table.lines", "long").await;
}

/// Types the lines of a recipe.
async fn type_lines(tab: &Tab, lines: &[(&str, &str, &str)]) {
    for (n, (role, item, percent)) in lines.iter().enumerate() {
        let row = if n == 0 { String::new() } else { format!("-{}", n + 1) };
        tab.choose_at(&format!("#f-role{row}"), role).await;
        tab.choose_at(&format!("#f-item{row}"), item).await;
        tab.fill_at(&format!("#f-percent{row}"), percent).await;
    }
}

/// The page reckons as it is typed; without scripts its button does.
async fn reckoned(tab: &Tab) {
    if !tab.scripts {
        tab.press("Reckon").await;
    }
}

/// One ppm above the limit is said at the head of the page, at the limit nothing is.
async fn a_recipe_over_by_one_ppm(tab: &Tab) {
    tab.goto("/recipes/new").await;
    tab.fill("name", "Pepper salami").await;
    tab.choose("kind", "ground and fermented").await;
    // 0.2512 % of a cure of 6.25 % is 157 ppm of the meat; 9 CFR 424.21(c) allows 156.
    let lines = [
        ("meat", "pork belly, boneless", "100"),
        ("salt", "sea salt", "2.5"),
        ("cure", "cure, short (nitrite)", "0.2512"),
    ];
    type_lines(tab, &lines).await;
    reckoned(tab).await;
    tab.comes("#over", "Over a limit in force").await;
    tab.comes("#reckoned", "157 ppm").await;
    tab.is_accessible().await;
    tab.fill_at("#f-percent-3", "0.2496").await;
    reckoned(tab).await;
    tab.comes("#reckoned", "156 ppm").await;
    tab.goes("#over", "Over a limit in force").await;
}

/// Nitrate in bacon is refused by 9 CFR 424.22(b), whatever its amount.
async fn bacon_with_nitrate(tab: &Tab) {
    tab.goto("/recipes/new").await;
    tab.fill("name", "Bacon, the old way").await;
    tab.choose("kind", "dry cure, equilibrium").await;
    tab.choose("falls_under", "bacon").await;
    let lines = [
        ("meat", "pork belly, boneless", "100"),
        ("salt", "sea salt", "2.5"),
        ("cure", "cure, long (nitrite and nitrate)", "0.1"),
    ];
    type_lines(tab, &lines).await;
    reckoned(tab).await;
    tab.comes("#over", "itrate").await;
    tab.is_accessible().await;
}

/// Two grams too much of the cure are refused at the scale, what was typed stays, and the right weight is taken.
async fn two_grams_too_much(tab: &Tab) {
    tab.goto("/recipes/new").await;
    tab.fill("name", "Belly, dry cured").await;
    tab.choose("kind", "dry cure, equilibrium").await;
    tab.choose("product", "pancetta").await;
    let lines = [
        ("meat", "pork belly, boneless", "100"),
        ("salt", "sea salt", "2.75"),
        ("cure", "cure, short (nitrite)", "0.25"),
    ];
    type_lines(tab, &lines).await;
    tab.choose_at("#f-stage", "curing").await;
    tab.fill_at("#f-lasts", "10").await;
    tab.choose_at("#f-lasts_in", "days").await;
    tab.press("Sign this version").await;
    tab.goto("/batches/new").await;
    tab.choose("recipe", "Belly, dry cured").await;
    tab.fill("meat", "4").await;
    tab.choose("place", "curing fridge").await;
    tab.press("Begin this batch").await;
    tab.choose("lot", "26328-01").await;
    tab.fill("weight", "4 kg").await;
    tab.press("Sign this muscle").await;
    if !tab.has("Sign this weight").await {
        tab.press("cure, short (nitrite)").await;
    }
    tab.press("cure, short (nitrite)").await;
    tab.choose("lot", "26328-03").await;
    tab.fill("weight", "12 g").await;
    tab.press("Sign this weight").await;
    tab.sees("#f-weight-error", "g").await;
    assert_eq!(tab.value("#f-weight").await, "12 g", "what was typed stays");
    tab.is_accessible().await;
    tab.fill("weight", "10 g").await;
    tab.press("Sign this weight").await;
    tab.sees("main", "156 ppm").await;
}

async fn at_the_limits(open: &Open) {
    let tab = &open.tab;
    open_the_book(tab).await;
    deliver(tab).await;
    tab.goto("/limits").await;
    tab.choose("jurisdiction", "United States").await;
    tab.press("Sign the choice").await;
    a_recipe_over_by_one_ppm(tab).await;
    bacon_with_nitrate(tab).await;
    two_grams_too_much(tab).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_curer_at_the_limits_sees_one_ppm_too_much_and_is_stopped_at_the_scale() {
    Open::journey(Shop::unopened().await, "limits", true, at_the_limits).await;
}

#[tokio::test(flavor = "multi_thread")]
async fn the_same_without_any_script() {
    Open::journey(Shop::unopened().await, "limits", false, at_the_limits).await;
}

/// From the sign-in, with a piece's tag in hand, to its fermentation, the limit, the signature, and the last calibration of the
/// thermometer.
#[tokio::test(flavor = "multi_thread")]
async fn an_inspector_with_a_tag_in_hand_is_at_the_thermometers_calibration_in_under_a_minute() {
    Open::journey(Shop::demo().await, "inspector", true, async |open| {
        let tab = &open.tab;
        let given = flitchbook::demo::new_sign_in(&open.shop.app).await.unwrap();
        let tag = "SELECT l.code FROM fermentation_judged j JOIN piece p ON p.batch = j.batch JOIN lot l ON l.id = p.lot
                   WHERE j.outcome = 'met' AND l.grams > 0 ORDER BY l.code LIMIT 1";
        let tag: String = sqlx::query_scalar(tag).fetch_one(&open.shop.app.book.pool).await.unwrap();
        tab.goto("/sign-in").await;
        let begun = Instant::now();
        tab.sign_in("greta", &given.password).await;
        assert_eq!(tab.path().await, "/inspection");
        tab.fill("code", &tag).await;
        tab.press("Find").await;
        tab.sees("main", &tag).await;
        tab.press("Batch").await;
        let batch = tab.path().await;
        tab.press("Fermentation").await;
        // The sum, its limit, and the pH that ended it, signed.
        tab.sees("main", "degree-hours").await;
        tab.click("table tbody th a[href^='/entries/']").await;
        tab.sees("main", "pH").await;
        tab.goto(&batch).await;
        tab.click("a[href^='/calibration/']").await;
        tab.sees("main", "calibrated").await;
        let took = begun.elapsed();
        println!("from the sign-in to the calibration in {took:?}");
        assert!(took < Duration::from_mins(1), "{took:?}");
    })
    .await;
}
