//! Events of the shop's log as people read them.

use baywright_core::visit::usecase::Event;

use crate::platform::Wall;

/// An event as the page shows it.
#[derive(Debug, Clone)]
pub(super) struct EventView {
    /// When it happened.
    pub(super) when: String,
    /// The event in words.
    pub(super) what: String,
    /// Who did it; empty if nobody is known.
    pub(super) who: String,
}

impl EventView {
    /// The event, or `None` if it only repeats another one.
    pub(super) fn of(event: &Event, wall: &Wall) -> Option<Self> {
        let what = said(&event.action)?;
        let who = match event.actor_kind.as_str() {
            "PERSON" => event.person.clone().unwrap_or_default(),
            "CUSTOMER" => "the customer".to_owned(),
            "CLOCKWORK" => "automatically".to_owned(),
            _ => "from the command line".to_owned(),
        };
        Some(Self { when: wall.when(event.at.minute()), what, who })
    }
}

/// What happened, in words; `None` for what another event of the same moment says better.
fn said(action: &str) -> Option<String> {
    let words = match action {
        "signoff.sealed" | "message.queued" | "job.handed-over" | "booking.entered-bay" | "plan.made" => return None,
        "enquiry.taken" => "Enquiry noted",
        "enquiry.changed" => "Enquiry changed",
        "enquiry.quoted" => "Quote made from the enquiry",
        "enquiry.closed" => "Enquiry closed",
        "enquiry.customer-added" => "Caller added as a customer",
        "inspection.added" => "Inspection begun",
        "inspection.changed" => "Inspection continued",
        "inspection.completed" => "Inspection completed",
        "inspection.paint_decided" => "Decided about the paint",
        "quote.written" => "Quote written",
        "quote.changed" => "Quote changed",
        "quote.revised" => "New revision of the quote opened",
        "quote.sent" => "Quote sent",
        "quote.sent-again" => "Quote sent again",
        "quote.signed" => "Quote signed",
        "quote.declined" => "Quote declined",
        "quote.withdrawn" => "Quote withdrawn",
        "quote.lapsed" => "Quote no longer valid",
        "quote.early-start-agreed" => "Agreed to an early start",
        "link.issued" => "Link to the customer's page made",
        "link.opened" => "Customer's page opened",
        "booking.held" => "Time held",
        "booking.booked" => "Time booked",
        "booking.moved" => "Booking moved",
        "booking.cancelled" => "Booking cancelled",
        "booking.lapsed" => "Held time given up",
        "booking.no-show" => "Car did not come",
        "booking.deposit-received" => "Deposit received",
        "booking.deposit-changed" => "Deposit changed",
        "booking.arrived" => "Car taken in",
        "booking.ready" => "Car declared ready",
        "booking.handed-over" => "Car handed over",
        "booking.undone" => "Last move undone",
        "booking.left-bay" => "Car driven out of the bay",
        "booking.in-bay-again" => "Car in the bay again",
        "booking.agreed-longer" | "booking.overran" => "Bay kept for longer",
        "booking.fit-changed" => "Booked time checked against the signed work",
        "job.begun" => "Work begins",
        "job.noted" => "Note or photograph added",
        "job.replanned" => "Work planned anew",
        "job.set-aside" => "Work set aside",
        "job.step-undone" => "Last move of a step undone",
        "job.step-started" => "A step started",
        "job.step-stopped" => "A step stopped for now",
        "job.step-finished" => "A step finished",
        "job.step-removed" => "A step left out",
        "job.wait-ended" => "Drying or curing ended early",
        "job.times-corrected" => "Times of a step corrected",
        "variation.written" => "Variation written",
        "variation.changed" => "Variation changed",
        "variation.sent" => "Variation sent",
        "variation.signed" => "Variation signed",
        "variation.declined" => "Variation declined",
        "invoice.drafted" => "Invoice drafted",
        "invoice.redrafted" => "Invoice drafted again",
        "invoice.issued" => "Invoice issued",
        "invoice.mailed" => "Invoice sent",
        "invoice.paid" => "Invoice paid, in part or in full",
        "invoice.written-off" => "Unpaid amount written off",
        "payment.recorded" => "Payment recorded",
        "message.sent" => "Email sent",
        "message.failed" => "Email failed",
        "message.queued-again" => "Email sent again",
        "reminder.given" => "Reminder sent",
        other => return Some(plain(other)),
    };
    Some(words.to_owned())
}

/// The name of an event of another feature, with spaces and a capital letter: `job.step_begun` becomes `Job step begun`.
fn plain(action: &str) -> String {
    let text = action.replace(['.', '-', '_'], " ");
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn events_are_said_in_words_and_nothing_is_said_twice() {
        assert_eq!(said("booking.handed-over").as_deref(), Some("Car handed over"));
        assert_eq!(said("job.handed-over"), None);
        assert_eq!(said("job.step_begun").as_deref(), Some("Job step begun"));
    }
}
