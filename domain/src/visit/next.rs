//! Rule for what must happen next in a stay.

use chrono::{DateTime, Utc};

use super::{Act, Outcome};
use crate::booking::BookingState;
use crate::enquiry::EnquiryState;
use crate::inspection::InspectionState;
use crate::invoice::State as InvoiceState;
use crate::job::{Job, JobState, StepState};
use crate::quote::RevisionState;
use crate::variation::VariationState;

/// Progress of the work on a car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// A step can be started.
    CanStart,
    /// Somebody is working on a step.
    Running,
    /// Nothing can be started until something has dried or cured.
    Drying,
    /// Every step is finished or removed.
    Settled,
}

impl Work {
    /// The progress of a job at a given time.
    pub fn of(job: &Job, now: DateTime<Utc>) -> Self {
        match () {
            () if job.state() == JobState::Ready => Self::Settled,
            () if job.steps.iter().any(|step| step.state == StepState::Running) => Self::Running,
            () if job.startable(now).is_empty() => Self::Drying,
            () => Self::CanStart,
        }
    }
}

/// The facts about a car's booking on which the next act depends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Booked {
    /// Current state.
    pub state: BookingState,
    /// Whether its time has room for everything that was signed.
    pub fits: bool,
    /// Whether a deposit was agreed and not received.
    pub deposit_due: bool,
}

/// The facts about an invoice on which the next act depends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bill {
    /// State of the invoice.
    pub state: InvoiceState,
    /// Whether its due date has passed.
    pub overdue: bool,
}

/// Facts about a stay. Each fact is about one record, so any of them may be missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Facts {
    /// State of the enquiry that it began with; `None` without one.
    pub enquiry: Option<EnquiryState>,
    /// State of the latest inspection before the work; `None` without one.
    pub inspection: Option<InspectionState>,
    /// Current state of the latest revision of the quote; `None` without a quote.
    pub quote: Option<RevisionState>,
    /// Whether any revision of the quote is signed.
    pub signed: bool,
    /// The current booking, or else one that was cancelled after it was agreed, or else the latest no-show. `None` if
    /// there were only holds that ended.
    pub booking: Option<Booked>,
    /// Progress of the work on the car; `None` before the car has come.
    pub work: Option<Work>,
    /// State of a variation that is not answered: a draft, or one that was sent. `None` without one.
    pub variation: Option<VariationState>,
    /// The invoice that counts, or else a credited one. `None` without one.
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

    /// The outcome of the stay; `None` while something has to be done.
    pub const fn outcome(self) -> Option<Outcome> {
        match self {
            Self::Act(_) => None,
            Self::Done(outcome) => Some(outcome),
        }
    }

    /// Text for people: the act, or the outcome.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Act(act) => act.label(),
            Self::Done(outcome) => outcome.label(),
        }
    }
}

impl Facts {
    /// The next act of a stay, or its outcome. A car that is here comes first, then an issued invoice, then the quote,
    /// and last the time.
    pub fn next_act(&self) -> Next {
        match self.booking.map(|booked| booked.state) {
            Some(BookingState::InBay) => Next::Act(self.in_bay()),
            // A draft that was never sent does not delay the hand-over.
            Some(BookingState::Ready) if self.variation == Some(VariationState::Sent) => Next::Act(Act::SignVariation),
            Some(BookingState::Ready) => Next::Act(Act::HandOver),
            Some(BookingState::HandedOver) => self.billed().unwrap_or(Next::Act(self.unbilled())),
            Some(BookingState::Held | BookingState::Booked) => self.offered(),
            // An invoice without a stay, such as a fee for a booking that was cancelled.
            Some(BookingState::Cancelled | BookingState::NoShow) | None => {
                self.billed().unwrap_or_else(|| self.offered())
            }
        }
    }

    /// Next act for the quote, or for the enquiry before it.
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

    /// Next act for signed work whose car is not here.
    fn agreed(&self) -> Next {
        let Some(booked) = self.booking else { return Next::Act(Act::Book) };
        match booked.state {
            BookingState::Held | BookingState::Booked if !booked.fits => Next::Act(Act::MoveBooking),
            BookingState::Held | BookingState::Booked if booked.deposit_due => Next::Act(Act::PayDeposit),
            BookingState::Held => Next::Act(Act::Confirm),
            BookingState::Booked => Next::Act(Act::Arrive),
            BookingState::NoShow => Next::Act(Act::BookAgain),
            BookingState::Cancelled => Next::Done(Outcome::CalledOff),
            // `next_act` handles cars that have come before it comes to the quote.
            BookingState::InBay | BookingState::Ready | BookingState::HandedOver => Next::Act(Act::Book),
        }
    }

    /// Next act for a car in its bay. A bay that is not kept until the work is done comes before the work, since others
    /// can book it.
    fn in_bay(&self) -> Act {
        if let Some(act) = self.variation_act() {
            return act;
        }
        if self.booking.is_some_and(|booked| !booked.fits) && self.work != Some(Work::Settled) {
            return Act::MoveBooking;
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

    /// Next act for an issued invoice; `None` if there is none that counts.
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

    /// Next act for a car that was handed over without an invoice.
    fn unbilled(&self) -> Act {
        let credited = self.invoice.is_some_and(|bill| bill.state == InvoiceState::Credited);
        if credited { Act::DecideCredited } else { Act::Invoice }
    }
}
