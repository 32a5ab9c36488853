//! Breakdowns from the first cut to the result: closing, weighing the source again, primals in their turn.

use axum::http::StatusCode;
use flitchbook::block;
use flitchbook::book::{Form, Pen};
use flitchbook::ids::{ItemId, Named};
use flitchbook::setup::entry::ItemWritten;
use rust_decimal::{Decimal, dec};
use serde_json::json;
use uuid::Uuid;

use crate::shop::{Cast, Page, Shop, Things, goes_to};

/// Puts a thing into the list that sells for so much a kilogram.
pub async fn selling(
    shop: &Shop,
    n: u128,
    name: &str,
    form: Form,
    price: Option<&str>,
    by_product: bool,
) -> Named<ItemId> {
    let id = ItemId(Uuid::from_u128(n));
    let mut body =
        json!({"item": id, "name": name, "form": form, "species": "pig", "by_product": by_product});
    if let Some(price) = price {
        body["sales_price"] = json!(price);
    }
    shop.sign(serde_json::from_value::<ItemWritten>(body).unwrap()).await;
    Named::new(id, name)
}

/// The address of the breakdown of a lot that is now laid on the block.
pub async fn lay(shop: &Shop, lot: &str, list: &str) -> String {
    goes_to(&shop.post(Cast::Cutter, "/block", &[("lot", lot), ("cut_list", list)]).await)
}

/// Weighs a cut and sees that it was signed.
pub async fn weigh(
    shop: &Shop,
    things: &Things,
    path: &str,
    cut: &Named<ItemId>,
    weight: &str,
    goes_to_word: &str,
) {
    let page = post(shop, things, path, cut, weight, goes_to_word).await;
    assert_eq!(page.status, StatusCode::SEE_OTHER, "{} {weight}: {}", cut.name, page.text);
}

async fn post(
    shop: &Shop,
    things: &Things,
    path: &str,
    cut: &Named<ItemId>,
    weight: &str,
    goes: &str,
) -> Page {
    let (cut, place) = (cut.id.to_string(), things.cooler.id.to_string());
    let fields =
        [("cut", cut.as_str()), ("weight", weight), ("pieces", "1"), ("goes_to", goes), ("place", &place)];
    shop.post(Cast::Cutter, path, &fields).await
}

pub async fn close(shop: &Shop, path: &str, reason: &str) -> Page {
    shop.post(Cast::Cutter, &format!("{path}/closing"), &[("reason", reason)]).await
}

/// The cells of the row that begins with these words.
fn row(page: &Page, table: &str, name: &str) -> Vec<String> {
    let heads = page.all(&format!("{table} tr th[scope=row]"));
    let at = heads.iter().position(|head| head == name).unwrap_or_else(|| panic!("no {name} in {heads:?}"));
    let wide = page.all(&format!("{table} tbody tr:first-child td")).len();
    page.all(&format!("{table} tr td"))[at * wide..(at + 1) * wide].to_vec()
}

/// What is left of `£12.40` when its sign is taken off.
fn amount(text: &str) -> Decimal {
    text.trim_start_matches('£').replace(',', "").parse().unwrap()
}

/// A shop with the cut lists that the program ships, and a carcass of 92.4 kg.
async fn with_lists() -> (Shop, Things, Vec<Named<ItemId>>, String) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let mut items = Vec::new();
    for item in [&things.collar, &things.loin] {
        items.push(selling(&shop, item.id.0.as_u128(), &item.name, Form::Cut, Some("6.00"), false).await);
    }
    let lists: serde_json::Value = serde_json::from_str(include_str!("../../seed/cut_lists.json")).unwrap();
    let names = lists.as_array().unwrap().iter().flat_map(|list| list["cuts"].as_array().unwrap());
    for (n, cut) in (1_000..).zip(names) {
        let name = cut["item"].as_str().unwrap();
        if items.iter().all(|item| item.name != name) {
            items.push(selling(&shop, n, name, Form::Cut, Some("6.00"), false).await);
        }
    }
    let mut pen: Pen = shop.pen(Cast::Owner).await;
    block::ship(&mut pen, &items).await.unwrap();
    pen.commit().await.unwrap();
    let carcass = shop.carcass(&things, 92_400).await.lot.to_string();
    (shop, things, items, carcass)
}

async fn list_called(shop: &Shop, name: &str) -> String {
    let id: Uuid = sqlx::query_scalar("SELECT id FROM cut_list WHERE name = $1")
        .bind(name)
        .fetch_one(&shop.app.book.pool)
        .await
        .unwrap();
    id.to_string()
}

/// Twelve cuts that weigh 91.130 kg together.
const TWELVE: [(&str, &str); 12] = [
    ("pork leg", "22.960"),
    ("pork loin", "13.020"),
    ("pork belly", "14.310"),
    ("pork shoulder", "12.740"),
    ("pork collar", "5.480"),
    ("pork jowl", "2.910"),
    ("pork back fat", "4.640"),
    ("pork leaf fat", "1.420"),
    ("pork trim 80/20", "4.155"),
    ("pig head", "5.230"),
    ("pork fore feet", "1.060"),
    ("pork bones", "3.205"),
];

#[tokio::test]
async fn a_carcass_of_92_4_kg_into_twelve_cuts_shows_yield_and_loss_to_the_gram() {
    let (shop, things, items, carcass) = with_lists().await;
    let path = lay(&shop, &carcass, &list_called(&shop, "Pig carcass").await).await;
    for (name, weight) in TWELVE {
        let cut = items.iter().find(|item| item.name == name).unwrap();
        // The next cut of the list is picked already, and goes where the list says.
        let page = shop.get(Cast::Cutter, &path).await;
        assert_eq!(page.attribute("input[name=cut][checked]", "value"), Some(cut.id.to_string()), "{name}");
        assert!(page.attribute("input[name=weight]", "autofocus").is_some());
        weigh(&shop, &things, &path, cut, weight, "list").await;
        if name == "pork leg" {
            let page = shop.get(Cast::Cutter, &path).await;
            assert!(page.one("tr.fresh").contains("to break down further"), "{}", page.one("tr.fresh"));
            assert!(page.one(".picks label").contains("✓ 22.96 kg, list 25.0 %"), "{}", page.one(".picks"));
        }
        if name == "pork fore feet" {
            break;
        }
    }
    // The hind feet stayed on the legs: the list goes on to the bones all the same.
    let page = shop.get(Cast::Cutter, &path).await;
    assert!(page.one("dl.figures").contains("the list still expects 3.4 %"), "{}", page.one("dl.figures"));
    let bones = items.iter().find(|item| item.name == "pork bones").unwrap();
    weigh(&shop, &things, &path, bones, "3.205", "list").await;
    assert_eq!(goes_to(&close(&shop, &path, "").await), path);

    let page = shop.get(Cast::Cutter, &path).await;
    assert_eq!(row(&page, "#yields", "pork leg")[..4], ["22.960 kg", "24.85 %", "25.0 %", "−0.2"]);
    assert_eq!(row(&page, "#yields", "Cutting loss")[..4], ["1.270 kg", "1.37 %", "1.8 %", "−0.4"]);
    assert_eq!(row(&page, "#yields", "Together")[..2], ["92.400 kg", "100.00 %"]);
    assert_eq!(row(&page, "#yields", "pork hind feet")[..2], ["not weighed", "0.00 %"]);
    // 92.4 kg at 3.80 a kilo.
    let carried: Decimal = page.all("#cost tbody td[data-name='By weight']").iter().map(|c| amount(c)).sum();
    let by_value: Decimal =
        page.all("#cost tbody td[data-name='By sales value']").iter().map(|c| amount(c)).sum();
    assert_eq!((carried, by_value), (dec!(351.12), dec!(351.12)));
    assert!(shop.grams("26328-01").await.is_zero());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_loss_over_the_tolerance_needs_its_reason_and_the_book_is_unchanged_without() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    let nothing = close(&shop, &path, "as it is").await;
    assert_eq!(nothing.status, StatusCode::UNPROCESSABLE_ENTITY);
    weigh(&shop, &things, &path, &things.loin, "89.5", "freezer").await;
    let before = shop.lines().await;
    let refused = close(&shop, &path, "").await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.error_at("reason").contains("3.14 %"), "{}", refused.error_at("reason"));
    assert_eq!(shop.lines().await, before);
    goes_to(&close(&shop, &path, "a hock fell on the floor").await);
    let page = shop.get(Cast::Inspector, &path).await;
    assert!(page.one(".notice").contains("a hock fell on the floor"), "{}", page.one(".notice"));
    assert!(page.one("table.lines").contains("over tolerance"));
    assert_eq!(close(&shop, &path, "again").await.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_closed_breakdown_takes_no_cut_until_its_closing_line_is_struck() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    weigh(&shop, &things, &path, &things.loin, "91", "freezer").await;
    close(&shop, &path, "").await;
    let late = post(&shop, &things, &path, &things.collar, "1", "freezer").await;
    assert_eq!(late.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(late.one(".errors").contains("closed"), "{}", late.one(".errors"));
    let reopen =
        shop.get(Cast::Cutter, &path).await.attribute("a[href$='/strike']:not(.strike)", "href").unwrap();
    goes_to(&shop.post(Cast::Cutter, &reopen, &[("reason", "the collar was still there")]).await);
    weigh(&shop, &things, &path, &things.collar, "1", "freezer").await;
    close(&shop, &path, "").await;
    let page = shop.get(Cast::Cutter, &path).await;
    assert_eq!(row(&page, "#yields", "Cutting loss")[0], "400 g");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_cut_heavier_than_the_rest_shows_the_way_to_weigh_the_source_again() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    let refused = post(&shop, &things, &path, &things.loin, "93", "freezer").await;
    let again = refused.attribute("form.sheet a[href$='/source']", "href").unwrap();
    let before = shop.lines().await;
    for (weight, reason, field) in [
        ("", "docket", "weight"),
        ("93.1", "", "reason"),
        ("-1", "docket", "weight"),
        ("92.4", "docket", "weight"),
        ("heavy", "docket", "weight"),
    ] {
        let page = shop.post(Cast::Cutter, &again, &[("weight", weight), ("reason", reason)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{weight}");
        assert!(!page.error_at(field).is_empty(), "{weight}: {}", page.text);
        assert_eq!(page.attribute("input[name=reason]", "value").as_deref(), Some(reason));
    }
    assert_eq!(shop.lines().await, before);
    let fields = [("weight", "93.1"), ("reason", "the docket was wrong")];
    assert_eq!(goes_to(&shop.post(Cast::Cutter, &again, &fields).await), path);
    weigh(&shop, &things, &path, &things.loin, "93", "freezer").await;
    assert_eq!(shop.post(Cast::Inspector, &again, &fields).await.status, StatusCode::FORBIDDEN);
    // The scale's word stands on the cut before it: that is struck last.
    let cut = shop.get(Cast::Cutter, &path).await.attribute("tr.fresh a.strike", "href").unwrap();
    goes_to(&shop.post(Cast::Cutter, &cut, &[("reason", "wrong button")]).await);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn less_on_the_scale_than_in_the_book_is_missing_and_no_cutting_loss() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    let fields = [("weight", "91"), ("reason", "hot weight on the docket")];
    goes_to(&shop.post(Cast::Cutter, &format!("{path}/source"), &fields).await);
    weigh(&shop, &things, &path, &things.loin, "90", "freezer").await;
    close(&shop, &path, "").await;
    let page = shop.get(Cast::Cutter, &path).await;
    assert_eq!(row(&page, "#yields", "Missing")[..2], ["1.400 kg", "1.52 %"]);
    assert_eq!(row(&page, "#yields", "Cutting loss")[..2], ["1.000 kg", "1.08 %"]);
    assert_eq!(row(&page, "#yields", "Together")[0], "92.400 kg");
    assert_eq!(shop.verify().await.findings, []);
}

/// Cut-out of a carcass of 184 lb from a hog of 250 lb, in pounds, as published by a state university extension with a
/// pork producers' council. The shrink and loss of 1.8 lb is not a cut.
const CUT_OUT: [(&str, &str); 23] = [
    ("cured ham", "25.5"),
    ("fresh ham", "2.3"),
    ("ham trim", "5.8"),
    ("ham skin, fat and bone", "11.4"),
    ("bacon", "19.0"),
    ("spareribs", "5.8"),
    ("side trim", "9.1"),
    ("side fat", "1.0"),
    ("back ribs", "3.2"),
    ("boneless loin", "10.7"),
    ("country ribs", "7.6"),
    ("sirloin roast", "5.7"),
    ("tenderloin", "1.6"),
    ("loin trim", "1.6"),
    ("loin fat and bone", "3.4"),
    ("boneless picnic", "12.6"),
    ("picnic skin, fat and bone", "4.0"),
    ("blade steaks", "4.4"),
    ("blade roast", "7.8"),
    ("butt trim", "1.7"),
    ("butt fat", "0.8"),
    ("jowls, feet, tail, neck bones", "15.4"),
    ("other skin, fat and bone", "22.0"),
];

#[tokio::test]
async fn the_published_cut_out_of_184_lb_shows_its_gain_of_0_2_lb() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    // 184 lb at 453.59237 g to the pound (NIST SP 811, appendix B.8) are 83,461.00 g.
    let carcass = shop.carcass(&things, 83_461).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    for (n, (name, pounds)) in (2_000..).zip(CUT_OUT) {
        let cut = selling(&shop, n, name, Form::Cut, None, false).await;
        weigh(&shop, &things, &path, &cut, &format!("{pounds} lb"), "fresh counter").await;
    }
    // The rows sum to 184.2 lb: where the book has 1.6 lb left, 1.8 lb lie on the block.
    let fields = [("weight", "1.8 lb"), ("reason", "published figures are rounded")];
    goes_to(&shop.post(Cast::Cutter, &format!("{path}/source"), &fields).await);
    close(&shop, &path, "").await;
    let page = shop.get(Cast::Cutter, &path).await;
    assert!(
        page.one(".notice").contains("more lay here than was taken in, 0.11 % of it"),
        "{}",
        page.one(".notice")
    );
    let ham: Vec<String> = row(&page, "#yields", "cured ham");
    assert_eq!(ham[1], "13.86 %", "25.5 of 184 lb");
    assert_eq!(row(&page, "#yields", "Cutting loss")[1], "0.98 %", "1.8 of 184 lb");
    assert_eq!(row(&page, "#yields", "Of it found by weighing again")[1], "0.11 %", "0.2 of 184 lb");
    assert_eq!(row(&page, "#yields", "Together")[1], "100.11 %", "184.2 of 184 lb");
    assert!(page.one("#cost").contains("By sales value it cannot be shared"), "{}", page.one("#cost"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_butt_is_broken_down_in_its_turn_and_yields_88_12_per_cent_boneless() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 83_461).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    let butt = selling(&shop, 3_000, "pork butt", Form::Primal, None, false).await;
    weigh(&shop, &things, &path, &butt, "15.91 lb", "break down further").await;
    let page = shop.get(Cast::Cutter, &path).await;
    let further = page.attribute("dl.facts a", "href").unwrap();
    let lot = further.trim_start_matches("/block?lot=").to_owned();
    let picked = shop.get(Cast::Cutter, &further).await;
    assert_eq!(picked.attribute("input[name=lot][checked]", "value").as_deref(), Some(lot.as_str()));

    let own = lay(&shop, &lot, "").await;
    let boneless = selling(&shop, 3_001, "pork butt, boneless", Form::Cut, Some("9"), false).await;
    let bone = selling(&shop, 3_002, "pork bones", Form::Bone, Some("0.5"), true).await;
    let scrap = selling(&shop, 3_003, "scrap", Form::Trim, Some("2"), false).await;
    // Published cutting test of a boneless butt: 15.91 lb gave bone 1.10, scrap 0.79 and boneless 14.02 lb, 88.12 %.
    // The scrap in grams: three weights rounded to 0.01 g are 0.01 g more than their sum.
    weigh(&shop, &things, &own, &boneless, "14.02 lb", "whole-muscle cure").await;
    weigh(&shop, &things, &own, &bone, "1.10 lb", "stock").await;
    weigh(&shop, &things, &own, &scrap, "358.33 g", "mince").await;
    goes_to(&close(&shop, &own, "").await);
    let page = shop.get(Cast::Cutter, &own).await;
    assert_eq!(row(&page, "#yields", "pork butt, boneless")[1], "88.12 %");
    assert_eq!(row(&page, "#yields", "pork butt, boneless")[2], "7.6 %", "14.02 of 184 lb");
    assert!(page.one("ol.way").contains("26328-01"), "{}", page.one("ol.way"));
    assert!(shop.get(Cast::Cutter, &path).await.one("dl.facts").contains("closed, its result"));
    // A cut of the butt takes the next free number under the carcass.
    assert!(shop.grams("26328-01.02").await.is_positive());
    // While the carcass is open the butt carries its weight's part of it: 7,216.65 g at 3.80, 27.42 to the cent.
    let first = shop.get(Cast::Cutter, &format!("{own}?by_products=first")).await;
    let carried: Decimal = first.all("#cost tbody td[data-name='By weight']").iter().map(|c| amount(c)).sum();
    assert_eq!(carried, dec!(27.42));
    // 498.95 g of bone at 0.50 a kilo.
    assert_eq!(row(&first, "#cost table", "pork bones")[1], "£0.25");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn where_a_use_went_last_time_is_remembered() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    weigh(&shop, &things, &path, &things.collar, "7", "whole-muscle cure").await;
    let page = shop.get(Cast::Cutter, &path).await;
    assert!(
        page.one("#f-place-hint").contains("whole-muscle cure: cooler 1"),
        "{}",
        page.one("#f-place-hint")
    );
    let cut = things.loin.id.to_string();
    let mut fields = vec![
        ("cut", cut.as_str()),
        ("weight", "11"),
        ("pieces", "2"),
        ("goes_to", "whole-muscle cure"),
        ("place", ""),
    ];
    goes_to(&shop.post(Cast::Cutter, &path, &fields).await);
    fields[3] = ("goes_to", "freezer");
    let refused = shop.post(Cast::Cutter, &path, &fields).await;
    assert!(refused.error_at("place").contains("freezer"), "{}", refused.error_at("place"));
    fields[3] = ("goes_to", "list");
    assert!(
        shop.post(Cast::Cutter, &path, &fields).await.error_at("goes_to").contains("not on the cut list")
    );
}

#[tokio::test]
async fn waste_and_trim_are_weighed_off_as_well() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await.lot.to_string();
    let path = lay(&shop, &carcass, "").await;
    let trim = selling(&shop, 4_000, "pork trim", Form::Trim, None, false).await;
    weigh(&shop, &things, &path, &trim, "2", "waste").await;
    let (cut, place) = (trim.id.to_string(), things.cooler.id.to_string());
    let mut fields =
        vec![("cut", cut.as_str()), ("weight", "3"), ("pieces", "1"), ("goes_to", "mince"), ("fat", "20")];
    fields.push(("place", &place));
    goes_to(&shop.post(Cast::Cutter, &path, &fields).await);
    assert!(shop.get(Cast::Cutter, &path).await.one("tr.fresh").contains("80/20 visual"));
    let collar = things.collar.id.to_string();
    fields[0] = ("cut", &collar);
    assert!(shop.post(Cast::Cutter, &path, &fields).await.error_at("fat").contains("Only trim"));
    assert_eq!(shop.grams("26328-01").await.decimal(), dec!(87400));
    assert_eq!(shop.verify().await.findings, []);
}
