//! Erasing a customer: which records are blanked, which ones tax law makes the shop keep, and when it is not possible yet.
//!
//! The right to erasure ends where the law asks for records to be kept (Regulation (EU) 2016/679, article 17(3)(b)).
//! How long that is differs by country, so the shop sets the years; they run from the end of the calendar year in which
//! the record was made (common practice, no single source).

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;

use chrono::{Datelike, NaiveDate};

use crate::refusal::{Kind, Refusal};
use crate::word::words;

words! {
    /// A kind of record that holds data about a customer.
    pub enum Kept("kind of record") {
        /// Names, addresses, numbers and notes of the customer.
        Contact = "CONTACT" "contact details",
        /// The customer's vehicles.
        Vehicle = "VEHICLE" "vehicle",
        /// First calls.
        Enquiry = "ENQUIRY" "enquiry",
        /// Findings and readings.
        Inspection = "INSPECTION" "inspection",
        /// Photographs.
        Photo = "PHOTO" "photograph",
        /// Quotes that nobody signed.
        OpenQuote = "OPEN_QUOTE" "unsigned quote",
        /// Signed quotes and variations with their evidence: the contract.
        SignedQuote = "SIGNED_QUOTE" "signed quote",
        /// Bookings and jobs.
        Job = "JOB" "booking and job",
        /// Mails.
        Message = "MESSAGE" "message",
        /// Invoices and credit notes.
        Invoice = "INVOICE" "invoice",
        /// Payments and refunds.
        Payment = "PAYMENT" "payment",
    }
}

/// What happens to a record when its customer asks to be erased.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Erasure {
    /// Its data about the customer is blanked now.
    Now,
    /// It must be kept through that day, and is blanked after it.
    After(NaiveDate),
}

impl Kept {
    /// Whether tax law makes the shop keep it: records of what was agreed, invoiced or paid.
    pub const fn is_tax_record(self) -> bool {
        matches!(self, Self::SignedQuote | Self::Invoice | Self::Payment)
    }
}

impl Kept {
    /// Sentence on what is blanked when its customer is erased, and what stays.
    pub const fn what_goes(self) -> &'static str {
        match self {
            Self::Contact => {
                "Name, contact, email addresses, telephone numbers, address, notes and how consents were given."
            }
            Self::Vehicle => "Registration, identification number, colour and notes. Make, model and size stay.",
            Self::Enquiry => "The caller, the wish and the notes. The day and the way of asking stay.",
            Self::Inspection => "Notes and photographs. Grades and readings stay.",
            Self::Photo => "The pictures themselves, unless another customer's inspection shows them.",
            Self::OpenQuote => "The customer, the notes and the document of a quote that nobody signed.",
            Self::SignedQuote => "Nothing: a signed quote or variation is kept as it was sealed.",
            Self::Job => "Notes, photographs and who took the car. Times and steps stay.",
            Self::Message => "Address, text and attachments, also in the files of mails that no mail server took.",
            Self::Invoice => "Nothing: an issued invoice is kept as it was sealed. Drafts go.",
            Self::Payment => "Nothing: payments are kept.",
        }
    }

    /// Reason why a record is kept although its customer is erased; empty if it is not kept.
    pub const fn why_kept(self) -> &'static str {
        match self {
            Self::SignedQuote => {
                "The contract and its evidence: the law asks for business records to be kept for years, and the right to \
                 erasure ends there (Regulation (EU) 2016/679, article 17(3)(b) and (e))."
            }
            Self::Invoice | Self::Payment => {
                "A tax record: the law asks for it to be kept for years, and the right to erasure ends there (Regulation \
                 (EU) 2016/679, article 17(3)(b))."
            }
            _ => "",
        }
    }
}

/// Years for which a shop keeps tax records unless it sets another number. Countries ask for six to ten (common practice, no
/// source), so ten is safe everywhere.
pub const KEEP_YEARS: u8 = 10;

/// The last day on which a tax record that was made on a day must be kept.
pub fn kept_until(made_on: NaiveDate, keep_years: u8) -> NaiveDate {
    NaiveDate::from_ymd_opt(made_on.year() + i32::from(keep_years), 12, 31).unwrap_or(NaiveDate::MAX)
}

/// What happens today to a record that was made on a day. Contact details that an invoice repeats stay in the invoice until
/// its own last day.
pub fn erasure(record: Kept, made_on: NaiveDate, keep_years: u8, today: NaiveDate) -> Erasure {
    let last = kept_until(made_on, keep_years);
    if record.is_tax_record() && today <= last { Erasure::After(last) } else { Erasure::Now }
}

/// Business with a customer that isn't finished.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct OpenBusiness {
    /// Cars that are booked, in the bay, or ready.
    pub bookings: usize,
    /// Invoices with an unpaid amount.
    pub invoices: usize,
    /// Credit of the customer that was not used or refunded.
    pub credits: usize,
}

impl OpenBusiness {
    /// Its number or amount, in words.
    fn told(&self) -> String {
        let one = |count: usize, one: &str, many: &str| match count {
            0 => None,
            1 => Some(format!("1 {one}")),
            _ => Some(format!("{count} {many}")),
        };
        let all = [
            one(self.bookings, "open booking", "open bookings"),
            one(self.invoices, "open invoice", "open invoices"),
            one(self.credits, "credit to give back", "credits to give back"),
        ];
        all.into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

/// A customer with unfinished business can't be erased yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("finish this first: {}", .0.told())]
pub struct StillOpen(pub OpenBusiness);

impl Refusal for StillOpen {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        "customer-still-open"
    }
}

/// Whether a customer can be erased.
///
/// # Errors
/// [`StillOpen`] if a booking, an invoice or a credit is unfinished.
pub fn may_erase(open: OpenBusiness) -> Result<(), StillOpen> {
    if open == OpenBusiness::default() { Ok(()) } else { Err(StillOpen(open)) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_business_is_named_as_far_as_there_is_any() {
        let said = |bookings, invoices, credits| format!("{}", StillOpen(OpenBusiness { bookings, invoices, credits }));
        assert_eq!(said(0, 1, 0), "finish this first: 1 open invoice");
        assert_eq!(said(2, 0, 1), "finish this first: 2 open bookings, 1 credit to give back");
    }

    fn day(year: i32, month: u32, day: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(year, month, day).unwrap()
    }

    #[test]
    fn tax_records_are_kept_to_the_end_of_the_last_year_and_the_rest_goes_at_once() {
        let ask = |record, today| erasure(record, day(2026, 3, 1), 10, today);
        for record in Kept::ALL {
            let expected = match record {
                Kept::Invoice | Kept::Payment | Kept::SignedQuote => Erasure::After(day(2036, 12, 31)),
                _ => Erasure::Now,
            };
            assert_eq!(ask(*record, day(2036, 12, 31)), expected, "{record}");
            assert_eq!(ask(*record, day(2037, 1, 1)), Erasure::Now, "{record}");
            assert_eq!(record.why_kept().is_empty(), !record.is_tax_record(), "{record}");
            assert!(record.what_goes().ends_with('.'), "{record}");
        }
    }

    #[test]
    fn a_customer_with_unfinished_business_stays() {
        assert_eq!(may_erase(OpenBusiness::default()), Ok(()));
        for open in [
            OpenBusiness { bookings: 1, ..OpenBusiness::default() },
            OpenBusiness { invoices: 1, ..OpenBusiness::default() },
            OpenBusiness { credits: 1, ..OpenBusiness::default() },
        ] {
            assert_eq!(may_erase(open), Err(StillOpen(open)));
        }
    }
}
