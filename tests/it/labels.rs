//! Tags and pack labels, through the router and a real database.

use axum::http::StatusCode;
use flitchbook::book::Form;
use flitchbook::ids::ItemId;
use flitchbook::measure::Grams;
use flitchbook::setup::entry::ItemWritten;
use scraper::{Html, Selector};
use uuid::Uuid;

use crate::shop::{Cast, Page, Shop, Things, goes_to};

/// What a camera reads in every QR code of a page: each is drawn with ten dots to a module, and read again.
fn read_codes(page: &Page) -> Vec<String> {
    let html = Html::parse_document(&page.text);
    let (svg, path) = (Selector::parse("svg.qr").unwrap(), Selector::parse("path").unwrap());
    let read = |picture: scraper::ElementRef| {
        let side: usize =
            picture.value().attr("viewBox").unwrap().rsplit(' ').next().unwrap().parse().unwrap();
        let dark = picture.select(&path).last().unwrap().value().attr("d").unwrap();
        let mut dots = vec![255_u8; side * side];
        for square in dark.split('M').filter(|square| !square.is_empty()) {
            let (at, sizes) = square.split_once('h').unwrap();
            let (x, y) = at.split_once(' ').unwrap();
            let (width, rest) = sizes.split_once('v').unwrap();
            let height = rest.split_once('H').unwrap().0;
            let [x, y, width, height] = [x, y, width, height].map(|n| n.parse::<usize>().unwrap());
            for row in y..y + height {
                dots[row * side + x..row * side + x + width].fill(0);
            }
        }
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, |x, y| dots[y * side + x]);
        image.detect_grids().first().expect("a QR code").decode().unwrap().1
    };
    html.select(&svg).map(read).collect()
}

/// What ingredients are called on a label, and the allergens in them.
async fn name_on_labels(shop: &Shop, item: ItemId, name: &str, form: Form, label: &str, allergens: &[&str]) {
    shop.sign(ItemWritten {
        item,
        name: name.into(),
        form,
        species: String::new(),
        number: String::new(),
        label_name: label.into(),
        allergens: allergens.iter().map(ToString::to_string).collect(),
        sales_price: None,
        by_product: false,
        retired: false,
    })
    .await;
}

/// Packs of this lot; the codes that they got.
async fn pack(
    shop: &Shop,
    things: &Things,
    lot: &str,
    count: &str,
    weight: &str,
    more: &[(&str, &str)],
) -> String {
    let cooler = things.cooler.id.to_string();
    let mut fields = vec![
        ("act", "sign"),
        ("lot", lot),
        ("count", count),
        ("weight", weight),
        ("weight_unit", "g"),
        ("place", cooler.as_str()),
    ];
    fields.extend_from_slice(more);
    let page =
        shop.get(Cast::Owner, &goes_to(&shop.post(Cast::Curer, "/dispatch/pack", &fields).await)).await;
    page.all("tbody th .code").join(",")
}

const LASTS: [(&str, &str); 3] =
    [("date_word", "best before"), ("use_by", "2027-02-01"), ("keep", "Keep refrigerated at or below 4 °C")];

#[tokio::test]
async fn a_tag_of_a_hanging_piece_says_that_it_is_not_for_sale() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let code = made.pieces[0].code.to_string();
    let page = shop.get(Cast::Inspector, &format!("/labels?kind=tag&lots={code}")).await;
    assert_eq!(page.status, StatusCode::OK);
    assert_eq!(page.one(".hook-tag .code"), code);
    assert_eq!(page.one(".hook-tag .product"), "cured loin");
    assert_eq!(page.one(".not-for-sale"), "NOT FOR SALE");
    let facts = page.all(".hook-tag dl div");
    let batch = format!("Batch{}", made.code);
    // 35 % below the green weight of 2,000 g.
    assert_eq!(
        facts,
        [batch.as_str(), "Green weight2.000 kg", "Hung24 Nov 2026", "Target1.300 kg (−35.0 %)"]
    );
    assert_eq!(read_codes(&page), [format!("https://book.example/t/{code}")]);
    shop.release(&made).await;
    let page = shop.get(Cast::Inspector, &format!("/labels?kind=tag&lots={code}")).await;
    assert!(page.all(".not-for-sale").is_empty());
}

#[tokio::test]
async fn a_mix_in_its_tub_is_not_for_sale_and_a_carcass_has_its_tag() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await;
    let made = shop.salami(&things).await;
    let path = format!("/labels?kind=tag&lots={},{}", carcass.code, made.code);
    let page = shop.get(Cast::Cutter, &path).await;
    assert_eq!(page.all(".hook-tag .code"), [carcass.code.to_string(), made.code.to_string()]);
    assert_eq!(page.all(".not-for-sale").len(), 1);
}

#[tokio::test]
async fn a_packs_label_says_what_is_in_it_by_weight_with_its_allergens_standing_out() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    name_on_labels(&shop, larder.trim.id, "lean trim", Form::Trim, "pork", &[]).await;
    name_on_labels(&shop, larder.salt.id, "sea salt", Form::Ingredient, "salt", &[]).await;
    let cure = "curing salt (salt, sodium nitrite)";
    name_on_labels(&shop, larder.cure.id, "curing salt", Form::Ingredient, cure, &[]).await;
    name_on_labels(&shop, larder.pepper.id, "black pepper", Form::Ingredient, "", &["mustard"]).await;
    name_on_labels(&shop, larder.casing.id, "beef middles", Form::Casing, "beef casing", &[]).await;
    let made = shop.salami_of(&things, &larder).await;
    shop.release(&made).await;
    let codes = pack(&shop, &things, &made.pieces[0].lot.to_string(), "2", "250", &LASTS).await;
    let page = shop.get(Cast::Curer, &format!("/labels?kind=pack&lots={codes}")).await;
    let labels = page.all(".pack-label");
    assert_eq!(labels.len(), 2, "{}", page.text);
    // 2,000 g of trim, 50 g of salt, 6 g of pepper, 5 g of cure.
    let list =
        "Ingredients: pork, salt, black pepper (mustard), curing salt (salt, sodium nitrite), beef casing.";
    assert!(labels[0].contains(list), "{}", labels[0]);
    assert_eq!(page.all(".pack-label strong")[..2], ["Best before 1 Feb 2027", "mustard"]);
    assert_eq!(page.one(".pack-label .weight"), "Net weight 250 g");
    let first = codes.split(',').next().unwrap();
    assert_eq!(page.one(".pack-label .lot"), format!("L{first}"));
    for said in [
        "Packed 24 Nov 2026",
        "Keep refrigerated at or below 4 °C",
        "Whitcombe & Daughter, 3 Tannery Row",
        "UK EF 014",
    ] {
        assert!(labels[0].contains(said), "{said}: {}", labels[0]);
    }
    assert!(read_codes(&page).iter().zip(codes.split(',')).all(|(read, code)| read.ends_with(code)));
}

#[tokio::test]
async fn raw_meat_in_the_united_states_carries_the_safe_handling_instructions() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    sqlx::query("UPDATE shop SET system = 'us', currency = 'USD'")
        .execute(&shop.app.book.pool)
        .await
        .unwrap();
    let collar = shop.lot(&things, &things.collar, Form::Cut, Grams::whole(3_000), None).await;
    let form = shop.get(Cast::Curer, &format!("/dispatch/pack?lot={}", collar.code)).await;
    assert_eq!(form.attribute("input[name=handling]", "checked").as_deref(), Some(""));
    let codes = pack(&shop, &things, &collar.lot.to_string(), "1", "24.01 oz", &[("handling", "yes")]).await;
    let page = shop.get(Cast::Curer, &format!("/labels?kind=pack&lots={codes}")).await;
    // What is usual, 4 × 3 in, has no room for text of a sixteenth of an inch: then nothing is printed.
    let small = page.all("#f-size option").iter().position(|name| name.contains("4 × 3")).unwrap();
    let sizes: Vec<String> = {
        let html = Html::parse_document(&page.text);
        let options = Selector::parse("#f-size option").unwrap();
        html.select(&options).map(|option| option.value().attr("value").unwrap().to_owned()).collect()
    };
    let refused =
        shop.get(Cast::Curer, &format!("/labels?kind=pack&lots={codes}&size={}", sizes[small])).await;
    assert!(refused.one(".notice").contains("does not fit"), "{}", refused.text);
    assert!(refused.all(".label").is_empty());
    assert!(
        page.one(".handling").contains("Wash working surfaces (including cutting boards)"),
        "{}",
        page.text
    );
    // 9 CFR 317.2(h).
    assert_eq!(page.one(".pack-label .weight"), "Net Wt. 24 oz. (1 lb. 8 oz.)");
    // One ingredient that is the food itself needs no list.
    assert!(!page.text.contains("Ingredients:"));
}

#[tokio::test]
async fn nothing_prints_for_what_is_on_hold_struck_unreleased_or_no_pack() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let piece = made.pieces[0].code;
    let page = shop.get(Cast::Owner, &format!("/labels?kind=pack&lots={piece}")).await;
    assert!(page.one(".notice").contains("not released"), "{}", page.text);
    assert!(page.all(".label").is_empty());
    shop.release(&made).await;
    let page = shop.get(Cast::Owner, &format!("/labels?kind=pack&lots={piece}")).await;
    assert!(page.one(".notice").contains("is no pack"), "{}", page.text);
    let codes = pack(&shop, &things, &made.pieces[0].lot.to_string(), "1", "250", &LASTS).await;
    assert_eq!(
        shop.get(Cast::Owner, &format!("/labels?kind=pack&lots={codes}")).await.all(".label").len(),
        1
    );
    let held = hold(&shop, &things).await;
    let path = format!("/labels?kind=tag&lots={held},{piece}");
    let page = shop.get(Cast::Owner, &path).await;
    assert!(page.one(".notice").contains("on hold"), "{}", page.text);
    assert_eq!(page.all(".hook-tag .code"), [piece.to_string()]);
    let page = shop.get(Cast::Owner, &format!("/labels?kind=pack&lots={held}")).await;
    assert!(page.one(".notice").contains("on hold"), "{}", page.text);
}

/// A collar that came in too warm; its code.
async fn hold(shop: &Shop, things: &Things) -> String {
    let good = shop.lot(things, &things.collar, Form::Cut, Grams::whole(3_000), None).await;
    let mut pen = shop.pen(Cast::Owner).await;
    let mut held = good.clone();
    held.lot = flitchbook::ids::LotId::made_by(pen.next().id);
    held.code = pen.next_code(shop.app.book.clock.now().date()).await.unwrap();
    held.held = Some("surface at 6.2 °C".into());
    pen.append(held.clone()).await.unwrap();
    pen.commit().await.unwrap();
    held.code.to_string()
}

#[tokio::test]
async fn the_page_prints_at_the_size_that_was_chosen() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await;
    let page = shop.get(Cast::Owner, &format!("/labels?lots={}", carcass.code)).await;
    let style = page.attribute("link[href^='/labels/sizes/']", "href").unwrap();
    let css = shop.get(Cast::Owner, &style).await;
    assert!(css.text.contains("@page { size: 100mm 62mm; margin: 0 }"), "{}", css.text);
    assert_eq!(css.headers["content-type"], "text/css; charset=utf-8");
    assert!(!page.text.contains("style="), "our pages take no style of their own");
}

#[tokio::test]
async fn a_sheet_goes_on_where_it_was_left() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await;
    let page = shop.get(Cast::Owner, &format!("/labels?lots={}", carcass.code)).await;
    let html = Html::parse_document(&page.text);
    let options = Selector::parse("#f-size option").unwrap();
    let sheet = html
        .select(&options)
        .find(|option| option.text().collect::<String>().contains("A4 sheet of 8"))
        .and_then(|option| option.value().attr("value"))
        .unwrap();
    let lots = vec![carcass.code.to_string(); 3].join(",");
    let page = shop.get(Cast::Owner, &format!("/labels?lots={lots}&size={sheet}&skip=6")).await;
    assert_eq!(
        (page.all(".label-page").len(), page.all(".label.blank").len(), page.all(".hook-tag").len()),
        (2, 6, 3)
    );
    let page = shop.get(Cast::Owner, &format!("/labels?lots={lots}&size={sheet}&skip=lots")).await;
    assert_eq!((page.all(".label-page").len(), page.all(".label.blank").len()), (1, 0));
}

#[tokio::test]
async fn codes_that_are_not_there_are_said_and_kept() {
    let shop = Shop::open().await;
    for (path, said) in [
        ("/labels?lots=26328-99", "No lot has the code 26328-99"),
        ("/labels?lots=nonsense", "nonsense: This cannot be read as a code"),
    ] {
        let page = shop.get(Cast::Owner, path).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(page.error_at("lots").contains(said), "{}", page.error_at("lots"));
    }
    let page = shop.get(Cast::Owner, "/labels").await;
    assert_eq!((page.status, page.one("h1")), (StatusCode::OK, "Labels".into()));
    assert_eq!(shop.get(Cast::Owner, "/labels/sizes/none.css").await.status, StatusCode::NOT_FOUND);
    let unknown = format!("/labels/sizes/{}.css", Uuid::from_u128(4));
    assert_eq!(shop.get(Cast::Owner, &unknown).await.status, StatusCode::NOT_FOUND);
    assert!(goes_to(&shop.get(Cast::Stranger, "/labels").await).starts_with("/sign-in"));
}

/// A size as the form says it.
fn size<'a>(name: &'a str, width: &'a str, height: &'a str) -> Vec<(&'static str, &'a str)> {
    vec![("name", name), ("unit", "in"), ("width", width), ("height", height), ("uses", "both")]
}

#[tokio::test]
async fn a_shop_adds_its_own_size_and_changes_a_usual_one() {
    let shop = Shop::open().await;
    goes_to(&shop.post(Cast::Owner, "/setup/labels", &size("Freezer roll", "2 1/4", "1.25")).await);
    let page = shop.get(Cast::Inspector, "/setup/labels").await;
    assert_eq!(page.all("tbody tr").len(), 9);
    assert!(page.all("tbody tr")[8].contains("2.25 × 1.25 in"), "{:?}", page.all("tbody tr"));
    let usual = page.attribute("tbody th a", "href").unwrap();
    let form = shop.get(Cast::Owner, &usual).await;
    assert_eq!(form.attribute("input[name=width]", "value").as_deref(), Some("100"));
    let mut retired = size("Old roll", "4", "6");
    retired.push(("retired", "yes"));
    goes_to(&shop.post(Cast::Owner, &usual, &retired).await);
    let page = shop.get(Cast::Inspector, "/setup/labels").await;
    assert!(page.all("tbody tr")[0].contains("Old roll no longer used"), "{:?}", page.all("tbody tr"));
    assert!(!shop.get(Cast::Owner, "/labels").await.one("#f-size").contains("Old roll"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_size_that_cannot_be_is_refused_and_stays_typed() {
    let shop = Shop::open().await;
    let long = "x".repeat(121);
    let sheet = |across: &'static str, down: &'static str| {
        let mut fields = size("Sheet", "4", "2");
        fields.extend([("paper", "letter"), ("across", across), ("down", down)]);
        fields
    };
    let cases: Vec<(Vec<(&str, &str)>, &str)> = vec![
        (size("", "4", "6"), "name"),
        (size(&long, "4", "6"), "name"),
        (size("Roll", "", "6"), "width"),
        (size("Roll", "-4", "6"), "width"),
        (size("Roll", "4", "6 kg"), "height"),
        (size("Roll", "4", "40"), "height"),
        (size("Roll", "4", "1 mm"), "height"),
        (sheet("3", "5"), "across"),
        (sheet("2", "6"), "down"),
        (sheet("0", "5"), "across"),
        (sheet("2", "many"), "down"),
        ([size("Roll", "4", "6"), vec![("paper", "foolscap")]].concat(), "paper"),
        (vec![("name", "Roll"), ("unit", "ell"), ("width", "4"), ("height", "6"), ("uses", "both")], "unit"),
        (vec![("name", "Roll"), ("unit", "in"), ("width", "4"), ("height", "6"), ("uses", "hats")], "uses"),
    ];
    let before = shop.lines().await;
    for (fields, field) in cases {
        let page = shop.post(Cast::Owner, "/setup/labels", &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(!page.error_at(field).is_empty(), "{field} says nothing of {fields:?}");
        assert_eq!(page.attribute("input[name=height]", "value").as_deref(), Some(fields[3].1));
    }
    assert_eq!(shop.lines().await, before);
    for cast in [Cast::Cutter, Cast::Curer, Cast::Reviewer, Cast::Inspector] {
        assert_eq!(
            shop.post(cast, "/setup/labels", &size("Roll", "4", "6")).await.status,
            StatusCode::FORBIDDEN
        );
    }
    let unknown = format!("/setup/labels/{}", Uuid::from_u128(3));
    assert_eq!(shop.post(Cast::Owner, &unknown, &size("Roll", "4", "6")).await.status, StatusCode::NOT_FOUND);
}
