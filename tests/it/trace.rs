//! Tracing, through the router and a real database: from any code to the door, and out to whoever got it.

use axum::http::StatusCode;
use flitchbook::book::{Account, Form};
use flitchbook::dispatch::entry::customer::CustomerWritten;
use flitchbook::dispatch::entry::docket::{DocketLine, LotsDispatched, Party};
use flitchbook::ids::{CustomerId, DispatchId, LotId, Named};
use flitchbook::measure::Grams;
use flitchbook::receiving::entry::{Animal, Goods, LotReceived};
use flitchbook::trace::{self, Direction};
use uuid::Uuid;

use crate::shop::{Cast, Opened, Shifted, Shop, Things, goes_to};

const LARDER: Uuid = Uuid::from_u128(301);
const DOCKET: Uuid = Uuid::from_u128(302);

/// A whole story: two pigs, one of them through trim, salt and a mix into salami, packed and sold in part.
struct Story {
    shop: Shop,
    things: Things,
    pig: LotReceived,
    other: LotReceived,
    collar: Opened,
    mix: Opened,
    salami: Vec<Opened>,
    pack: Opened,
}

impl Story {
    async fn told() -> Self {
        let shop = Shop::open_with_made_up_kinds().await;
        let things = shop.things().await;
        let pig = shop.received(&things, "D-17", 90_000, |lot| {
            lot.animal = Some(Animal {
                species: "pig".into(),
                ear_tag: "UK 301042 00017".into(),
                ..Animal::default()
            });
        });
        let pig = pig.await;
        let other = shop.received(&things, "D-18", 80_000, |lot| {
            lot.animal = Some(Animal {
                species: "pig".into(),
                ear_tag: "UK 301042 00018".into(),
                ..Animal::default()
            });
        });
        let other = other.await;
        let salt = shop.received(&things, "D-19", 25_000, |lot| {
            lot.form = Form::Ingredient;
            lot.goods = Some(Goods { supplier_lot: "SL/4471".into(), ..Goods::default() });
        });
        let salt = salt.await;
        let from = |lot: LotId, grams: i64| Shifted::default().lot(lot, -grams);
        let collar = shop.new_lot(Form::Cut, "collar", Some(pig.code), from(pig.lot, 3_000)).await;
        let trim = shop.new_lot(Form::Trim, "trim", Some(pig.code), from(pig.lot, 6_000)).await;
        let trim_2 = shop.new_lot(Form::Trim, "trim", Some(other.code), from(other.lot, 3_000)).await;
        let ground = from(trim.id, 6_000).lot(trim_2.id, -3_000).lot(salt.lot, -250);
        let mix = shop.new_lot(Form::Mix, "field salami", None, ground).await;
        let mut salami = Vec::new();
        for _ in 0..5 {
            let piece = shop.new_lot(Form::Piece, "field salami", Some(mix.code), from(mix.id, 1_850)).await;
            shop.sign(from(piece.id, 500).account(Account::Drying, None, 500)).await;
            salami.push(piece);
        }
        let pack = shop.new_lot(Form::Pack, "field salami", Some(mix.code), from(salami[0].id, 1_350)).await;
        let story = Self { shop, things, pig, other, collar, mix, salami, pack };
        story.dispatch().await;
        story
    }

    /// The pack leaves for a customer.
    async fn dispatch(&self) {
        let customer = Named::new(CustomerId(LARDER), "Brackenbury Larder");
        let address = "1 Weir Street, Elverford".to_owned();
        self.shop
            .sign(CustomerWritten {
                customer: customer.id,
                name: customer.name.clone(),
                address: address.clone(),
                consignee: String::new(),
                contact: String::new(),
                retired: false,
            })
            .await;
        let line = DocketLine {
            lot: Named::new(self.pack.id, self.pack.code.to_string()),
            description: "field salami".into(),
            weight: Grams::whole(1_350),
            price: None,
        };
        self.shop
            .sign(LotsDispatched {
                dispatch: DispatchId(DOCKET),
                to: Some(Party { name: customer.name.clone(), address }),
                customer: Some(customer),
                reference: "OUT-9".into(),
                from: Party::default(),
                consignor: String::new(),
                consignee: String::new(),
                lines: vec![line],
            })
            .await;
    }

    fn lot(lot: LotId) -> String {
        format!("/trace/lots/{lot}")
    }
}

#[tokio::test]
async fn from_a_dispatched_pack_to_the_ear_tag_and_out_to_every_other_piece_in_two_clicks() {
    let shop = Shop::open_with_made_up_kinds().await;
    let things = shop.things().await;
    let pig = shop.received(&things, "D-17", 90_000, |lot| {
        lot.animal =
            Some(Animal { species: "pig".into(), ear_tag: "UK 301042 00017".into(), ..Animal::default() });
    });
    let pig = pig.await;
    let from = |lot: LotId, grams: i64| Shifted::default().lot(lot, -grams);
    let collar = shop.new_lot(Form::Cut, "collar", Some(pig.code), from(pig.lot, 3_000)).await;
    let loin = shop.new_lot(Form::Cut, "loin", Some(pig.code), from(pig.lot, 4_000)).await;
    let pack = shop.new_lot(Form::Pack, "collar", Some(pig.code), from(collar.id, 1_000)).await;
    shop.sign(from(pack.id, 1_000).account(Account::Customer, None, 1_000)).await;
    let found = goes_to(&shop.get(Cast::Owner, &format!("/trace?code={}", pack.code)).await);
    let page = shop.get(Cast::Owner, &found).await;
    assert_eq!(page.one("a.act"), "Back to the animal");
    let animal = shop.get(Cast::Owner, &page.attribute("main a.act", "href").unwrap()).await;
    assert!(animal.one("section table").contains("ear tag UK 301042 00017"), "{}", animal.text);
    assert_eq!(animal.one("a.act"), "Out to everything from it");
    let all = shop.get(Cast::Owner, &animal.attribute("main a.act", "href").unwrap()).await;
    assert_eq!(all.all("h1"), ["Everything from ear tag UK 301042 00017"]);
    for lot in [pig.code, collar.code, loin.code, pack.code] {
        assert!(all.all("#list th .code").contains(&lot.to_string()), "{lot} is missing");
    }
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn every_descendant_of_a_mix_is_in_scope_and_its_share_is_shown() {
    let story = Story::told().await;
    let path = story.shop.get(Cast::Inspector, "/trace?code=uk-30104200018").await;
    let page = story.shop.get(Cast::Inspector, &goes_to(&path)).await;
    // 3,000 of 9,250 g in the mix, and the same share in every salami of it.
    let rows = page.all("#list tbody tr");
    let mix = rows.iter().find(|row| row.starts_with(&format!("{} ", story.mix.code))).unwrap();
    assert!(mix.contains("9.250 kg3.000 kg, 32.4 %"), "{mix}");
    for piece in &story.salami {
        let row = rows.iter().find(|row| row.starts_with(&piece.code.to_string())).unwrap();
        assert!(row.contains("600 g, 32.4 %"), "{row}");
    }
    assert!(!rows.iter().any(|row| row.starts_with(&story.collar.code.to_string())));
    let sent = page.one("#got tbody tr");
    assert!(
        sent.contains("Brackenbury Larder") && sent.contains("OUT-9") && sent.contains("1.350 kg437.84 g"),
        "{sent}"
    );
}

#[tokio::test]
async fn the_balance_of_a_source_is_the_delivery_to_the_hundredth_of_a_gram() {
    let story = Story::told().await;
    let page = story.shop.get(Cast::Owner, &format!("/trace/lots/{}/everything.csv", story.pig.lot)).await;
    let balance: Vec<&str> = page.text.lines().filter(|line| line.starts_with("balance")).collect();
    let sum: rust_decimal::Decimal = balance
        .iter()
        .map(|line| line.split(',').nth(5).unwrap().parse::<rust_decimal::Decimal>().unwrap())
        .sum();
    assert_eq!(sum, rust_decimal::dec!(90000.00), "{balance:?}");
    assert!(balance.iter().any(|line| line.contains("drying")));
    assert!(balance.iter().any(|line| line.contains("to Brackenbury Larder")));
}

#[tokio::test]
async fn a_supplier_a_docket_an_ear_tag_a_sack_a_customer_and_a_reference_are_looked_up() {
    let story = Story::told().await;
    let farm = story.things.farm.id;
    for (typed, leads) in [
        ("hazelrigg", format!("/trace/suppliers/{}/everything", farm.to_string().replace('-', "%2D"))),
        ("UK 301042 00017", "/trace/ear-tags/UK%20301042%2000017/everything".into()),
        ("sl4471", "/trace/supplier-lots/SL%2F4471/everything".into()),
        ("bracken", format!("/trace/customers/{LARDER}")),
        ("out-9", format!("/trace/dispatches/{DOCKET}")),
        (&story.mix.code.to_string(), Story::lot(story.mix.id)),
    ] {
        let page = story.shop.get(Cast::Inspector, &format!("/trace?code={}", typed.replace(' ', "+"))).await;
        assert_eq!(goes_to(&page), leads, "{typed}");
        assert_eq!(story.shop.get(Cast::Inspector, &leads).await.status, StatusCode::OK, "{leads}");
    }
    let docket = goes_to(&story.shop.get(Cast::Owner, "/trace?code=d-17").await);
    assert!(story.shop.get(Cast::Owner, &docket).await.one("h1").contains("docket D-17"));
}

#[tokio::test]
async fn what_may_mean_several_things_is_a_list_to_choose_from() {
    let story = Story::told().await;
    let page = story.shop.get(Cast::Owner, "/trace?code=26328").await;
    assert_eq!(page.status, StatusCode::OK);
    assert!(page.all("section tbody tr").len() > 3);
    assert!(page.one("section tbody tr").starts_with("26328-01lot"), "{}", page.one("section tbody tr"));
}

#[tokio::test]
async fn what_nobody_wrote_down_is_not_found_and_stays_typed() {
    let shop = Shop::open().await;
    for typed in ["26001-09", "nobody's farm", "%", "'", &"x".repeat(500)] {
        let query = serde_html_form::to_string([("code", typed)]).unwrap();
        let page = shop.get(Cast::Owner, &format!("/trace?{query}")).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.one(".empty").contains("Nothing in the book"), "{typed}");
        let kept = page.attribute("#f-code", "value").unwrap();
        assert!(typed.starts_with(&kept) && !kept.is_empty());
    }
}

#[tokio::test]
async fn back_from_a_salami_stand_both_pigs_and_the_salt_with_their_shares() {
    let story = Story::told().await;
    let page = story.shop.get(Cast::Owner, &Story::lot(story.salami[1].id)).await;
    let origins = page.all("main section:first-of-type tbody tr");
    assert_eq!(origins.len(), 3, "{origins:?}");
    assert!(origins.iter().any(|row| row.contains("00017") && row.contains("64.9 %")), "{origins:?}");
    assert!(origins.iter().any(|row| row.contains("SL/4471") && row.contains("2.7 %")), "{origins:?}");
    // Several animals: each is a row to choose from, and no one of them is "the animal".
    assert!(!page.all("a.act").contains(&"Back to the animal".to_owned()));
    assert!(page.all("svg.trace a").len() >= 7);
}

#[tokio::test]
async fn a_struck_cut_is_in_nobodys_trace() {
    let shop = Shop::open_with_made_up_kinds().await;
    let things = shop.things().await;
    let pig = shop.carcass(&things, 90_000).await;
    let cut =
        shop.new_lot(Form::Cut, "collar", Some(pig.code), Shifted::default().lot(pig.lot, -3_000)).await;
    let seq = shop.lines().await;
    let struck = shop.post(Cast::Owner, &format!("/entries/{seq}/strike"), &[("reason", "wrong pig")]).await;
    assert_eq!(struck.status, StatusCode::SEE_OTHER, "{}", struck.text);
    let page = shop.get(Cast::Owner, &format!("/trace/lots/{}/everything", pig.lot)).await;
    assert!(!page.all("#list th .code").contains(&cut.code.to_string()));
    assert_eq!(page.all("dl.figures dd.big")[..2], ["90.00 kg", "90.00 kg"]);
    let own = shop.get(Cast::Owner, &Story::lot(cut.id)).await;
    assert!(own.one("main p.soft").contains("struck"));
}

#[tokio::test]
async fn the_way_back_to_the_door_is_handed_out_for_other_pages() {
    let story = Story::told().await;
    let mut conn = story.shop.app.db().await.unwrap();
    let chain = trace::origin_chain(&mut conn, story.salami[0].id).await.unwrap();
    let way: Vec<String> = chain.way.iter().map(|lot| lot.code.to_string()).collect();
    assert_eq!(way.first(), Some(&story.pig.code.to_string()));
    assert_eq!(way.len(), 4);
    assert_eq!(chain.animals().count(), 2);
    assert_eq!(chain.origins[0].0.lot, story.pig.lot);
    let ahead = trace::lineage(&mut conn, &[story.other.lot], Direction::Forward).await.unwrap();
    assert_eq!(ahead.lots.len(), 9);
}

#[tokio::test]
async fn a_page_that_nobody_can_trace_is_not_there_and_a_stranger_signs_in_first() {
    let shop = Shop::open().await;
    let nobody = Uuid::from_u128(9);
    for path in [
        format!("/trace/lots/{nobody}"),
        format!("/trace/lots/{nobody}/everything"),
        "/trace/lots/x/everything".into(),
        "/trace/carts/x/everything".into(),
        "/trace/ear-tags/UK%201/everything".into(),
        format!("/trace/suppliers/{nobody}/everything"),
        format!("/trace/customers/{nobody}"),
        format!("/trace/dispatches/{nobody}"),
    ] {
        assert_eq!(shop.get(Cast::Inspector, &path).await.status, StatusCode::NOT_FOUND, "{path}");
        assert!(goes_to(&shop.get(Cast::Stranger, &path).await).starts_with("/sign-in"));
    }
}
