//! `/measure/weight`: what is understood of a weight as it is typed. So there is one reading of weights, and a page's
//! script does no sums.

use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde::{Deserialize, Serialize};

use super::{Me, Query, Shop};
use crate::error::Result;
use crate::measure::{WeightUnit, positive_weight};

/// What was typed so far.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
pub struct Typed {
    text: String,
    /// What a bare number is in; the shop's own unit when it is none.
    unit: String,
    /// Grams that it is taken from; may be empty.
    from: String,
}

#[derive(Debug, PartialEq, Eq, Serialize)]
#[serde(untagged)]
enum Answer {
    Read {
        ok: bool,
        metric: String,
        imperial: String,
        #[serde(skip_serializing_if = "Option::is_none")]
        left: Option<String>,
    },
    Not {
        ok: bool,
        message: String,
    },
}

/// GET `/measure/weight?text&unit&from`
pub async fn weight(me: Me, Query(typed): Query<Typed>) -> Result<Response> {
    let json = serde_json::to_string(&answer(&me.shop, &typed)).map_err(anyhow::Error::from)?;
    let headers = [(header::CONTENT_TYPE, "application/json"), (header::CACHE_CONTROL, "no-store")];
    Ok((headers, json).into_response())
}

fn answer(shop: &Shop, typed: &Typed) -> Answer {
    let unit = typed.unit.parse().unwrap_or(shop.weight_unit());
    let grams = match positive_weight(&typed.text, unit) {
        Ok(grams) => grams,
        Err(why) => return Answer::Not { ok: false, message: why.to_string() },
    };
    let from =
        (!typed.from.is_empty()).then(|| positive_weight(&typed.from, WeightUnit::Gram).ok()).flatten();
    match from {
        Some(from) if grams > from => {
            let message = format!("There is only {} to take it from.", shop.weight(from));
            Answer::Not { ok: false, message }
        }
        from => Answer::Read {
            ok: true,
            metric: grams.metric(),
            imperial: grams.imperial(),
            left: from.map(|from| shop.weight(from - grams)),
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Currency, Grams, ShopZone, UnitSystem};

    fn shop(system: UnitSystem) -> Shop {
        Shop {
            name: "A shop".into(),
            address: String::new(),
            number: String::new(),
            system,
            zone: ShopZone::utc(),
            currency: Currency::parse("GBP").expect("a currency"),
            small_division: Grams::whole(1),
            large_division: Grams::whole(5),
        }
    }

    fn ask(system: UnitSystem, text: &str, unit: &str, from: &str) -> String {
        let typed = Typed { text: text.into(), unit: unit.into(), from: from.into() };
        serde_json::to_string(&answer(&shop(system), &typed)).expect("written").replace('\u{a0}', " ")
    }

    #[test]
    fn a_weight_is_said_back_in_both_systems_with_what_it_leaves() {
        assert_eq!(
            ask(UnitSystem::Metric, "8.16", "kg", "20540.00"),
            r#"{"ok":true,"metric":"8.160 kg","imperial":"18 lb 0 oz","left":"12.38 kg"}"#
        );
        assert!(ask(UnitSystem::Us, "2", "", "").contains(r#""imperial":"2 lb 0.0 oz""#));
    }

    #[test]
    fn what_cannot_be_read_is_told_in_words() {
        assert!(ask(UnitSystem::Metric, "heavy", "kg", "").starts_with(r#"{"ok":false,"message":""#));
        assert!(ask(UnitSystem::Metric, "", "kg", "").starts_with(r#"{"ok":false"#));
    }

    #[test]
    fn more_than_there_is_cannot_be_taken() {
        assert!(ask(UnitSystem::Metric, "21", "kg", "20540.00").contains("only 20.54 kg"));
        assert!(ask(UnitSystem::Metric, "21", "kg", "rubbish").contains(r#""ok":true"#));
    }
}
