//! How a measure goes into an entry's body and into the database, and how it is checked on the way back.
//!
//! A decimal is a JSON string and a NUMERIC; a code or a name is a JSON string and a TEXT. The canonical print is the
//! one that the chain is computed over, so a value always prints the same way, whatever it was read from.

use rust_decimal::{Decimal, RoundingStrategy};
use thiserror::Error;

/// The largest amount, either way, that a stored measure may have: 10^15. Sums of such amounts cannot overflow.
const LARGEST: Decimal = Decimal::from_parts(2_764_472_320, 232_830, 0, false, 0);

/// A stored text or number that is not a value of its kind. It is a failure of the book, never a person's slip.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum StoredError {
    /// Not written as digits with a point, such as `3180.00`.
    #[error("\"{0}\" is not a plain decimal number")]
    NotPlain(String),
    /// More decimals than the measure has.
    #[error("{value} has more than {places} decimals")]
    TooFine { value: Decimal, places: u32 },
    /// Outside what the measure can be.
    #[error("{0} is out of range")]
    OutOfRange(Decimal),
    /// A text that is not in its canonical form.
    #[error("\"{0}\" is not in its canonical form")]
    NotCanonical(String),
}

/// Rounded to `places`, half away from zero, always with that scale, and never a negative zero.
pub(super) fn fixed(value: Decimal, places: u32) -> Decimal {
    let mut value = value.round_dp_with_strategy(places, RoundingStrategy::MidpointAwayFromZero);
    value.rescale(places);
    if value.is_zero() {
        value.set_sign_positive(true);
    }
    value
}

/// Rounded to at most `places` and without trailing zeros.
pub(super) fn shortest(value: Decimal, places: u32) -> Decimal {
    fixed(value, places).normalize()
}

/// The value itself, when it has no more than `places` decimals and is not beyond all measure.
pub(super) fn exact(value: Decimal, places: u32) -> Result<Decimal, StoredError> {
    if value.abs() > LARGEST {
        return Err(StoredError::OutOfRange(value));
    }
    if value.normalize().scale() > places {
        return Err(StoredError::TooFine { value, places });
    }
    Ok(value)
}

/// Reads `-?digits[.digits]` and nothing else: no exponent, no plus, no underscore, no leading zeros.
pub(super) fn plain(text: &str) -> Result<Decimal, StoredError> {
    let refused = || StoredError::NotPlain(text.chars().take(40).collect());
    let digits = text.strip_prefix('-').unwrap_or(text);
    let (whole, part) = digits.split_once('.').map_or((digits, None), |(whole, part)| (whole, Some(part)));
    let all_digits = |run: &str| !run.is_empty() && run.bytes().all(|b| b.is_ascii_digit());
    let led_by_zero = whole.len() > 1 && whole.starts_with('0');
    if !all_digits(whole) || led_by_zero || part.is_some_and(|part| !all_digits(part)) {
        return Err(refused());
    }
    Decimal::from_str_exact(text).map_err(|_| refused())
}

/// Gives a decimal measure its serde string and its NUMERIC column. The type brings `from_stored(Decimal)` and `Display`.
macro_rules! decimal_column {
    ($name:ident) => {
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
                $crate::measure::stored::plain(&text)
                    .and_then($name::from_stored)
                    .map_err(serde::de::Error::custom)
            }
        }

        impl sqlx::Type<sqlx::Postgres> for $name {
            fn type_info() -> sqlx::postgres::PgTypeInfo {
                <rust_decimal::Decimal as sqlx::Type<sqlx::Postgres>>::type_info()
            }

            fn compatible(ty: &sqlx::postgres::PgTypeInfo) -> bool {
                <rust_decimal::Decimal as sqlx::Type<sqlx::Postgres>>::compatible(ty)
            }
        }

        impl sqlx::postgres::PgHasArrayType for $name {
            fn array_type_info() -> sqlx::postgres::PgTypeInfo {
                <rust_decimal::Decimal as sqlx::postgres::PgHasArrayType>::array_type_info()
            }
        }

        impl<'q> sqlx::Encode<'q, sqlx::Postgres> for $name {
            fn encode_by_ref(
                &self,
                buf: &mut sqlx::postgres::PgArgumentBuffer,
            ) -> Result<sqlx::encode::IsNull, sqlx::error::BoxDynError> {
                <rust_decimal::Decimal as sqlx::Encode<'q, sqlx::Postgres>>::encode_by_ref(&self.0, buf)
            }
        }

        impl<'r> sqlx::Decode<'r, sqlx::Postgres> for $name {
            fn decode(value: sqlx::postgres::PgValueRef<'r>) -> Result<Self, sqlx::error::BoxDynError> {
                let value = <rust_decimal::Decimal as sqlx::Decode<'r, sqlx::Postgres>>::decode(value)?;
                Ok($name::from_stored(value)?)
            }
        }
    };
}
pub(super) use decimal_column;

/// Gives a code or a name its serde string and its TEXT column. The type brings `FromStr`, which may be tolerant, and
/// `Display`; what is stored must be what is printed.
macro_rules! text_column {
    ($name:ident $(<const $size:ident: usize>)?) => {
        impl $(<const $size: usize>)? serde::Serialize for $name $(<$size>)? {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl<'de $(, const $size: usize)?> serde::Deserialize<'de> for $name $(<$size>)? {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let text = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
                $crate::measure::stored::canonical(&text).map_err(serde::de::Error::custom)
            }
        }

        impl $(<const $size: usize>)? sqlx::Type<sqlx::Postgres> for $name $(<$size>)? {
            fn type_info() -> sqlx::postgres::PgTypeInfo {
                <String as sqlx::Type<sqlx::Postgres>>::type_info()
            }

            fn compatible(ty: &sqlx::postgres::PgTypeInfo) -> bool {
                <String as sqlx::Type<sqlx::Postgres>>::compatible(ty)
            }
        }

        impl $(<const $size: usize>)? sqlx::postgres::PgHasArrayType for $name $(<$size>)? {
            fn array_type_info() -> sqlx::postgres::PgTypeInfo {
                <String as sqlx::postgres::PgHasArrayType>::array_type_info()
            }

            fn array_compatible(ty: &sqlx::postgres::PgTypeInfo) -> bool {
                <String as sqlx::postgres::PgHasArrayType>::array_compatible(ty)
            }
        }

        impl<'q $(, const $size: usize)?> sqlx::Encode<'q, sqlx::Postgres> for $name $(<$size>)? {
            fn encode_by_ref(
                &self,
                buf: &mut sqlx::postgres::PgArgumentBuffer,
            ) -> Result<sqlx::encode::IsNull, sqlx::error::BoxDynError> {
                <String as sqlx::Encode<'q, sqlx::Postgres>>::encode(self.to_string(), buf)
            }
        }

        impl<'r $(, const $size: usize)?> sqlx::Decode<'r, sqlx::Postgres> for $name $(<$size>)? {
            fn decode(value: sqlx::postgres::PgValueRef<'r>) -> Result<Self, sqlx::error::BoxDynError> {
                let text = <&str as sqlx::Decode<'r, sqlx::Postgres>>::decode(value)?;
                Ok($crate::measure::stored::canonical(text)?)
            }
        }
    };
}
pub(super) use text_column;

/// Reads a stored text, which must be exactly what its value prints.
pub(super) fn canonical<T: std::str::FromStr + std::fmt::Display>(text: &str) -> Result<T, StoredError> {
    text.parse::<T>()
        .ok()
        .filter(|value| value.to_string() == text)
        .ok_or_else(|| StoredError::NotCanonical(text.chars().take(80).collect()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stored_number_is_digits_with_a_point_and_nothing_else() {
        for good in ["0", "0.00", "-3.20", "3180.00", "0.5"] {
            assert!(plain(good).is_ok(), "{good}");
        }
        for bad in ["", "-", "1e3", "+1", "1_000", "01", ".5", "5.", "1.2.3", " 1", "1,5", "NaN", "--1", "١"]
        {
            assert!(plain(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn half_goes_away_from_zero_and_zero_has_no_sign() {
        let d = |text: &str| text.parse::<Decimal>().unwrap();
        assert_eq!(fixed(d("0.005"), 2).to_string(), "0.01");
        assert_eq!(fixed(d("-0.005"), 2).to_string(), "-0.01");
        assert_eq!(fixed(d("-0.004"), 2).to_string(), "0.00");
    }

    #[test]
    fn the_largest_amount_is_ten_to_the_fifteenth() {
        assert_eq!(LARGEST.to_string(), "1000000000000000");
        assert!(exact(LARGEST + Decimal::ONE, 2).is_err());
    }
}
