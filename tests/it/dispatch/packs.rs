//! Packs, what may not leave, and what is thrown away.

use super::*;

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
