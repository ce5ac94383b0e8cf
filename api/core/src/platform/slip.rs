//! Asks for a confirmation of days whose year was probably mistyped, before they are stored.

use baywright_domain::calendar::{day_in_words, is_far_ahead, is_long_past};
use chrono::NaiveDate;

use super::fail::Done;
use super::tx::Tx;

impl Tx<'_> {
    /// Asks for a confirmation of days that are far ahead or long past. `before` is the first and the last day that the
    /// record already has: unchanged days are not asked about again.
    ///
    /// # Errors
    /// `Conflict` with the code `far-ahead` or `long-past`, which names the day.
    pub fn must_confirm_days(
        &self,
        (first, last): (NaiveDate, NaiveDate),
        before: Option<(NaiveDate, NaiveDate)>,
    ) -> Done<()> {
        if before.is_none_or(|(known, _)| known != first) && is_long_past(self.today()?, first) {
            let day = day_in_words(first);
            self.must_confirm("long-past", format!("{day} is more than a month ago. Check the year."))?;
        }
        if before.is_none_or(|(_, known)| known != last) && is_far_ahead(self.today()?, last) {
            let day = day_in_words(last);
            self.must_confirm("far-ahead", format!("{day} is more than a year ahead. Check the year."))?;
        }
        Ok(())
    }
}
