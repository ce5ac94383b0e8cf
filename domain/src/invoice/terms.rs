//! Terms of payment: they set the due date of an invoice, by the shop's setting or an agreement with one customer.

use chrono::{Datelike, Days, Months, NaiveDate};

/// Rule for the due date of an invoice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaymentTerms {
    /// Calendar days after the day of issue.
    Days(u16),
    /// Calendar days after the last day of the month of issue: 0 is the end of the month itself.
    EndOfMonth(u16),
}

/// Longest period of payment that businesses may agree without saying so expressly (Directive 2011/7/EU, article 3(5)).
pub const LONGEST_USUAL_DAYS: i64 = 60;

impl PaymentTerms {
    /// Due date of an invoice that was issued on the given day: the last day on which it is paid in time.
    pub fn due_on(self, issued: NaiveDate) -> NaiveDate {
        let (from, days) = match self {
            Self::Days(days) => (issued, days),
            Self::EndOfMonth(days) => (end_of_month(issued), days),
        };
        from.checked_add_days(Days::new(u64::from(days))).unwrap_or(NaiveDate::MAX)
    }

    /// Whether an invoice of the given day is due later than [`LONGEST_USUAL_DAYS`] after it, which is worth a warning.
    pub fn is_long(self, issued: NaiveDate) -> bool {
        (self.due_on(issued) - issued).num_days() > LONGEST_USUAL_DAYS
    }
}

/// The last day of a month, from any of its days.
fn end_of_month(day: NaiveDate) -> NaiveDate {
    let next = day.with_day(1).and_then(|first| first.checked_add_months(Months::new(1)));
    next.and_then(|first| first.pred_opt()).unwrap_or(NaiveDate::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn an_invoice_is_due_by_the_terms_of_its_customer() {
        for (terms, issued, due) in [
            (PaymentTerms::Days(14), "2028-02-20", "2028-03-05"),
            (PaymentTerms::Days(0), "2028-02-20", "2028-02-20"),
            (PaymentTerms::EndOfMonth(0), "2028-02-01", "2028-02-29"),
            (PaymentTerms::EndOfMonth(30), "2026-01-31", "2026-03-02"),
            (PaymentTerms::EndOfMonth(10), "2026-12-05", "2027-01-10"),
        ] {
            assert_eq!(terms.due_on(day(issued)), day(due), "{terms:?} from {issued}");
        }
        assert_eq!(PaymentTerms::EndOfMonth(1).due_on(NaiveDate::MAX), NaiveDate::MAX);
    }

    #[test]
    fn terms_beyond_sixty_days_are_long() {
        assert!(!PaymentTerms::Days(60).is_long(day("2026-03-01")));
        assert!(PaymentTerms::Days(61).is_long(day("2026-03-01")));
        // The 60 days count from the issue: a month of 31 days and 30 more.
        assert!(!PaymentTerms::EndOfMonth(30).is_long(day("2026-03-01")));
        assert!(PaymentTerms::EndOfMonth(31).is_long(day("2026-03-01")));
    }
}
