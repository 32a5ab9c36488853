//! The shop's currency, by its ISO 4217 code.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use super::stored::text_column;

/// National currencies of ISO 4217 list one that count in hundredths or in whole units. Left out: funds, metals, test
/// codes, and the seven that count in thousandths, since money here is kept to the hundredth. Checked against the
/// iso-codes 4.15 list; the later changes (XCG and ZWG in; ANG, BGN, CUC, HRK, SLL and ZWL out) are from memory.
const CODES: [&str; 147] = [
    "AED", "AFN", "ALL", "AMD", "AOA", "ARS", "AUD", "AWG", "AZN", "BAM", "BBD", "BDT", "BIF", "BMD", "BND",
    "BOB", "BRL", "BSD", "BTN", "BWP", "BYN", "BZD", "CAD", "CDF", "CHF", "CLP", "CNY", "COP", "CRC", "CUP",
    "CVE", "CZK", "DJF", "DKK", "DOP", "DZD", "EGP", "ERN", "ETB", "EUR", "FJD", "FKP", "GBP", "GEL", "GHS",
    "GIP", "GMD", "GNF", "GTQ", "GYD", "HKD", "HNL", "HTG", "HUF", "IDR", "ILS", "INR", "IRR", "ISK", "JMD",
    "JPY", "KES", "KGS", "KHR", "KMF", "KPW", "KRW", "KYD", "KZT", "LAK", "LBP", "LKR", "LRD", "LSL", "MAD",
    "MDL", "MGA", "MKD", "MMK", "MNT", "MOP", "MRU", "MUR", "MVR", "MWK", "MXN", "MYR", "MZN", "NAD", "NGN",
    "NIO", "NOK", "NPR", "NZD", "PAB", "PEN", "PGK", "PHP", "PKR", "PLN", "PYG", "QAR", "RON", "RSD", "RUB",
    "RWF", "SAR", "SBD", "SCR", "SDG", "SEK", "SGD", "SHP", "SLE", "SOS", "SRD", "SSP", "STN", "SVC", "SYP",
    "SZL", "THB", "TJS", "TMT", "TOP", "TRY", "TTD", "TWD", "TZS", "UAH", "UGX", "USD", "UYU", "UZS", "VES",
    "VND", "VUV", "WST", "XAF", "XCD", "XCG", "XOF", "XPF", "YER", "ZAR", "ZMW", "ZWG",
];

/// Currencies without a smaller unit in use (ISO 4217, minor unit 0).
const WHOLE: [&str; 16] = [
    "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV", "XAF", "XOF",
    "XPF",
];

/// A word that is no currency the book can keep.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is not a currency that can be used. Write its three letters, such as GBP, EUR or USD.")]
pub struct CurrencyError(pub String);

/// An ISO 4217 currency: three capital letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency(&'static str);

text_column!(Currency);

impl Currency {
    /// Reads a code in any case.
    pub fn parse(text: &str) -> Result<Self, CurrencyError> {
        let code = text.trim().to_ascii_uppercase();
        CODES
            .into_iter()
            .find(|known| *known == code)
            .map(Self)
            .ok_or_else(|| CurrencyError(text.trim().chars().take(20).collect()))
    }

    /// `GBP`.
    pub const fn code(self) -> &'static str {
        self.0
    }

    /// The sign written before the amount where one is commonly known; without one the code follows the amount.
    pub fn symbol(self) -> Option<&'static str> {
        Some(match self.0 {
            "GBP" => "£",
            "EUR" => "€",
            "USD" => "$",
            "CAD" => "CA$",
            "AUD" => "A$",
            "NZD" => "NZ$",
            "JPY" => "¥",
            "INR" => "₹",
            "ILS" => "₪",
            "KRW" => "₩",
            "UAH" => "₴",
            _ => return None,
        })
    }

    /// Whether the currency has no smaller unit, so that whole amounts print without decimals.
    pub fn is_whole(self) -> bool {
        WHOLE.contains(&self.0)
    }

    /// Every code, sorted, for a list to choose from.
    pub fn all() -> impl Iterator<Item = Self> {
        CODES.into_iter().map(Self)
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.0)
    }
}

impl FromStr for Currency {
    type Err = CurrencyError;

    fn from_str(text: &str) -> Result<Self, CurrencyError> {
        Self::parse(text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_three_capital_letters_in_order_and_known_ones_are_there() {
        assert!(CODES.iter().all(|code| code.len() == 3 && code.bytes().all(|b| b.is_ascii_uppercase())));
        assert!(CODES.is_sorted_by(|a, b| a < b));
        assert!(WHOLE.iter().all(|code| CODES.contains(code)));
        // ISO 4217 list one.
        for code in
            ["GBP", "EUR", "USD", "CAD", "AUD", "SEK", "NOK", "DKK", "CHF", "PLN", "CZK", "JPY", "ZAR"]
        {
            assert!(Currency::parse(code).is_ok(), "{code}");
        }
    }

    #[test]
    fn what_is_no_currency_is_refused_with_an_example() {
        for bad in ["", "GB", "XXX", "XTS", "XAU", "KWD", "pounds", "££"] {
            assert!(Currency::parse(bad).is_err(), "{bad}");
        }
        assert_eq!(Currency::parse(" gbp ").unwrap().code(), "GBP");
        assert_eq!(serde_json::to_string(&Currency::parse("SEK").unwrap()).unwrap(), "\"SEK\"");
        assert!(serde_json::from_str::<Currency>("\"sek\"").is_err());
    }
}
