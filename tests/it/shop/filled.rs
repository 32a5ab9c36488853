//! A shop in which every area has signed something, for tests that look at everything.

use flitchbook::block::entry::{CutListWritten, ExpectedCut, GoesTo};
use flitchbook::book::Form;
use flitchbook::dispatch::entry::customer::CustomerWritten;
use flitchbook::dispatch::entry::docket::{DocketLine, LotsDispatched, Party};
use flitchbook::ids::{CuringLimitId, CustomerId, CutListId, DispatchId, InstrumentId, Named, PersonId};
use flitchbook::limits::entry::{CuringLimitSwitched, CuringLimitWritten, LimitsAdopted};
use flitchbook::measure::{Celsius, Grams, Percent, Ppm};
use flitchbook::receiving::entry::{Animal, Basis, Goods};
use flitchbook::setup::entry::{InstrumentWritten, Measures};
use flitchbook::standards::limits::{Base, Jurisdiction, Product, StatedAs, Substance, Way};
use flitchbook::{demo, people};
use rust_decimal::dec;
use sqlx::PgPool;
use time::Duration;
use time::macros::date;

use super::{Cast, MORNING, Shop, Stocked, Things, goes_to};

impl Shop {
    /// The filled shop.
    pub async fn filled() -> Self {
        let shop = Self::open().await;
        let things = shop.things().await;
        shop.equip(&things).await;
        shop.logs(things.cooler.id).await;
        shop.later(Duration::hours(1));
        shop.take_in(&things).await;
        shop.later(Duration::hours(2));
        shop.cut_up(&things).await;
        shop.later(Duration::hours(1));
        shop.hold_to_limits().await;
        shop.cure_and_sell(&things).await;
        shop.dried_to(&things).await;
        shop
    }

    /// The shop of the demo, ten weeks of it, with a session for one person of each role.
    pub async fn demo() -> Self {
        static TOLD: Stocked = Stocked::new("template_demo");
        let tell = async |pool: PgPool| {
            demo::tell(pool.clone(), &Self::of(pool).app.site, MORNING).await.unwrap();
        };
        let mut shop = Self::of(TOLD.copy(tell).await);
        for cast in Cast::ALL {
            let Some((_, _, role)) = cast.told() else { continue };
            let who =
                "SELECT id FROM person WHERE $1 = ANY(roles) AND retired_by IS NULL ORDER BY seq LIMIT 1";
            let who = sqlx::query_scalar(who).bind(role.word()).fetch_optional(&shop.app.book.pool);
            let Some(person) = who.await.unwrap() else { continue };
            let mut conn = shop.app.db().await.unwrap();
            people::db::begin_session(&mut conn, &cast.session(), PersonId(person), MORNING).await.unwrap();
            shop.cookies.insert(cast, cast.token());
        }
        shop
    }

    /// The limits of the United States, a minimum taken up, and a stricter limit of the shop's own.
    async fn hold_to_limits(&self) {
        self.sign(LimitsAdopted { jurisdiction: Jurisdiction::UnitedStates }).await;
        self.sign(CuringLimitSwitched {
            key: "us-refrigerated-minimum".into(),
            name: "Nitrite, least in refrigerated cured product".into(),
            band: "at least 120 ppm".into(),
            on: true,
            document: "letter of 3 November 2026".into(),
            reason: "we sell it chilled".into(),
        })
        .await;
        self.sign(CuringLimitWritten {
            limit: CuringLimitId(uuid::Uuid::from_u128(214)),
            name: "whole muscles".into(),
            substance: Substance::Nitrite,
            way: Some(Way::DryCured),
            product: Some(Product::Other),
            least: Some(Ppm::new(dec!(100))),
            most: Some(Ppm::new(dec!(200))),
            base: Base::GreenWeight,
            stated: StatedAs::SodiumNitrite,
            reason: "our regulator's word".into(),
            document: "visit of 20 October 2026".into(),
            from: Some(date!(2026 - 11 - 01)),
            until: Some(date!(2027 - 10 - 31)),
            instead_of: vec![],
            retired: false,
        })
        .await;
    }

    /// A dry cure from the muscle to the hook, released, and one piece of it sold.
    async fn cure_and_sell(&self, things: &Things) {
        let made = self.dry_cure(things).await;
        self.release(&made).await;
        let customer = Named::new(CustomerId(uuid::Uuid::from_u128(213)), "Brackenbury Larder");
        let address = "1 Weir Street, Elverford".to_owned();
        self.sign(CustomerWritten {
            customer: customer.id,
            name: customer.name.clone(),
            address: address.clone(),
            consignee: String::new(),
            contact: "01632 960 114".into(),
            retired: false,
        })
        .await;
        let piece = &made.pieces[0];
        self.sign(LotsDispatched {
            dispatch: DispatchId(uuid::Uuid::from_u128(214)),
            to: Some(Party { name: customer.name.clone(), address }),
            customer: Some(customer),
            reference: "D26328-01".into(),
            from: Party { name: "Whitcombe & Daughter".into(), address: "3 Tannery Row\nElverford".into() },
            consignor: String::new(),
            consignee: String::new(),
            lines: vec![DocketLine {
                lot: Named::new(piece.lot, piece.code.to_string()),
                description: made.product.name.clone(),
                weight: Grams::whole(500),
                price: None,
            }],
        })
        .await;
    }

    async fn equip(&self, things: &Things) {
        let cuts = [(&things.collar, "3.5"), (&things.loin, "11")].map(|(item, share)| ExpectedCut {
            item: item.clone(),
            share: Percent::new(share.parse().unwrap()),
            goes_to: GoesTo::WholeMuscleCure,
        });
        self.sign(CutListWritten {
            cut_list: CutListId(uuid::Uuid::from_u128(211)),
            name: "Pig carcass".into(),
            sources: vec![Form::Carcass],
            cuts: cuts.into(),
            tolerance: Percent::new(rust_decimal::dec!(3)),
            retired: false,
        })
        .await;
        self.sign(InstrumentWritten {
            instrument: InstrumentId(uuid::Uuid::from_u128(212)),
            name: "block scale".into(),
            measures: Measures::Weight,
            calibrate_every: Some(1),
            retired: false,
        })
        .await;
    }

    async fn take_in(&self, things: &Things) {
        self.received(things, "H-4417", 92_400, |lot| {
            lot.temperature = Some(Celsius::new("3.2".parse().unwrap()).unwrap());
            lot.animal = Some(Animal {
                species: "pig".into(),
                breed: "Elver Saddleback".into(),
                ear_tag: "UK 301042 00017".into(),
                slaughter_lot: "S-2214".into(),
                slaughtered: Some(date!(2026 - 11 - 20)),
                establishment: "UK EF 077".into(),
                basis: Some(Basis::Chilled),
                frozen: false,
                solution: None,
            });
        })
        .await;
        self.received(things, "H-4418", 25_000, |lot| {
            lot.form = Form::Ingredient;
            lot.goods = Some(Goods {
                supplier_lot: "SL/4471".into(),
                best_before: Some(date!(2028 - 05 - 31)),
                allergens: vec![],
                nitrite: Some(Percent::new("0.6".parse().unwrap())),
                nitrate: None,
                ..Goods::default()
            });
        })
        .await;
        self.received(things, "H-4419", 88_000, |lot| lot.held = Some("6.2 °C at the surface".into())).await;
    }

    async fn cut_up(&self, things: &Things) {
        let waiting = self.get(Cast::Cutter, "/block").await;
        let lot = waiting.attribute("input[name=lot]", "value").unwrap();
        let list = uuid::Uuid::from_u128(211).to_string();
        let opened = self.post(Cast::Cutter, "/block", &[("lot", &lot), ("cut_list", &list)]).await;
        let block = goes_to(&opened);
        for (item, weight) in [(&things.collar, "3.18"), (&things.loin, "9.94"), (&things.loin, "9.49")] {
            let fields = [
                ("cut", item.id.to_string()),
                ("weight", weight.to_owned()),
                ("weight_unit", "kg".to_owned()),
                ("pieces", "1".to_owned()),
                ("goes_to", "whole-muscle cure".to_owned()),
                ("place", things.cooler.id.to_string()),
            ];
            let fields: Vec<(&str, &str)> =
                fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
            assert_eq!(goes_to(&self.post(Cast::Cutter, &block, &fields).await), block);
        }
        let strike = self.get(Cast::Cutter, &block).await.attribute("a.strike", "href").unwrap();
        goes_to(&self.post(Cast::Cutter, &strike, &[("reason", "knife lay on the scale")]).await);
    }
}
