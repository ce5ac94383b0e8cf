//! What each feature is about, for readers of the document.

use std::collections::BTreeSet;

use serde_json::{Value, json};

const ABOUT: &[(&str, &str)] = &[
    ("access", "Getting in: first setup, sign-in, refresh, invites, passwords."),
    ("amendment", "What was put right afterwards: moves undone, times corrected, waits ended early."),
    ("booking", "Bay and hands for a signed quote: free times, holds, bookings, and what becomes of them."),
    ("customer", "Private and trade customers, and how they may be reached."),
    ("enquiry", "First calls: who, which vehicle, what for and by when."),
    ("exchange", "Customers and vehicles as lists for a spreadsheet, in and out."),
    ("feed", "Diaries of a bay or a person for calendar programs, behind a secret link."),
    ("inspection", "What was found on a vehicle: soil, defects, paint depth, photographs."),
    ("invoice", "Invoices and credit notes: numbered without gaps, never changed once issued."),
    ("job", "The work itself: steps started and stopped, notes, photographs, hand-over."),
    ("learning", "What finished jobs say of the budgets on the menu, and taking it over."),
    ("media", "Photographs."),
    ("menu", "Services, their steps and products, packages and prices, as they hold from a date."),
    ("merge", "Two records of one customer or vehicle made one, and taken apart again."),
    ("message", "Mails that went out, that wait and that failed."),
    ("payment", "Money received and returned, and which invoice it settles."),
    ("people", "Who works here: roles, skills, shifts, absences."),
    ("plan", "The work plan of a signed quote: steps in order, with budgets and waits."),
    ("privacy", "What is held on one person: told to them, and erased at their wish."),
    ("proposal", "What if: all jobs of the next days placed anew, what moves, and the change of the diary to it."),
    ("quote", "Offers: priced lines with their explanation, revisions, sending."),
    ("reminder", "What is due: tomorrow's bookings, quotes about to lapse, overdue invoices."),
    ("search", "Customers and vehicles, found as one types."),
    ("shop", "The shop itself: profile, taxes, hours, bays, settings."),
    ("signoff", "A customer's yes or no, sealed with what was shown."),
    ("system", "The program: is it well, what does it count, what can it do."),
    ("variation", "More or less work than was signed, agreed before it is done."),
    ("vehicle", "Customers' vehicles."),
];

/// The document's `tags`, for those that its operations use.
pub(super) fn described(used: &BTreeSet<String>) -> Value {
    let each = used.iter().map(|tag| {
        let about = ABOUT.iter().find(|(name, _)| name == tag).map_or("", |(_, about)| about);
        json!({ "name": tag, "description": about })
    });
    Value::Array(each.collect())
}
