//! How a day stands in an entry's body: `2026-11-24`, as RFC 3339 writes a full date.

/// For a field that may be left open: `#[serde(default, with = "crate::measure::maybe_date")]`.
pub mod maybe_date {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};
    use time::Date;

    use crate::measure::{input_day, parse_day};

    /// # Errors
    /// Those of the serializer.
    #[allow(clippy::ref_option, reason = "the shape that serde's `with` asks for")]
    pub fn serialize<S: Serializer>(day: &Option<Date>, to: S) -> Result<S::Ok, S::Error> {
        day.map(input_day).serialize(to)
    }

    /// # Errors
    /// When the text is not a day.
    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Date>, D::Error> {
        let text = Option::<String>::deserialize(from)?;
        text.map(|text| parse_day(&text).map_err(serde::de::Error::custom)).transpose()
    }
}
