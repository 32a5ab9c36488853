//! Logger files and devices, as people and devices send them; what a thing is dried to.

use axum::body::Body;
use axum::http::{Request, header};
use flitchbook::drying::entry::DryingTargetWritten;
use flitchbook::ids::PlaceId;
use flitchbook::measure::{Ph, WaterActivity};

use super::{Cast, Page, Shop, Things, goes_to};

const EDGE: &str = "edge-of-a-part";

impl Shop {
    /// Lays a logger's file on the import page, as a browser does.
    pub async fn lay_file(&self, cast: Cast, place: PlaceId, name: &str, text: &str) -> Page {
        let body = format!(
            "--{EDGE}\r\ncontent-disposition: form-data; name=\"place\"\r\n\r\n{place}\r\n--{EDGE}\r\n\
             content-disposition: form-data; name=\"file\"; filename=\"{name}\"\r\ncontent-type: text/csv\r\n\r\n{text}\r\n\
             --{EDGE}\r\ncontent-disposition: form-data; name=\"text\"\r\n\r\n\r\n--{EDGE}--\r\n"
        );
        let request = Request::post("/loggers/import")
            .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={EDGE}"))
            .header("sec-fetch-site", "same-origin");
        self.send(cast, request, Body::from(body)).await
    }

    /// The form of a draft, as it was drawn, with some fields changed.
    pub async fn sign_draft(&self, cast: Cast, draft: &str, changed: &[(&str, &str)]) -> Page {
        let page = self.get(cast, draft).await;
        let mut fields = vec![("id".to_owned(), page.form_id())];
        for name in ["time", "clock", "order", "temperature", "humidity"] {
            let chosen = page.attribute(&format!("select[name={name}] option[selected]"), "value");
            fields.push((name.to_owned(), chosen.unwrap_or_default()));
        }
        for name in ["told", "unit", "mark"] {
            let chosen = page.attribute(&format!("input[name={name}][checked]"), "value");
            fields.push((name.to_owned(), chosen.unwrap_or_default()));
        }
        for (name, value) in changed {
            fields.retain(|(known, _)| known != name);
            fields.push(((*name).to_owned(), (*value).to_owned()));
        }
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        self.post_raw(cast, draft, &fields).await
    }

    /// Imports a file as it is understood; where the browser is sent.
    pub async fn import(&self, cast: Cast, place: PlaceId, text: &str) -> String {
        let draft = goes_to(&self.lay_file(cast, place, "november.csv", text).await);
        goes_to(&self.sign_draft(cast, &draft, &[]).await)
    }

    /// Admits a device; its token.
    pub async fn admit(&self, name: &str, place: PlaceId) -> String {
        let place = place.to_string();
        let page = self.post(Cast::Owner, "/loggers", &[("name", name), ("place", &place)]).await;
        page.one("section.sheet code.hash")
    }

    /// What a device sends, and what it is answered.
    pub async fn sends(&self, token: &str, kind: &str, body: impl Into<Body>) -> Page {
        let request = Request::post("/loggers/samples")
            .header(header::AUTHORIZATION, format!("Bearer {token}"))
            .header(header::CONTENT_TYPE, kind);
        self.send(Cast::Stranger, request, body.into()).await
    }

    /// What the loin is dried to.
    pub async fn dried_to(&self, things: &Things) {
        self.sign(DryingTargetWritten {
            product: things.loin.clone(),
            water_activity: Some(WaterActivity::thousandths(920)),
            ph: Some(Ph::hundredths(580)),
            moisture_protein: Some(rust_decimal::dec!(2.5)),
            source: "the shop's own plan".into(),
        })
        .await;
    }

    /// A device is admitted, sends, and is ended.
    pub async fn logs(&self, place: PlaceId) {
        let token = self.admit("cooler logger", place).await;
        let body = r#"{"samples":[{"at":"2026-11-24T06:00:00Z","temperature":3.1,"humidity":82}]}"#;
        assert_eq!(self.sends(&token, "application/json", body).await.status, 200);
        let device = self.get(Cast::Owner, "/loggers").await;
        let end = device.attribute("form[action^='/loggers/devices/']", "action").unwrap();
        goes_to(&self.post(Cast::Owner, &end, &[]).await);
    }
}
