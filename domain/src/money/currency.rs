//! Currencies and their minor units (ISO 4217).

use rust_decimal::Decimal;

/// A currency of ISO 4217.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Currency {
    code: &'static str,
    decimals: u32,
}

/// The currencies a shop can use: code and minor unit as ISO 4217, list one, gives them.
const LIST: &[(&str, u32)] = &[
    ("AED", 2),
    ("AUD", 2),
    ("BGN", 2),
    ("BHD", 3),
    ("BRL", 2),
    ("CAD", 2),
    ("CHF", 2),
    ("CLP", 0),
    ("CNY", 2),
    ("CZK", 2),
    ("DKK", 2),
    ("EUR", 2),
    ("GBP", 2),
    ("HKD", 2),
    ("HUF", 2),
    ("ILS", 2),
    ("INR", 2),
    ("ISK", 0),
    ("JOD", 3),
    ("JPY", 0),
    ("KRW", 0),
    ("KWD", 3),
    ("MXN", 2),
    ("NOK", 2),
    ("NZD", 2),
    ("OMR", 3),
    ("PLN", 2),
    ("RON", 2),
    ("SEK", 2),
    ("SGD", 2),
    ("TND", 3),
    ("TRY", 2),
    ("USD", 2),
    ("ZAR", 2),
];

impl Currency {
    /// The euro.
    pub const EUR: Self = Self { code: "EUR", decimals: 2 };

    /// The currency of that code, if the list has it.
    pub fn of(code: &str) -> Option<Self> {
        LIST.iter().find(|(known, _)| *known == code).map(|&(code, decimals)| Self { code, decimals })
    }

    /// Every currency a shop can use.
    pub fn all() -> impl Iterator<Item = Self> {
        LIST.iter().map(|&(code, decimals)| Self { code, decimals })
    }

    /// Three letters of ISO 4217.
    pub const fn code(self) -> &'static str {
        self.code
    }

    /// Number of decimals the minor unit has.
    pub const fn decimals(self) -> u32 {
        self.decimals
    }

    /// Minor units in one major unit.
    pub fn scale(self) -> Decimal {
        Decimal::from(10_i64.pow(self.decimals))
    }
}
