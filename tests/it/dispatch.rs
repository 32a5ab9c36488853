//! Packing, dispatch and discard, through the router and a real database.

use axum::http::StatusCode;
use flitchbook::book::Form;
use flitchbook::ids::{DispatchId, LotId, Named, PlaceId};
use flitchbook::measure::{Grams, LotCode};
use flitchbook::receiving::entry::LotReceived;
use flitchbook::setup::entry::{PlaceKind, PlaceWritten};
use uuid::Uuid;

use crate::shop::{Cast, Page, Shop, Things, goes_to};

/// A shop with a collar of 3 kg in its cooler and a restaurant that buys from it.
struct Counter {
    shop: Shop,
    things: Things,
    collar: LotReceived,
    /// The customer's id.
    ladle: String,
}

async fn counter() -> Counter {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let collar = shop.lot(&things, &things.collar, Form::Cut, Grams::whole(3_000), None).await;
    let ladle = add_customer(&shop, "The Copper Ladle").await;
    Counter { shop, things, collar, ladle }
}

async fn add_customer(shop: &Shop, name: &str) -> String {
    let fields = [("name", name), ("address", "9 Weir Street\nElverford"), ("contact", "01632 960 144")];
    goes_to(&shop.post(Cast::Curer, "/dispatch/customers", &fields).await);
    let page = shop.get(Cast::Curer, "/dispatch/customers").await;
    let href = page.attribute("tbody th a", "href").unwrap();
    href.rsplit('/').next().unwrap().to_owned()
}

/// The fields of a docket with one line: all of a lot, unless a weight is typed.
fn docket<'a>(
    customer: &'a str,
    lot: &'a str,
    whole: &'a str,
    weight: &'a str,
) -> Vec<(&'static str, &'a str)> {
    vec![
        ("act", "sign"),
        ("customer", customer),
        ("lot", lot),
        ("whole", whole),
        ("weight", weight),
        ("weight_unit", "kg"),
        ("price", ""),
    ]
}

impl Counter {
    async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Page {
        self.shop.post(Cast::Curer, path, fields).await
    }

    async fn collar_leaves(&self) -> String {
        let lot = self.collar.lot.to_string();
        goes_to(&self.post("/dispatch/new", &docket(&self.ladle, &lot, "3000.00", "")).await)
    }
}

#[tokio::test]
async fn a_docket_says_the_eight_facts_of_what_left() {
    let c = counter().await;
    let path = c.collar_leaves().await;
    let page = c.shop.get(Cast::Inspector, &path).await;
    let facts = page.one("dl.facts");
    // Regulation (EU) No 931/2011, art. 3(1), (c) to (f) and (h); the consignor and the consignee are named only where
    // they are somebody else.
    assert!(facts.contains("Dispatched byWhitcombe & Daughter, 3 Tannery Row, Elverford"), "{facts}");
    assert!(facts.contains("Received byThe Copper Ladle, 9 Weir Street, Elverford"), "{facts}");
    assert!(facts.contains("Date of dispatch24 Nov 2026 09:40"), "{facts}");
    assert!(!facts.contains("consign"), "{facts}");
    // (g), (a) and (b).
    assert_eq!(page.all("tbody th a.code"), ["26328-01"]);
    assert_eq!(page.all("td.whole"), ["pork collar"]);
    assert!(page.one("td.num").starts_with("3.000 kg"), "{}", page.one("td.num"));
    assert_eq!(page.one("h1"), "Docket D26328-01");
    assert!(c.shop.grams("26328-01").await.is_zero());
    assert_eq!(c.shop.verify().await.findings, []);
}

#[tokio::test]
async fn owners_that_are_somebody_else_stand_on_the_docket() {
    let c = counter().await;
    let path = format!("/dispatch/customers/{}", c.ladle);
    let change =
        [("name", "The Copper Ladle"), ("address", "9 Weir Street"), ("consignee", "Ladle Holdings\n1 Quay")];
    goes_to(&c.post(&path, &change).await);
    let lot = c.collar.lot.to_string();
    let mut fields = docket(&c.ladle, &lot, "3000.00", "1");
    fields.push(("consignor", "Hazelrigg Farm\nElverford"));
    let page = c.shop.get(Cast::Owner, &goes_to(&c.post("/dispatch/new", &fields).await)).await;
    let facts = page.one("dl.facts");
    assert!(facts.contains("Owner before (consignor)Hazelrigg Farm, Elverford"), "{facts}");
    assert!(facts.contains("Owner from here (consignee)Ladle Holdings, 1 Quay"), "{facts}");
    assert_eq!(c.shop.grams("26328-01").await, Grams::whole(2_000));
}

#[tokio::test]
async fn a_docket_keeps_the_address_that_it_was_signed_with() {
    let c = counter().await;
    let docket = c.collar_leaves().await;
    let moved = [("name", "The Copper Ladle"), ("address", "Somewhere else")];
    goes_to(&c.post(&format!("/dispatch/customers/{}", c.ladle), &moved).await);
    assert!(c.shop.get(Cast::Owner, &docket).await.one("dl.facts").contains("9 Weir Street"));
}

#[tokio::test]
async fn over_the_counter_nobody_is_named() {
    let c = counter().await;
    let lot = c.collar.lot.to_string();
    let path = goes_to(&c.post("/dispatch/new", &docket("counter", &lot, "3000.00", "250 g")).await);
    let page = c.shop.get(Cast::Owner, &path).await;
    assert!(page.one("dl.facts").contains("over the counter"), "{}", page.one("dl.facts"));
    let party: Option<Uuid> = sqlx::query_scalar("SELECT party FROM movement WHERE account = 'customer'")
        .fetch_one(&c.shop.app.book.pool)
        .await
        .unwrap();
    assert_eq!(party, None);
    assert_eq!(c.shop.grams("26328-01").await, Grams::whole(2_750));
}

#[tokio::test]
async fn adding_a_code_writes_nothing_and_loses_nothing() {
    let c = counter().await;
    let loin = c.shop.lot(&c.things, &c.things.loin, Form::Cut, Grams::whole(4_000), None).await;
    let before = c.shop.lines().await;
    let lot = c.collar.lot.to_string();
    let mut fields = docket(&c.ladle, &lot, "3000.00", "1,5");
    fields[0] = ("act", "add");
    fields.push(("code", " 26328-2 "));
    fields.push(("consignor", "Hazelrigg Farm"));
    let page = c.post("/dispatch/new", &fields).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text);
    assert_eq!(page.all("fieldset.listed legend .code"), ["26328-01", "26328-02"]);
    assert_eq!(page.attribute("#f-weight-1", "value").as_deref(), Some("1,5"));
    assert_eq!(page.attribute("#f-code", "value").as_deref(), Some(""));
    assert_eq!(page.one("textarea[name=consignor]"), "Hazelrigg Farm");
    assert_eq!(page.attribute("select[name=customer] option[selected]", "value"), Some(c.ladle.clone()));
    assert_eq!(c.shop.lines().await, before);
    let loin = loin.lot.to_string();
    let mut both = docket(&c.ladle, &lot, "3000.00", "1,5");
    both.extend([
        ("lot", loin.as_str()),
        ("whole", "4000.00"),
        ("weight", ""),
        ("weight_unit", "kg"),
        ("price", "14"),
    ]);
    let page = c.shop.get(Cast::Owner, &goes_to(&c.post("/dispatch/new", &both).await)).await;
    assert_eq!(page.all("tbody th a.code"), ["26328-01", "26328-02"]);
    // 4 kg at 14.00 a kilogram.
    assert!(page.one("tfoot").contains("56.00"), "{}", page.one("tfoot"));
    assert_eq!(c.shop.grams("26328-01").await, Grams::whole(1_500));
    assert!(c.shop.grams("26328-02").await.is_zero());
}

#[tokio::test]
async fn a_line_is_left_out_again() {
    let c = counter().await;
    let lot = c.collar.lot.to_string();
    let mut fields = docket(&c.ladle, &lot, "3000.00", "1");
    fields[0] = ("leave_out", "1");
    let page = c.post("/dispatch/new", &fields).await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.all("fieldset.listed").is_empty());
}

#[tokio::test]
async fn codes_in_the_address_begin_a_list() {
    let c = counter().await;
    let page = c.shop.get(Cast::Curer, "/dispatch/new?lots=26328-01,26328-77,nonsense").await;
    assert_eq!(page.all("fieldset.listed legend .code"), ["26328-01"]);
    assert_eq!(page.attribute("#f-code", "value").as_deref(), Some("26328-77, nonsense"));
    assert!(page.error_at("code").contains("No lot has the code 26328-77"), "{}", page.error_at("code"));
}

#[tokio::test]
async fn a_docket_that_cannot_be_signed_keeps_what_was_typed() {
    let c = counter().await;
    let salt = c.shop.larder(&c.things).await.salt_lot.to_string();
    let collar = c.collar.lot.to_string();
    let stranger = Uuid::from_u128(1).to_string();
    let long = "9".repeat(90);
    // What is typed, and the field that says no.
    let cases: Vec<(Vec<(&str, &str)>, &str)> = vec![
        (docket("", &collar, "3000.00", "1"), "customer"),
        (docket(&stranger, &collar, "3000.00", "1"), "customer"),
        (docket(&c.ladle, &stranger, "3000.00", "1"), "lot-1"),
        (docket(&c.ladle, "26328-01", "3000.00", "1"), "lot-1"),
        (docket(&c.ladle, &salt, "25000.00", "1"), "lot-1"),
        (docket(&c.ladle, &collar, "3000.00", "-1"), "weight-1"),
        (docket(&c.ladle, &collar, "3000.00", "0"), "weight-1"),
        (docket(&c.ladle, &collar, "3000.00", "3.01"), "weight-1"),
        (docket(&c.ladle, &collar, "3000.00", "9 tonnes"), "weight-1"),
        (docket(&c.ladle, &collar, "3000.00", &long), "weight-1"),
        // It held another weight when the page was drawn.
        (docket(&c.ladle, &collar, "3500.00", ""), "weight-1"),
        ([docket(&c.ladle, &collar, "3000.00", "1"), vec![("when", "2031-01-01T10:00")]].concat(), "when"),
        ([docket(&c.ladle, &collar, "3000.00", "1"), vec![("when", "2026-02-30T10:00")]].concat(), "when"),
        ([docket(&c.ladle, &collar, "3000.00", "1"), vec![("code", "26328-02")]].concat(), "code"),
        (vec![("act", "sign"), ("customer", &c.ladle)], "code"),
    ];
    let before = c.shop.lines().await;
    for (fields, field) in cases {
        let page = c.post("/dispatch/new", &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(!page.error_at(field).is_empty(), "{field} says nothing of {fields:?}\n{}", page.text);
        if let Some((_, weight)) = fields.iter().find(|(name, _)| *name == "weight") {
            assert_eq!(page.attribute("#f-weight-1", "value").as_deref(), Some(*weight));
        }
        assert_eq!(c.shop.lines().await, before, "{fields:?}");
    }
    let twice =
        [docket(&c.ladle, &collar, "3000.00", "1"), docket(&c.ladle, &collar, "3000.00", "1").split_off(2)];
    let page = c.post("/dispatch/new", &twice.concat()).await;
    assert!(page.error_at("lot-2").contains("twice"), "{}", page.text);
    let price = [docket(&c.ladle, &collar, "3000.00", "1").split_off(0), vec![]].concat();
    let price: Vec<(&str, &str)> = price
        .into_iter()
        .map(|(name, value)| (name, if name == "price" { "cheap" } else { value }))
        .collect();
    assert!(!c.post("/dispatch/new", &price).await.error_at("price-1").is_empty());
    assert_eq!(c.shop.lines().await, before);
}

#[tokio::test]
async fn a_docket_sent_twice_is_one() {
    let c = counter().await;
    let id = c.shop.get(Cast::Curer, "/dispatch/new").await.form_id();
    let lot = c.collar.lot.to_string();
    let mut sent = vec![("id", id.as_str())];
    sent.extend(docket(&c.ladle, &lot, "3000.00", "1"));
    let first = goes_to(&c.shop.post_raw(Cast::Curer, "/dispatch/new", &sent).await);
    let before = c.shop.lines().await;
    assert_eq!(goes_to(&c.shop.post_raw(Cast::Curer, "/dispatch/new", &sent).await), first);
    assert_eq!(c.shop.lines().await, before);
}

#[tokio::test]
async fn the_pages_of_dispatch_are_read_by_everyone_in_the_shop_and_signed_by_few() {
    let c = counter().await;
    let docket = c.collar_leaves().await;
    let unknown = DispatchId(Uuid::from_u128(5)).path();
    for path in [
        "/dispatch",
        "/dispatch/new",
        "/dispatch/pack",
        "/dispatch/discard",
        "/dispatch/discards",
        "/dispatch/customers",
        &docket,
        &format!("/dispatch/customers/{}", c.ladle),
    ] {
        let page = c.shop.get(Cast::Inspector, path).await;
        assert_eq!(page.status, StatusCode::OK, "{path}");
        assert!(page.all("main form[method=post]").is_empty(), "{path}");
        assert!(goes_to(&c.shop.get(Cast::Stranger, path).await).starts_with("/sign-in"), "{path}");
    }
    for path in ["/dispatch/new", "/dispatch/pack", "/dispatch/discard", "/dispatch/customers"] {
        for cast in [Cast::Cutter, Cast::Reviewer, Cast::Inspector] {
            assert_eq!(
                c.shop.post(cast, path, &[("act", "sign")]).await.status,
                StatusCode::FORBIDDEN,
                "{path}"
            );
        }
        assert_eq!(c.shop.post(Cast::Stranger, path, &[]).await.status, StatusCode::UNAUTHORIZED, "{path}");
    }
    for path in
        [unknown.as_str(), "/dispatch/dockets/none", "/dispatch/packs/none", "/dispatch/customers/none"]
    {
        assert_eq!(c.shop.get(Cast::Owner, path).await.status, StatusCode::NOT_FOUND, "{path}");
    }
    let nobody = format!("/dispatch/customers/{}", Uuid::from_u128(6));
    let change = [("name", "Nobody"), ("address", "Nowhere")];
    assert_eq!(c.post(&nobody, &change).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_struck_docket_brings_its_lots_back_and_keeps_its_number() {
    let c = counter().await;
    let path = c.collar_leaves().await;
    let strike = c.shop.get(Cast::Curer, &path).await.attribute("a.strike", "href").unwrap();
    goes_to(&c.shop.post(Cast::Curer, &strike, &[("reason", "the van broke down")]).await);
    assert_eq!(c.shop.grams("26328-01").await, Grams::whole(3_000));
    assert!(c.shop.get(Cast::Owner, &path).await.one(".stamp").contains("Struck"));
    let page = c.shop.get(Cast::Owner, &c.collar_leaves().await).await;
    assert_eq!(page.one("h1"), "Docket D26328-02");
    assert_eq!(c.shop.get(Cast::Owner, "/dispatch").await.all("tr.struck").len(), 1);
    assert_eq!(c.shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_left_can_be_taken_away_as_a_table() {
    let c = counter().await;
    c.collar_leaves().await;
    let file = c.shop.get(Cast::Inspector, "/dispatch/export.csv?from=2026-11-01&to=2026-11-24").await;
    let rows: Vec<&str> = file.text.lines().collect();
    assert_eq!(rows.len(), 2, "{}", file.text);
    assert_eq!(
        rows[1],
        "2026-11-24,09:40,D26328-01,Whitcombe & Daughter,\"3 Tannery Row, Elverford\",,The Copper Ladle,\
         \"9 Weir Street, Elverford\",,26328-01,pork collar,3,,,"
    );
    let before = c.shop.get(Cast::Inspector, "/dispatch/export.csv?from=2026-10-01&to=2026-11-23").await;
    assert_eq!(before.text.lines().count(), 1);
}

#[tokio::test]
async fn a_customer_is_added_changed_and_retired_but_never_lost() {
    let c = counter().await;
    let path = format!("/dispatch/customers/{}", c.ladle);
    let retired = [("name", "The Copper Ladle"), ("address", "9 Weir Street"), ("retired", "yes")];
    goes_to(&c.post(&path, &retired).await);
    let lot = c.collar.lot.to_string();
    let page = c.post("/dispatch/new", &docket(&c.ladle, &lot, "3000.00", "1")).await;
    assert!(page.error_at("customer").contains("no longer used"), "{}", page.error_at("customer"));
    assert!(c.shop.get(Cast::Owner, "/dispatch/customers").await.one("tbody tr").contains("no longer used"));
    let cases = [
        (vec![("name", ""), ("address", "9 Weir Street")], "name"),
        (vec![("name", "Weir Deli"), ("address", "")], "address"),
        (vec![("name", "The Copper Ladle"), ("address", "Elsewhere")], "name"),
        (vec![("name", "\u{202E}Weir Deli"), ("address", "Elsewhere")], "name"),
    ];
    let before = c.shop.lines().await;
    for (fields, field) in cases {
        let page = c.post("/dispatch/customers", &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(!page.error_at(field).is_empty(), "{fields:?}");
        assert_eq!(page.one("textarea[name=address]"), fields[1].1);
    }
    let long = "x".repeat(121);
    assert!(
        !c.post("/dispatch/customers", &[("name", &long), ("address", "a")])
            .await
            .error_at("name")
            .is_empty()
    );
    assert_eq!(c.shop.lines().await, before);
    assert_eq!(c.shop.verify().await.findings, []);
}

/// The fields of one signing of packs.
fn packs<'a>(lot: &'a str, count: &'a str, weight: &'a str, place: &'a str) -> Vec<(&'static str, &'a str)> {
    vec![
        ("act", "sign"),
        ("lot", lot),
        ("count", count),
        ("weight", weight),
        ("weight_unit", "g"),
        ("loss_unit", "g"),
        ("place", place),
        ("date_word", "best before"),
        ("use_by", "2027-02-01"),
        ("keep", "Keep refrigerated at or below 4 °C"),
    ]
}

#[tokio::test]
async fn a_released_piece_becomes_packs_that_leave() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    shop.release(&made).await;
    let (lot, cooler) = (made.pieces[0].lot.to_string(), things.cooler.id.to_string());
    // The piece weighs 2,060 g: five packs of 400 g, and the ends.
    let mut fields = packs(&lot, "5", "400", &cooler);
    fields.push(("rest", "yes"));
    let path = goes_to(&shop.post(Cast::Curer, "/dispatch/pack", &fields).await);
    let page = shop.get(Cast::Owner, &path).await;
    assert_eq!(page.all("table.table tbody tr").len(), 5);
    assert!(page.one(".lines .why").contains("60 g trimmed away"), "{}", page.one(".lines .why"));
    let root = made.code.root();
    // Two pieces carry the numbers 1 and 2: packs go on from there.
    let first = root.piece(3).unwrap().to_string();
    assert_eq!(shop.grams(&first).await, Grams::whole(400));
    assert!(shop.grams(&made.pieces[0].code.to_string()).await.is_zero());
    let id = code_id(&shop, &first).await.to_string();
    let leaving = docket("counter", "", "400.00", "");
    let leaving: Vec<(&str, &str)> = leaving
        .into_iter()
        .map(|(name, value)| (name, if name == "lot" { id.as_str() } else { value }))
        .collect();
    goes_to(&shop.post(Cast::Curer, "/dispatch/new", &leaving).await);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn packs_are_struck_while_none_of_them_has_left() {
    let c = counter().await;
    let (lot, cooler) = (c.collar.lot.to_string(), c.things.cooler.id.to_string());
    let path = goes_to(&c.post("/dispatch/pack", &packs(&lot, "2", "500", &cooler)).await);
    let strike = c.shop.get(Cast::Curer, &path).await.attribute("a.strike", "href").unwrap();
    let pack = code_id(&c.shop, "26328-01.01").await.to_string();
    let docket = goes_to(&c.post("/dispatch/new", &docket("counter", &pack, "500.00", "")).await);
    let refused = c.shop.post(Cast::Curer, &strike, &[("reason", "wrong scale")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let undo = c.shop.get(Cast::Curer, &docket).await.attribute("a.strike", "href").unwrap();
    goes_to(&c.shop.post(Cast::Curer, &undo, &[("reason", "came back")]).await);
    goes_to(&c.shop.post(Cast::Curer, &strike, &[("reason", "wrong scale")]).await);
    assert_eq!(c.shop.grams("26328-01").await, Grams::whole(3_000));
    assert_eq!(c.shop.verify().await.findings, []);
}

async fn code_id(shop: &Shop, code: &str) -> LotId {
    let code: LotCode = code.parse().unwrap();
    let lot = flitchbook::book::db::lot_by_code(&mut shop.app.db().await.unwrap(), &code).await.unwrap();
    lot.unwrap().id
}

#[tokio::test]
async fn packs_that_cannot_be_signed_keep_what_was_typed() {
    let c = counter().await;
    let (lot, cooler) = (c.collar.lot.to_string(), c.things.cooler.id.to_string());
    let stranger = Uuid::from_u128(1).to_string();
    let with = |name: &'static str, value: &'static str| {
        let mut fields = packs(&lot, "2", "500", &cooler);
        fields.retain(|(known, _)| *known != name);
        fields.push((name, value));
        fields
    };
    let cases: Vec<(Vec<(&str, &str)>, &str)> = vec![
        (packs(&lot, "2", "", &cooler), "weight-1"),
        (packs(&lot, "2", "1501", &cooler), "weight-1"),
        (packs(&lot, "2", "-5", &cooler), "weight-1"),
        (packs(&lot, "2", "5 miles", &cooler), "weight-1"),
        (packs(&lot, "0", "500", &cooler), "count-1"),
        (packs(&lot, "201", "5", &cooler), "count-1"),
        (packs(&lot, "2", "500", &stranger), "place"),
        (packs(&lot, "2", "500", ""), "place"),
        (with("use_by", "2026-11-23"), "use_by"),
        (with("use_by", "2226-11-23"), "use_by"),
        (with("use_by", "2027-02-30"), "use_by"),
        (with("date_word", "eat soon"), "date_word"),
        (with("loss", "2001 g"), "weight-1"),
        (with("when", "2031-01-01T10:00"), "when"),
        ([with("loss", "20 g"), vec![("rest", "yes")]].concat(), "loss"),
    ];
    let before = c.shop.lines().await;
    for (fields, field) in cases {
        let page = c.post("/dispatch/pack", &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(!page.error_at(field).is_empty(), "{field} says nothing of {fields:?}\n{}", page.text);
        let weight = fields.iter().find(|(name, _)| *name == "weight").unwrap().1;
        assert_eq!(page.attribute("#f-weight-1", "value").as_deref(), Some(weight));
        assert_eq!(c.shop.lines().await, before, "{fields:?}");
    }
    assert_eq!(
        c.post("/dispatch/pack", &packs(&stranger, "1", "5", &cooler)).await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(
        c.post("/dispatch/pack", &packs("pork", "1", "5", &cooler)).await.status,
        StatusCode::NOT_FOUND
    );
    let fields = [packs(&lot, "2", "500", &cooler).split_off(1), vec![("act", "add")]].concat();
    let page = c.post("/dispatch/pack", &fields).await;
    assert_eq!((page.status, page.all("input[name=weight]").len()), (StatusCode::OK, 2));
}

#[tokio::test]
async fn a_piece_that_is_not_released_is_neither_packed_nor_dispatched() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let (lot, cooler) = (made.pieces[0].lot.to_string(), things.cooler.id.to_string());
    let code = made.pieces[0].code.to_string();
    let page = shop.post(Cast::Owner, "/dispatch/pack", &packs(&lot, "1", "400", &cooler)).await;
    assert!(
        page.error_at("lot").contains("not released") || page.text.contains("not released"),
        "{}",
        page.text
    );
    let page = shop.get(Cast::Owner, &format!("/dispatch/pack?lot={code}")).await;
    assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = shop.post(Cast::Owner, "/dispatch/new", &docket("counter", &lot, "2060.00", "")).await;
    assert!(page.error_at("lot-1").contains("not for sale"), "{}", page.text);
    let page = shop.get(Cast::Owner, &format!("/dispatch/new?lots={code}")).await;
    assert!(page.error_at("code").contains("not for sale"), "{}", page.text);
}

#[tokio::test]
async fn the_database_itself_lets_no_unreleased_piece_go_to_a_customer() {
    use flitchbook::dispatch::entry::docket::{DocketLine, LotsDispatched, Party};
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let piece = &made.pieces[0];
    let entry = |id| LotsDispatched {
        dispatch: DispatchId(id),
        customer: None,
        reference: "D26328-01".into(),
        from: Party::default(),
        consignor: String::new(),
        to: None,
        consignee: String::new(),
        lines: vec![DocketLine {
            lot: Named::new(piece.lot, piece.code.to_string()),
            description: "cured loin".into(),
            weight: Grams::whole(100),
            price: None,
        }],
    };
    let mut pen = shop.pen(Cast::Owner).await;
    let refused = pen.append(entry(Uuid::from_u128(1))).await.unwrap_err().to_string();
    assert!(refused.contains("not released and cannot leave"), "{refused}");
    drop(pen);
    shop.release(&made).await;
    shop.sign(entry(Uuid::from_u128(2))).await;
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_held_lot_does_not_leave_but_can_be_thrown_away() {
    let c = counter().await;
    let mut pen = c.shop.pen(Cast::Owner).await;
    let delivery = c.collar.delivery;
    let held = LotReceived {
        lot: LotId::made_by(pen.next().id),
        code: pen.next_code(c.shop.app.book.clock.now().date()).await.unwrap(),
        delivery,
        held: Some("surface at 6.2 °C".into()),
        ..c.collar.clone()
    };
    pen.append(held.clone()).await.unwrap();
    pen.commit().await.unwrap();
    let lot = held.lot.to_string();
    let page = c.post("/dispatch/new", &docket(&c.ladle, &lot, "3000.00", "")).await;
    assert!(page.error_at("lot-1").contains("on hold"), "{}", page.text);
    let page = c.post("/dispatch/pack", &packs(&lot, "1", "400", &c.things.cooler.id.to_string())).await;
    assert!(page.text.contains("on hold"), "{}", page.text);
    let mut fields = docket("", &lot, "3000.00", "");
    fields.push(("reason", "too warm for too long"));
    assert_eq!(goes_to(&c.post("/dispatch/discard", &fields).await), "/dispatch/discards");
    assert!(c.shop.grams(&held.code.to_string()).await.is_zero());
    let page = c.shop.get(Cast::Inspector, "/dispatch/discards").await;
    assert!(page.one("tbody tr").contains("too warm for too long"), "{}", page.text);
    assert_eq!(c.shop.verify().await.findings, []);
}

#[tokio::test]
async fn nothing_is_thrown_away_without_a_reason_and_never_more_than_there_is() {
    let c = counter().await;
    let lot = c.collar.lot.to_string();
    let because = |fields: Vec<(&'static str, &str)>, reason: &'static str| {
        [
            fields.into_iter().map(|(n, v)| (n, v.to_owned())).collect::<Vec<_>>(),
            vec![("reason", reason.to_owned())],
        ]
        .concat()
    };
    let cases = [
        (because(docket("", &lot, "3000.00", "1"), ""), "reason"),
        (because(docket("", &lot, "3000.00", "3.1"), "slime"), "weight-1"),
        (because(docket("", &lot, "2999.00", ""), "slime"), "weight-1"),
        (because(docket("", "not an id", "3000.00", ""), "slime"), "lot-1"),
        (because(vec![("act", "sign")], "slime"), "code"),
    ];
    let before = c.shop.lines().await;
    for (fields, field) in &cases {
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        let page = c.post("/dispatch/discard", &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(!page.error_at(field).is_empty(), "{field} says nothing of {fields:?}");
    }
    assert_eq!(c.shop.lines().await, before);
    let mut fields = docket("", &lot, "3000.00", "1");
    fields.push(("reason", "fell on the floor"));
    goes_to(&c.post("/dispatch/discard", &fields).await);
    assert_eq!(c.shop.grams("26328-01").await, Grams::whole(2_000));
    let entry = c.shop.get(Cast::Curer, "/dispatch/discards").await.attribute("tbody td a", "href").unwrap();
    goes_to(&c.shop.post(Cast::Curer, &format!("{entry}/strike"), &[("reason", "it was another one")]).await);
    assert_eq!(c.shop.grams("26328-01").await, Grams::whole(3_000));
    assert_eq!(c.shop.verify().await.findings, []);
}

#[tokio::test]
async fn packs_of_a_counter_shop_are_put_on_the_counter_unless_said_otherwise() {
    let c = counter().await;
    let counter = Named::new(PlaceId(Uuid::from_u128(402)), "front counter");
    c.shop
        .sign(PlaceWritten {
            place: counter.id,
            name: counter.name.clone(),
            kind: PlaceKind::Counter,
            within: None,
            read_every: None,
            note: String::new(),
            retired: false,
        })
        .await;
    let page = c.shop.get(Cast::Curer, "/dispatch/pack?lot=26328-01").await;
    let chosen = page.attribute("select[name=place] option[selected]", "value");
    assert_eq!(chosen, Some(counter.id.to_string()));
}
