//! Numbers of documents: a prefix, the year if the shop wants it, and a counter that never skips or repeats.
//!
//! The store keeps the counter itself, in one transaction with the document; this module writes the number.

use alloc::string::String;

use chrono::{Datelike, NaiveDate};

use crate::refusal::{Kind, Refusal};
use crate::word::words;

words! {
    /// Kind of document that has numbers of its own.
    pub enum SeriesKind("kind of number") {
        /// Quotes.
        Quote = "QUOTE" "quote",
        /// Invoices for work, goods and fees.
        Invoice = "INVOICE" "invoice",
        /// Deposit invoices.
        DepositInvoice = "DEPOSIT_INVOICE" "deposit invoice",
        /// Credit notes.
        CreditNote = "CREDIT_NOTE" "credit note",
        /// Receipts of refunds.
        RefundReceipt = "REFUND_RECEIPT" "receipt of a refund",
    }
}

/// Format of the numbers of one series, such as `INV-2026-0042`; a shop's setting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Series {
    prefix: String,
    yearly: bool,
    separator: Option<char>,
    digits: u8,
}

/// Reason why a series or a number is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadSeries {
    /// A prefix with other characters, or too long.
    #[error("a prefix has at most {MOST_PREFIX} of the letters A to Z, digits, and - / .")]
    Prefix,
    /// A prefix in a shop's settings with other characters, empty or too long.
    #[error("the short name of a series is 1 to {MOST_SHORT} of the letters A to Z and digits, such as INV")]
    Short,
    /// The separator is not one of the allowed ones.
    #[error("the separator is one of - / . or left out")]
    Separator,
    /// The counter is padded to zero or too many digits.
    #[error("the counter is padded to 1 to {MOST_DIGITS} digits")]
    Digits,
    /// Counters start at 1.
    #[error("the first number of a series is 1")]
    Zero,
    /// The first number of a counter that has already given out numbers.
    #[error("this series has given out numbers already, so its first number can't be changed")]
    Begun,
    /// A prefix that another kind of document has or had.
    #[error("other documents have or had this short name: choose another one, so that no number repeats")]
    Taken,
}

impl Refusal for BadSeries {
    fn kind(&self) -> Kind {
        match self {
            Self::Begun | Self::Taken => Kind::Conflict,
            _ => Kind::Invalid,
        }
    }

    fn code(&self) -> &'static str {
        "number-series"
    }
}

/// The longest prefix. With year, separators and twelve digits a number still fits the 35 characters of a payment's text.
pub const MOST_PREFIX: usize = 12;

/// The longest prefix in a shop's settings.
pub const MOST_SHORT: usize = 8;

/// The widest padding.
pub const MOST_DIGITS: u8 = 10;

const SEPARATORS: [char; 3] = ['-', '/', '.'];

/// The prefix of a series in a shop's settings: letters and digits only, so that no two prefixes ever make the same
/// number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prefix(String);

impl Prefix {
    /// Reads a prefix.
    ///
    /// # Errors
    /// [`BadSeries::Short`] if it is empty, too long, or has other characters.
    pub fn parse(text: &str) -> Result<Self, BadSeries> {
        let plain = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit();
        let fine = (1..=MOST_SHORT).contains(&text.len()) && text.chars().all(plain);
        if fine { Ok(Self(text.into())) } else { Err(BadSeries::Short) }
    }

    /// Prefix of a new shop's quotes: `Q`.
    pub fn usual_for_quotes() -> Self {
        Self("Q".into())
    }

    /// Prefix of a new shop's invoices: `INV`.
    pub fn usual_for_invoices() -> Self {
        Self("INV".into())
    }

    /// Prefix of a new shop's deposit invoices: `DEP`.
    pub fn usual_for_deposits() -> Self {
        Self("DEP".into())
    }

    /// Prefix of a new shop's credit notes: `CRN`.
    pub fn usual_for_credit_notes() -> Self {
        Self("CRN".into())
    }

    /// Prefix of a new shop's receipts of refunds: `RFD`.
    pub fn usual_for_refunds() -> Self {
        Self("RFD".into())
    }

    /// Checks that documents of a kind can be numbered under this prefix: no other kind has or had it. `used` has every
    /// prefix that was ever set, with its kind of document; a kind may return to one of its own earlier prefixes, where
    /// its counter continues.
    ///
    /// # Errors
    /// [`BadSeries::Taken`] if another kind of document has or had it.
    pub fn check_free<K: PartialEq>(&self, kind: &K, used: &[(K, Self)]) -> Result<(), BadSeries> {
        let taken = used.iter().any(|(other, prefix)| prefix == self && other != kind);
        if taken { Err(BadSeries::Taken) } else { Ok(()) }
    }

    /// The prefix.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

/// Checks the first number of a counter: a shop that starts to use the program during a year continues where its old
/// numbers ended. `last` is the last number that was given out here.
///
/// # Errors
/// [`BadSeries::Zero`] for 0, [`BadSeries::Begun`] once a number was given out.
pub fn check_first(first: u64, last: Option<u64>) -> Result<(), BadSeries> {
    match last {
        Some(_) => Err(BadSeries::Begun),
        None if first == 0 => Err(BadSeries::Zero),
        None => Ok(()),
    }
}

/// The next number of a counter: one more than the last, or its first number.
pub fn next_counter(last: Option<u64>, first: u64) -> u64 {
    last.map_or(first, |last| last + 1)
}

impl Series {
    /// The series of a shop's documents: prefix, year and a counter of at least four digits that starts again each
    /// year, such as `INV-2026-0042`.
    pub fn yearly(prefix: &Prefix) -> Self {
        Self { prefix: prefix.0.clone(), yearly: true, separator: Some('-'), digits: 4 }
    }

    /// A series. `digits` is the minimum width of the counter; larger counters are written in full.
    ///
    /// # Errors
    /// [`BadSeries`] says which part can't stand in a number.
    pub fn new(
        prefix: impl Into<String>,
        yearly: bool,
        separator: Option<char>,
        digits: u8,
    ) -> Result<Self, BadSeries> {
        let prefix = prefix.into();
        let plain = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || SEPARATORS.contains(&c);
        if prefix.len() > MOST_PREFIX || !prefix.chars().all(plain) {
            return Err(BadSeries::Prefix);
        }
        if separator.is_some_and(|s| !SEPARATORS.contains(&s)) {
            return Err(BadSeries::Separator);
        }
        if digits == 0 || digits > MOST_DIGITS {
            return Err(BadSeries::Digits);
        }
        Ok(Self { prefix, yearly, separator, digits })
    }

    /// The year whose counter a document of that day uses: a yearly series starts again from 1 each year.
    pub fn counter_year(&self, issued: NaiveDate) -> Option<i32> {
        self.yearly.then(|| issued.year())
    }

    /// The number of the `counter`-th document of its counter, issued on that day.
    ///
    /// # Errors
    /// [`BadSeries::Zero`] for counter 0.
    pub fn number(&self, issued: NaiveDate, counter: u64) -> Result<String, BadSeries> {
        if counter == 0 {
            return Err(BadSeries::Zero);
        }
        let mut number = self.prefix.clone();
        let mut part = |text: &str| {
            let glued = number.is_empty() || number.ends_with(SEPARATORS);
            if let (Some(separator), false) = (self.separator, glued) {
                number.push(separator);
            }
            number.push_str(text);
        };
        if let Some(year) = self.counter_year(issued) {
            part(&alloc::format!("{year:04}"));
        }
        part(&alloc::format!("{counter:0width$}", width = usize::from(self.digits)));
        Ok(number)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn number(prefix: &str, yearly: bool, separator: Option<char>, counter: u64) -> String {
        let day = NaiveDate::from_ymd_opt(2026, 3, 31).unwrap();
        Series::new(prefix, yearly, separator, 4).unwrap().number(day, counter).unwrap()
    }

    #[test]
    fn a_number_is_prefix_year_and_padded_counter() {
        assert_eq!(number("INV", true, Some('-'), 42), "INV-2026-0042");
        assert_eq!(number("INV", true, None, 42), "INV20260042");
        assert_eq!(number("INV-", false, Some('-'), 42), "INV-0042");
        assert_eq!(number("", true, Some('/'), 123_456), "2026/123456");
        assert_eq!(number("", false, None, 1), "0001");
    }

    #[test]
    fn a_shops_series_counts_in_each_year_under_a_plain_prefix() {
        let day = NaiveDate::from_ymd_opt(2026, 3, 31).unwrap();
        let series = Series::yearly(&Prefix::parse("R7").unwrap());
        assert_eq!((series.number(day, 42).unwrap().as_str(), series.counter_year(day)), ("R7-2026-0042", Some(2026)));
        for bad in ["", "inv", "INV-", "A B", "ABCDEFGHI", "\u{c9}"] {
            assert_eq!(Prefix::parse(bad), Err(BadSeries::Short), "{bad}");
        }
    }

    #[test]
    fn a_shop_that_changes_over_goes_on_where_its_old_numbers_ended() {
        assert_eq!((next_counter(None, 1), next_counter(None, 43), next_counter(Some(43), 43)), (1, 43, 44));
        assert_eq!(check_first(43, None), Ok(()));
        assert_eq!(check_first(0, None), Err(BadSeries::Zero));
        assert_eq!(check_first(100, Some(43)), Err(BadSeries::Begun));
    }

    #[test]
    fn a_prefix_never_numbers_two_kinds_of_documents() {
        let prefix = |text| Prefix::parse(text).unwrap();
        let used = [("invoice", prefix("INV")), ("invoice", prefix("R")), ("quote", prefix("Q"))];
        assert_eq!(prefix("INV").check_free(&"invoice", &used), Ok(()));
        assert_eq!(prefix("NEW").check_free(&"quote", &used), Ok(()));
        // The same is true of a prefix that invoices had before.
        assert_eq!(prefix("INV").check_free(&"quote", &used), Err(BadSeries::Taken));
    }

    #[test]
    fn a_yearly_series_has_a_counter_for_each_year() {
        let day = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap();
        assert_eq!(Series::new("Q", true, None, 4).unwrap().counter_year(day), Some(2027));
        assert_eq!(Series::new("Q", false, None, 4).unwrap().counter_year(day), None);
    }

    #[test]
    fn a_series_that_no_number_can_carry_is_refused() {
        assert_eq!(Series::new("inv", true, None, 4), Err(BadSeries::Prefix));
        assert_eq!(Series::new("A 1", true, None, 4), Err(BadSeries::Prefix));
        assert_eq!(Series::new("ABCDEFGHIJKLM", true, None, 4), Err(BadSeries::Prefix));
        assert_eq!(Series::new("A", true, Some('_'), 4), Err(BadSeries::Separator));
        assert_eq!(Series::new("A", true, None, 0), Err(BadSeries::Digits));
        let day = NaiveDate::from_ymd_opt(2027, 1, 1).unwrap();
        assert_eq!(Series::new("A", true, None, 4).unwrap().number(day, 0), Err(BadSeries::Zero));
    }
}
