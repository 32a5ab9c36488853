//! A shop for a test: its own database, the whole router, and a cast of people who sign in.

mod evidence;
mod filled;
mod logging;
mod made_up;
mod making;
mod page;
mod recipes;
mod server;

use std::sync::Arc;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use flitchbook::app;
use flitchbook::book::{Pen, Project, Stamp};
use flitchbook::clock::Clock;
use flitchbook::ids::{ItemId, Named, PersonId, PlaceId, SupplierId};
use flitchbook::measure::{Currency, Grams, Initials, ShopZone, UnitSystem};
use flitchbook::people::entry::{PersonAdded, ShopFounded};
use flitchbook::people::{db, password};
use flitchbook::receiving::entry::{DeliveryReceived, LotReceived, SupplierWritten};
use flitchbook::rights::Role;
use flitchbook::setup::entry::{ItemWritten, PlaceKind, PlaceWritten};
use flitchbook::web::{App, Hashing, Site, fresh_id};
use http_body_util::BodyExt;
use sha2::{Digest, Sha256};
use sqlx::PgPool;
use time::macros::datetime;
use time::{Duration, OffsetDateTime};
use tower::ServiceExt;

#[allow(unused_imports, reason = "for the stories of every area")]
pub use evidence::{REFRIGERATED, SEMI_DRY};
pub use made_up::{Opened, Shifted};
#[allow(unused_imports, reason = "for the stories of every area")]
pub use making::{Larder, Made, MadePiece, line, step};
pub use page::Page;
#[allow(unused_imports, reason = "for the stories of every area")]
pub use server::Apart;
pub use server::{Stocked, database};

/// A Tuesday at twenty to ten, when most of these stories begin.
pub const MORNING: OffsetDateTime = datetime!(2026-11-24 09:40 UTC);

/// Who is who in the tests' shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cast {
    Owner,
    Cutter,
    Curer,
    Reviewer,
    Inspector,
    /// Nobody who signs here.
    Stranger,
}

impl Cast {
    pub const ALL: [Self; 6] =
        [Self::Owner, Self::Cutter, Self::Curer, Self::Reviewer, Self::Inspector, Self::Stranger];

    fn told(self) -> Option<(&'static str, &'static str, Role)> {
        match self {
            Self::Owner => Some(("Orla Whitcombe", "orla", Role::Owner)),
            Self::Cutter => Some(("Cass Underhill", "cass", Role::Cutter)),
            Self::Curer => Some(("Quill Ransome", "quill", Role::Curer)),
            Self::Reviewer => Some(("Ruth Ekwall", "ruth", Role::Reviewer)),
            Self::Inspector => Some(("Ivo Nakamura", "ivo", Role::Inspector)),
            Self::Stranger => None,
        }
    }

    pub fn id(self) -> PersonId {
        PersonId(uuid::Uuid::from_u128(100 + self as u128))
    }

    /// What the cookie of this one says.
    fn token(self) -> String {
        format!("{self:?}")
    }

    /// What the book knows of that cookie.
    fn session(self) -> [u8; 32] {
        Sha256::digest(self.token()).into()
    }
}

/// The password of everyone in the cast.
pub const PASSWORD: &str = "salt, cold and time";

/// A shop of its own for one test.
pub struct Shop {
    pub app: App,
    pub router: Router,
    cookies: std::collections::BTreeMap<Cast, String>,
}

/// The things that most stories need.
#[derive(Debug, Clone)]
pub struct Things {
    pub cooler: Named<PlaceId>,
    pub carcass: Named<ItemId>,
    pub collar: Named<ItemId>,
    pub loin: Named<ItemId>,
    pub farm: Named<SupplierId>,
}

impl Shop {
    /// An empty book.
    pub async fn unopened() -> Self {
        Self::of(database().await)
    }

    /// Where nobody is signed in yet.
    fn of(pool: PgPool) -> Self {
        let site = Site {
            address: "https://book.example".into(),
            secure: true,
            trust_proxy: false,
            session_days: 30,
            hashing: Hashing::ForTests,
        };
        let app = app::open(pool, Clock::told(MORNING), site);
        Self { router: app::router(app.clone()), app, cookies: std::collections::BTreeMap::new() }
    }

    /// A founded shop with its whole cast signed in.
    pub async fn open() -> Self {
        static OPENED: Stocked = Stocked::new("template_opened");
        let mut shop = Self::of(OPENED.copy(async |pool| Self::of(pool).found().await).await);
        for cast in Cast::ALL {
            if cast.told().is_some() {
                shop.cookies.insert(cast, cast.token());
            }
        }
        shop
    }

    /// Founds it, and signs everybody in.
    async fn found(&self) {
        self.sign(ShopFounded {
            name: "Whitcombe & Daughter".into(),
            address: "3 Tannery Row\nElverford".into(),
            number: "UK EF 014".into(),
            system: UnitSystem::Metric,
            zone: ShopZone::parse("Europe/London").unwrap(),
            currency: Currency::parse("GBP").unwrap(),
            small_division: Grams::new(rust_decimal::dec!(0.1)),
            large_division: Grams::whole(5),
        })
        .await;
        let hash = password::hash(Hashing::ForTests, PASSWORD.into()).await.unwrap();
        for cast in Cast::ALL {
            let Some((name, sign_in, role)) = cast.told() else { continue };
            let initials = Initials::of_name(name).unwrap();
            let person = cast.id();
            self.sign(PersonAdded {
                person,
                name: name.into(),
                sign_in: sign_in.into(),
                initials,
                roles: vec![role],
                by_console: false,
            })
            .await;
            let mut conn = self.app.db().await.unwrap();
            db::keep_password(&mut conn, person, &hash).await.unwrap();
            db::begin_session(&mut conn, &cast.session(), person, MORNING).await.unwrap();
        }
    }

    /// Another instance of the program, where the same people are signed in.
    pub fn beside(&self, app: App) -> Self {
        Self { router: app::router(app.clone()), app, cookies: self.cookies.clone() }
    }

    /// Signs an entry as the owner, as a page would.
    pub async fn sign<T: Project>(&self, entry: T) -> uuid::Uuid {
        self.sign_as(Cast::Owner, entry).await
    }

    pub async fn sign_as<T: Project>(&self, cast: Cast, entry: T) -> uuid::Uuid {
        let mut pen = self.pen(cast).await;
        let id = pen.next().id;
        pen.append(entry).await.unwrap();
        pen.commit().await.unwrap();
        id
    }

    /// The pen in the hand of one of the cast.
    pub async fn pen(&self, cast: Cast) -> Pen {
        let stamp = Stamp { id: fresh_id(), digest: [0; 32], person: cast.id(), happened_at: None };
        self.app.book.pen(stamp).await.unwrap().unwrap()
    }

    /// A cooler, a pig carcass and two cuts in the list, and a farm.
    pub async fn things(&self) -> Things {
        let things = Things {
            cooler: Named::new(PlaceId(uuid::Uuid::from_u128(201)), "cooler 1"),
            carcass: Named::new(ItemId(uuid::Uuid::from_u128(202)), "pig carcass"),
            collar: Named::new(ItemId(uuid::Uuid::from_u128(203)), "pork collar"),
            loin: Named::new(ItemId(uuid::Uuid::from_u128(204)), "pork loin"),
            farm: Named::new(SupplierId(uuid::Uuid::from_u128(205)), "Hazelrigg Farm"),
        };
        let Named { id, name } = things.cooler.clone();
        self.sign(PlaceWritten {
            place: id,
            name,
            kind: PlaceKind::Cooler,
            within: None,
            read_every: None,
            note: String::new(),
            retired: false,
        })
        .await;
        self.item(&things.carcass, flitchbook::book::Form::Carcass).await;
        self.item(&things.collar, flitchbook::book::Form::Cut).await;
        self.item(&things.loin, flitchbook::book::Form::Cut).await;
        self.sign(SupplierWritten {
            supplier: things.farm.id,
            name: things.farm.name.clone(),
            address: "Hazelrigg, Elverford".into(),
            number: "UK EF 201".into(),
            contact: String::new(),
            approved_until: None,
            papers: String::new(),
            retired: false,
        })
        .await;
        things
    }

    /// Puts a thing into the shop's list.
    pub async fn item(&self, item: &Named<ItemId>, form: flitchbook::book::Form) {
        self.sign(ItemWritten {
            item: item.id,
            name: item.name.clone(),
            form,
            species: if form.is_meat() { "pig".into() } else { String::new() },
            label_name: String::new(),
            number: String::new(),
            allergens: vec![],
            sales_price: None,
            by_product: false,
            retired: false,
        })
        .await;
    }

    /// A pig carcass of this weight in the cooler.
    pub async fn carcass(&self, things: &Things, grams: i64) -> LotReceived {
        self.received(things, "D-1", grams, |_| {}).await
    }

    /// A pig carcass of this weight, or whatever `told` makes of it, on a docket of its own.
    pub async fn received(
        &self,
        things: &Things,
        docket: &str,
        grams: i64,
        told: impl FnOnce(&mut LotReceived),
    ) -> LotReceived {
        let mut pen = self.pen(Cast::Owner).await;
        let delivery = flitchbook::ids::DeliveryId::made_by(pen.next().id);
        let received = DeliveryReceived {
            delivery,
            supplier: things.farm.clone(),
            docket: docket.into(),
            vehicle: None,
        };
        pen.append(received).await.unwrap();
        let day = self.app.book.clock.now().date();
        let mut lot = LotReceived {
            delivery,
            supplier: things.farm.clone(),
            lot: flitchbook::ids::LotId::made_by(pen.next().id),
            code: pen.next_code(day).await.unwrap(),
            item: things.carcass.clone(),
            form: flitchbook::book::Form::Carcass,
            weight: Grams::whole(grams),
            place: things.cooler.clone(),
            temperature: None,
            price: Some(flitchbook::measure::PricePerKg::new(rust_decimal::dec!(3.8))),
            animal: None,
            goods: None,
            held: None,
            checked: None,
        };
        told(&mut lot);
        pen.append(lot.clone()).await.unwrap();
        pen.commit().await.unwrap();
        lot
    }

    /// Lets time pass.
    pub fn later(&self, by: Duration) {
        self.app.book.clock.tell(self.app.book.clock.now() + by);
    }

    pub async fn get(&self, cast: Cast, path: &str) -> Page {
        self.send(cast, Request::get(path), Body::empty()).await
    }

    /// Sends a form as a browser on one of our own pages does, with a fresh number.
    pub async fn post(&self, cast: Cast, path: &str, fields: &[(&str, &str)]) -> Page {
        let id = fresh_id().to_string();
        let mut all = vec![("id", id.as_str())];
        all.extend_from_slice(fields);
        self.post_raw(cast, path, &all).await
    }

    /// Sends a form with the number that it was drawn with, or none.
    pub async fn post_raw(&self, cast: Cast, path: &str, fields: &[(&str, &str)]) -> Page {
        let request = Request::post(path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header("sec-fetch-site", "same-origin");
        self.send(cast, request, Body::from(serde_html_form::to_string(fields).unwrap())).await
    }

    pub async fn send(&self, cast: Cast, request: axum::http::request::Builder, body: Body) -> Page {
        let (parts, bytes) = self.answer(cast, request, body).await;
        Page {
            status: parts.status,
            headers: parts.headers,
            size: bytes.len(),
            text: String::from_utf8_lossy(&bytes).into_owned(),
        }
    }

    /// A file that is handed out, byte for byte.
    pub async fn file(&self, cast: Cast, path: &str) -> Vec<u8> {
        let (parts, bytes) = self.answer(cast, Request::get(path), Body::empty()).await;
        assert_eq!(parts.status, StatusCode::OK, "{path}");
        bytes
    }

    async fn answer(
        &self,
        cast: Cast,
        request: axum::http::request::Builder,
        body: Body,
    ) -> (axum::http::response::Parts, Vec<u8>) {
        let mut request = request.header(header::HOST, "book.example");
        if let Some(token) = self.cookies.get(&cast) {
            request = request.header(header::COOKIE, format!("flitchbook={token}"));
        }
        let response = self.router.clone().oneshot(request.body(body).unwrap()).await.unwrap();
        let (parts, body) = response.into_parts();
        (parts, body.collect().await.unwrap().to_bytes().to_vec())
    }

    /// How many lines the book has.
    pub async fn lines(&self) -> i64 {
        sqlx::query_scalar("SELECT count(*) FROM entry").fetch_one(&self.app.book.pool).await.unwrap()
    }

    /// What a lot holds, in grams.
    pub async fn grams(&self, code: &str) -> Grams {
        let code = code.parse().unwrap();
        let lot = flitchbook::book::db::lot_by_code(&mut self.app.db().await.unwrap(), &code).await.unwrap();
        lot.unwrap().grams
    }

    /// What verify finds.
    pub async fn verify(&self) -> flitchbook::book::verify::Report {
        let texts: Vec<&str> =
            flitchbook::database::MIGRATIONS.iter().map(|step| step.sql.as_str()).collect();
        let kinds = Arc::clone(&self.app.book.kinds);
        flitchbook::book::verify::verify(&self.app.book.pool, &kinds, &texts).await.unwrap()
    }
}

/// The address that a page leads to.
pub fn goes_to(page: &Page) -> String {
    assert_eq!(page.status, StatusCode::SEE_OTHER, "{}", page.text);
    page.headers[header::LOCATION].to_str().unwrap().to_owned()
}
