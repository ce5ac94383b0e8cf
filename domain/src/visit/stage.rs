//! How far a stay has come.

use super::Facts;
use crate::booking::BookingState;
use crate::invoice::State as InvoiceState;
use crate::quote::RevisionState;
use crate::word::words;

words! {
    /// Stage that a stay has reached.
    pub enum Stage("stage of a stay") {
        /// The customer asked, and no quote was sent.
        Asked = "ASKED" "asked",
        /// A quote was sent.
        Quoted = "QUOTED" "quoted",
        /// The customer signed.
        Signed = "SIGNED" "signed",
        /// A time is agreed.
        Booked = "BOOKED" "booked",
        /// The car has come.
        Here = "HERE" "here",
        /// The work is done.
        Ready = "READY" "ready",
        /// The customer has the car again.
        HandedOver = "HANDED_OVER" "handed over",
        /// The invoice is issued.
        Invoiced = "INVOICED" "invoiced",
        /// Everything is paid.
        Paid = "PAID" "paid",
    }
}

words! {
    /// Group of visits that a list can be limited to.
    pub enum VisitGroup("group of visits") {
        /// A quote is being written, or the customer has one that they can sign.
        Offered = "OFFERED" "with a quote to write or to sign",
        /// A time is held or booked, and the car has not come.
        Booked = "BOOKED" "booked",
        /// The car is here.
        Here = "HERE" "here now",
        /// The car was handed over without an invoice, or an invoice is not paid.
        Unpaid = "UNPAID" "with money to do",
    }
}

impl Facts {
    /// The stage that a stay has reached. As for the next act, a car that is here comes first, then an issued invoice, and
    /// last the quote, so a deposit that was invoiced does not hide that the car has still to come.
    pub fn stage(&self) -> Stage {
        match self.booking.map(|booked| booked.state) {
            Some(BookingState::InBay) => Stage::Here,
            Some(BookingState::Ready) => Stage::Ready,
            Some(BookingState::HandedOver) => self.stage_of_invoice().unwrap_or(Stage::HandedOver),
            Some(BookingState::Booked) => Stage::Booked,
            Some(BookingState::Held) => self.stage_of_quote(),
            Some(BookingState::Cancelled | BookingState::NoShow) | None => {
                self.stage_of_invoice().unwrap_or_else(|| self.stage_of_quote())
            }
        }
    }

    fn stage_of_invoice(&self) -> Option<Stage> {
        match self.invoice?.state {
            InvoiceState::Issued | InvoiceState::PartPaid | InvoiceState::WrittenOff => Some(Stage::Invoiced),
            InvoiceState::Paid => Some(Stage::Paid),
            InvoiceState::Draft | InvoiceState::Credited => None,
        }
    }

    fn stage_of_quote(&self) -> Stage {
        match self.quote {
            _ if self.signed => Stage::Signed,
            Some(RevisionState::Signed) => Stage::Signed,
            None | Some(RevisionState::Draft) => Stage::Asked,
            Some(_) => Stage::Quoted,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::visit::{Bill, Booked};

    fn booked(state: BookingState) -> Booked {
        Booked { state, fits: true, deposit_due: false }
    }

    fn billed(state: InvoiceState) -> Bill {
        Bill { state, overdue: false }
    }

    #[test]
    fn a_stay_goes_from_the_call_to_the_payment() {
        let asked = Facts::default();
        let quoted = Facts { quote: Some(RevisionState::Sent), ..asked };
        let signed = Facts { quote: Some(RevisionState::Signed), signed: true, ..asked };
        let held = Facts { booking: Some(booked(BookingState::Held)), ..signed };
        let at = |state| Facts { booking: Some(booked(state)), ..signed };
        let gone = at(BookingState::HandedOver);
        let invoiced = Facts { invoice: Some(billed(InvoiceState::Issued)), ..gone };
        let paid = Facts { invoice: Some(billed(InvoiceState::Paid)), ..gone };
        for (facts, stage) in [
            (asked, Stage::Asked),
            (quoted, Stage::Quoted),
            (signed, Stage::Signed),
            (held, Stage::Signed),
            (at(BookingState::Booked), Stage::Booked),
            (at(BookingState::InBay), Stage::Here),
            (at(BookingState::Ready), Stage::Ready),
            (gone, Stage::HandedOver),
            (Facts { invoice: Some(billed(InvoiceState::Draft)), ..gone }, Stage::HandedOver),
            (invoiced, Stage::Invoiced),
            (paid, Stage::Paid),
        ] {
            assert_eq!(facts.stage(), stage, "{facts:?}");
        }
    }

    #[test]
    fn an_invoice_does_not_hide_that_the_car_is_here_or_has_still_to_come() {
        let paid = Facts { signed: true, invoice: Some(billed(InvoiceState::Paid)), ..Facts::default() };
        assert_eq!(Facts { booking: Some(booked(BookingState::Booked)), ..paid }.stage(), Stage::Booked);
        assert_eq!(Facts { booking: Some(booked(BookingState::InBay)), ..paid }.stage(), Stage::Here);
        assert_eq!(Facts { booking: Some(booked(BookingState::Cancelled)), ..paid }.stage(), Stage::Paid);
    }
}
