//! What the form of a verb asks, with what is known already filled in.

mod customer;
mod money;

use baywright_core::booking::usecase::Booking;
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::settings;
use baywright_core::visit::usecase::Told;

pub(super) use customer::unanswered;
pub(super) use money::of_visit as invoice_of;

use super::act::Verb;
use crate::platform::Wall;
use crate::platform::form::{Fields, Input};

/// The form of a verb.
#[derive(Debug, Clone, Default)]
pub(super) struct Asked {
    pub(super) heading: &'static str,
    /// What it does, and when to do it; empty if the heading says all.
    pub(super) lead: String,
    /// What it is about, each fact with its label.
    pub(super) facts: Vec<(String, String)>,
    /// What is read to the customer.
    pub(super) aloud: Vec<String>,
    pub(super) inputs: Vec<Input>,
    /// What is filled in already, with the version and the id of the record that was seen.
    pub(super) fields: Fields,
    pub(super) button: &'static str,
}

impl Asked {
    /// The form of a verb that changes a record of that id and version.
    fn of(verb: Verb, record: &str, version: i64) -> Self {
        Self {
            heading: verb.label(),
            button: verb.label(),
            inputs: vec![Input::hidden("record")],
            fields: Fields::of_record([("record", record.to_owned()), ("version", version.to_string())]),
            ..Self::default()
        }
    }

    fn lead(self, lead: impl Into<String>) -> Self {
        Self { lead: lead.into(), ..self }
    }

    fn facts(self, facts: Vec<(String, String)>) -> Self {
        Self { facts, ..self }
    }

    fn aloud(self, aloud: Vec<String>) -> Self {
        Self { aloud, ..self }
    }

    fn input(mut self, input: Input) -> Self {
        self.inputs.push(input);
        self
    }

    fn filled(self, name: &'static str, value: impl Into<String>) -> Self {
        let fields = self.fields.and(Fields::of_record([(name, value.into())]));
        Self { fields, ..self }
    }

    fn button(self, button: &'static str) -> Self {
        Self { button, ..self }
    }
}

/// The form of a verb on that visit.
///
/// # Errors
/// `Conflict` if the visit has no record that the verb could change.
pub(super) fn asked(tx: &mut Tx<'_>, told: &Told, verb: Verb) -> Done<Asked> {
    match verb {
        Verb::Send
        | Verb::SendAgain
        | Verb::Accepted
        | Verb::Declined
        | Verb::Withdraw
        | Verb::SendVariation
        | Verb::VariationAccepted
        | Verb::VariationDeclined => customer::asked(tx, told, verb),
        Verb::Invoice | Verb::Issue | Verb::MailInvoice | Verb::Payment => money::asked(tx, told, verb),
        Verb::Confirm
        | Verb::Deposit
        | Verb::Arrive
        | Verb::NoShow
        | Verb::Cancel
        | Verb::Ready
        | Verb::HandOver
        | Verb::Undo => of_booking(tx, told, verb),
    }
}

/// The booking of a visit.
///
/// # Errors
/// `Conflict` if it has none.
pub(super) fn booking(told: &Told) -> Result<&Booking, Refused> {
    let none = || Refused::conflict("wrong-state", "This stay has no booking. Choose a time for it first.");
    told.visit.booking.as_ref().ok_or_else(none)
}

fn reason() -> Input {
    Input::line("reason", "Reason")
}

fn of_booking(tx: &mut Tx<'_>, told: &Told, verb: Verb) -> Done<Asked> {
    let booking = booking(told)?;
    let wall = Wall::of(tx)?;
    let form = Asked::of(verb, booking.id.as_str(), booking.version);
    let booked = vec![
        ("Booked for".to_owned(), wall.when(booking.place.starts)),
        ("Promised".to_owned(), wall.when(booking.place.promised)),
    ];
    Ok(match verb {
        Verb::Confirm => form.lead("The customer is told by email that the time is booked.").facts(booked),
        Verb::Deposit => form.lead("Record that the agreed deposit was received.").facts(booked),
        Verb::Arrive => form.lead("The car is here, and its work can begin.").facts(booked),
        Verb::NoShow => form.lead("The bay is free again. You can agree on a new time afterwards.").facts(booked),
        Verb::Ready => form.lead("All work is done, and the customer can have the car.").facts(booked),
        Verb::Cancel => form
            .lead("The bay is free again, and the customer is told by email.")
            .facts(booked)
            .input(reason().hint("The customer reads it in the email.")),
        Verb::HandOver => {
            let quote = baywright_core::quote::usecase::show(tx, &told.visit.head.quote)?;
            let advice = quote.revision.document.map(|document| document.cautions.join(" ")).unwrap_or_default();
            let points = [("keys", "Keys and papers returned"), ("walk-round", "Walked round the car together")];
            let points = points.map(|(value, label)| (value.to_owned(), label.to_owned())).to_vec();
            form.input(Input::line("received_by", "Who takes the car"))
                .input(Input::short("odometer", "Odometer reading").optional())
                .input(Input::ticks("checklist", "Done", points))
                .input(
                    Input::line("aftercare", "Advice for the next days")
                        .hint("What you told the customer. Follow the labels of the products that were used.")
                        .optional(),
                )
                .input(Input::line("note", "Note").optional())
                .filled("received_by", told.visit.head.customer_name.clone())
                .filled("aftercare", advice)
        }
        _ => {
            let free = settings(tx)?.terms.undo;
            let last = booking.last_move().ok_or_else(|| {
                Refused::conflict("nothing-to-undo", "There is no move of this booking that can be undone.")
            })?;
            form.lead("The booking is again as it was before. If the customer was told by email, they are told again.")
                .facts(vec![(
                    "Last move".to_owned(),
                    format!("{}, {}", last.what.label(), wall.when(last.at.minute())),
                )])
                .input(reason().hint(format!("Needed once the move is more than {free} ago.")).optional())
        }
    })
}
