//! Packing, dispatch and discard, through the router and a real database.

mod packs;

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
