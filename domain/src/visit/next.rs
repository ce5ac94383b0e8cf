//! What must happen next in a stay.

use chrono::{DateTime, Utc};

use super::{Act, Outcome};
use crate::booking::BookingState;
use crate::enquiry::EnquiryState;
use crate::inspection::InspectionState;
use crate::invoice::State as InvoiceState;
use crate::job::{Job, JobState, StepState};
use crate::quote::RevisionState;
use crate::variation::VariationState;

/// How far the work on a car is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// A step can be started.
    CanStart,
    /// Somebody is at a step.
    Running,
    /// Nothing can be started before something has dried or cured.
    Drying,
    /// Every step is finished or struck out.
    Settled,
}

impl Work {
    /// How far a job is at a moment.
    pub fn of(job: &Job, now: DateTime<Utc>) -> Self {
        match () {
            () if job.state() == JobState::Ready => Self::Settled,
            () if job.steps.iter().any(|step| step.state == StepState::Running) => Self::Running,
            () if job.startable(now).is_empty() => Self::Drying,
            () => Self::CanStart,
        }
    }
}

/// A car's booking as far as the next act depends on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Booked {
    /// State as it counts now.
    pub state: BookingState,
    /// Whether its place has room for all that was signed.
    pub fits: bool,
    /// Whether a deposit was agreed and has not come.
    pub deposit_due: bool,
}

/// An invoice as far as the next act depends on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bill {
    /// State of the invoice.
    pub state: InvoiceState,
    /// Whether its last day to pay is over.
    pub overdue: bool,
}

/// What is known of a stay. Each fact is about one record, so any of them may be missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Facts {
    /// State of the enquiry that it began with; `None` without one.
    pub enquiry: Option<EnquiryState>,
    /// State of the latest inspection before the work; `None` without one.
    pub inspection: Option<InspectionState>,
    /// State of the latest revision of the quote as it counts now; `None` without a quote.
    pub quote: Option<RevisionState>,
    /// Whether any revision of the quote is signed.
    pub signed: bool,
    /// The booking that stands, or else one that was called off after it was agreed, or else the latest missed one. `None`
    /// if there was nothing but holds that ended.
    pub booking: Option<Booked>,
    /// How far the work on the car is; `None` before the car has come.
    pub work: Option<Work>,
    /// State of a variation that is not answered: a draft, or one that is with the customer. `None` without one.
    pub variation: Option<VariationState>,
    /// The invoice that counts, or else one that was credited. `None` without one.
    pub invoice: Option<Bill>,
}

/// What comes next in a stay: one act, or nothing because it has ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Next {
    /// Somebody has to do something.
    Act(Act),
    /// The stay has ended.
    Done(Outcome),
}

impl Next {
    /// The act; `None` if the stay has ended.
    pub const fn act(self) -> Option<Act> {
        match self {
            Self::Act(act) => Some(act),
            Self::Done(_) => None,
        }
    }

    /// How the stay ended; `None` while something has to be done.
    pub const fn outcome(self) -> Option<Outcome> {
        match self {
            Self::Act(_) => None,
            Self::Done(outcome) => Some(outcome),
        }
    }

    /// What people read: the act, or how it ended.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Act(act) => act.label(),
            Self::Done(outcome) => outcome.label(),
        }
    }
}

impl Facts {
    /// What must happen next. A car that is here comes first, then an issued invoice, then the quote, and last the time.
    pub fn next_act(&self) -> Next {
        match self.booking.map(|booked| booked.state) {
            Some(BookingState::InBay) => Next::Act(self.in_bay()),
            // A draft that was never sent does not keep the car.
            Some(BookingState::Ready) if self.variation == Some(VariationState::Sent) => Next::Act(Act::SignVariation),
            Some(BookingState::Ready) => Next::Act(Act::HandOver),
            Some(BookingState::HandedOver) => self.billed().unwrap_or(Next::Act(self.to_invoice())),
            Some(BookingState::Held | BookingState::Booked) => self.offered(),
            // An invoice without a stay, such as a fee for a booking that was called off.
            Some(BookingState::Cancelled | BookingState::Missed) | None => {
                self.billed().unwrap_or_else(|| self.offered())
            }
        }
    }

    /// What the quote asks for, or the enquiry before it.
    fn offered(&self) -> Next {
        match self.quote {
            None => match self.enquiry {
                Some(EnquiryState::Closed) => Next::Done(Outcome::Closed),
                Some(EnquiryState::Open) => Next::Act(Act::Answer),
                Some(EnquiryState::Quoted) | None => Next::Act(self.unless_inspected(Act::WriteQuote)),
            },
            Some(RevisionState::Draft) => Next::Act(self.unless_inspected(Act::SendQuote)),
            Some(RevisionState::Sent) => Next::Act(Act::Sign),
            Some(RevisionState::Signed) => self.agreed(),
            Some(_) if self.signed => self.agreed(),
            Some(RevisionState::Declined) => Next::Done(Outcome::Declined),
            Some(RevisionState::Lapsed) => Next::Done(Outcome::Lapsed),
            Some(RevisionState::Withdrawn | RevisionState::Replaced) => Next::Done(Outcome::Withdrawn),
        }
    }

    /// The act, or the inspection that was begun and is not complete.
    fn unless_inspected(&self, act: Act) -> Act {
        if self.inspection == Some(InspectionState::Draft) { Act::Inspect } else { act }
    }

    /// What signed work asks for whose car is not here.
    fn agreed(&self) -> Next {
        let Some(booked) = self.booking else { return Next::Act(Act::Book) };
        match booked.state {
            BookingState::Held | BookingState::Booked if !booked.fits => Next::Act(Act::MoveBooking),
            BookingState::Held | BookingState::Booked if booked.deposit_due => Next::Act(Act::PayDeposit),
            BookingState::Held => Next::Act(Act::Confirm),
            BookingState::Booked => Next::Act(Act::Arrive),
            BookingState::Missed => Next::Act(Act::BookAgain),
            BookingState::Cancelled => Next::Done(Outcome::CalledOff),
            // Cars that have come are looked at before their quote.
            BookingState::InBay | BookingState::Ready | BookingState::HandedOver => Next::Act(Act::Book),
        }
    }

    /// What a car in its bay asks for.
    fn in_bay(&self) -> Act {
        if let Some(act) = self.variation_act() {
            return act;
        }
        match self.work {
            None | Some(Work::CanStart) => Act::StartStep,
            Some(Work::Running) => Act::FinishStep,
            Some(Work::Drying) => Act::LetDry,
            Some(Work::Settled) => Act::MakeReady,
        }
    }

    fn variation_act(&self) -> Option<Act> {
        match self.variation? {
            VariationState::Draft => Some(Act::SendVariation),
            VariationState::Sent => Some(Act::SignVariation),
            VariationState::Signed | VariationState::Declined => None,
        }
    }

    /// What an issued invoice asks for; `None` if there is none that counts.
    fn billed(&self) -> Option<Next> {
        let bill = self.invoice?;
        match bill.state {
            InvoiceState::Issued | InvoiceState::PartPaid => {
                Some(Next::Act(if bill.overdue { Act::Chase } else { Act::Pay }))
            }
            InvoiceState::Paid => Some(Next::Done(Outcome::Paid)),
            InvoiceState::WrittenOff => Some(Next::Done(Outcome::WrittenOff)),
            InvoiceState::Draft | InvoiceState::Credited => None,
        }
    }

    /// What a car that was handed over without an invoice asks for.
    fn to_invoice(&self) -> Act {
        let credited = self.invoice.is_some_and(|bill| bill.state == InvoiceState::Credited);
        if credited { Act::DecideCredited } else { Act::Invoice }
    }
}
