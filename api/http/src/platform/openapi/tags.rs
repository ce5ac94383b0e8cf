//! Descriptions of the features, for readers of the document.

use std::collections::BTreeSet;

use serde_json::{Value, json};

const ABOUT: &[(&str, &str)] = &[
    ("access", "Access: first setup, sign-in, sessions, invites, passwords, and tablets beside the bays."),
    ("amendment", "Later corrections: moves undone, times corrected, waits ended early."),
    ("booking", "Bookings of bays and people for signed quotes: free times, holds, moves and cancellations."),
    ("credit_note", "Credit notes on invoices, line by line, and corrections of invoices."),
    ("customer", "Private and trade customers, with their contact details and consents."),
    ("deposit", "Deposits: asking for them, reducing them, and settling those of jobs that were called off."),
    ("enquiry", "Enquiries: first contacts, with caller, vehicle, wish and date."),
    ("exchange", "Import and export of customers and vehicles as lists for a spreadsheet."),
    ("feed", "Calendar feeds: the diary of a bay or a person at a secret address."),
    ("inspection", "Inspections of vehicles: dirt, defects, paint depth and photographs."),
    ("invoice", "Invoices and deposit invoices, numbered without gaps and never changed once issued."),
    ("job", "Work on cars: steps with their times, notes, photographs and hand-over."),
    ("learning", "Comparison of finished jobs with the menu's budgets, and applying the result to the menu."),
    ("media", "Photographs and their thumbnails."),
    ("menu", "Menu of services with their steps, products, packages and prices, in dated revisions."),
    ("merge", "Merges of two records of one customer or vehicle, and undoing them."),
    ("message", "Mails of the shop: sent, waiting and failed."),
    ("payment", "Payments with the invoices that they settle, refunds and accounts of customers."),
    ("people", "People who work in the shop: roles, skills, working hours and absences."),
    ("plan", "Work plan of a signed quote: steps in order, with budgets and waits."),
    ("privacy", "Personal data of a customer: reading all of it, and erasing it at their wish."),
    ("quote", "Quotes: priced lines with their explanation, revisions and sending."),
    ("register", "Register of issued documents, and the series of their numbers."),
    ("reminder", "Reminders about bookings, quotes about to lapse, overdue invoices and coming back."),
    ("rescheduling", "Reschedulings: new places for the jobs of the next days, and accepting them."),
    ("search", "Search for records while typing."),
    ("shop", "Settings of the shop: profile, terms, taxes, hours, bays and rates."),
    ("signoff", "Links with which customers read, accept or decline a document."),
    ("system", "Health, metrics and API document of the program."),
    ("today", "Day at the shop: bays, people, jobs under way, and what waits for somebody."),
    ("variation", "Variations: changes of the signed work, agreed before it is done."),
    ("vehicle", "Vehicles of the shop's customers."),
    ("visit", "Visits: stays of cars from enquiry to payment, with what must happen next."),
    ("what_if", "Changes of the shop that are only supposed, and what they would do to the booked cars."),
];

/// The document's `tags`, for those that its operations use.
pub(super) fn described(used: &BTreeSet<String>) -> Value {
    let each = used.iter().map(|tag| {
        let about = ABOUT.iter().find(|(name, _)| name == tag).map_or("", |(_, about)| about);
        json!({ "name": tag, "description": about })
    });
    Value::Array(each.collect())
}
