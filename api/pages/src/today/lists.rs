//! The short lists of what waits for somebody, each entry with what leads to its next act.

use baywright_core::platform::kept::Amount;
use baywright_core::platform::tx::Tx;
use baywright_core::today::usecase::{About, Entry, ShortList};
use baywright_domain::calendar::day_in_words;
use baywright_domain::visit::{Act, TodayList};

use crate::platform::Wall;
use crate::visit::act::{Way, ways};
use crate::visit::at;

/// A list as the page shows it.
pub(super) struct ListView {
    pub(super) id: &'static str,
    pub(super) label: &'static str,
    pub(super) entries: Vec<EntryView>,
    pub(super) count: String,
}

/// An entry of a list.
pub(super) struct EntryView {
    pub(super) who: String,
    pub(super) about: String,
    /// Address of the next act; empty if there is none.
    pub(super) address: String,
    pub(super) label: String,
}

/// The lists that have entries.
pub(super) fn views(tx: &Tx<'_>, lists: Vec<ShortList>, wall: &Wall) -> Vec<ListView> {
    let full = lists.into_iter().filter(|list| !list.entries.is_empty());
    full.map(|list| {
        let (id, label) = named(list.kind);
        let more = if list.more { "+" } else { "" };
        let count = format!("{}{more}", list.entries.len());
        ListView { id, label, count, entries: list.entries.into_iter().map(|entry| view(tx, entry, wall)).collect() }
    })
    .collect()
}

const fn named(list: TodayList) -> (&'static str, &'static str) {
    match list {
        TodayList::ToAnswer => ("to-answer", "To answer"),
        TodayList::ToSign => ("to-sign", "To sign"),
        TodayList::ToBook => ("to-book", "To book"),
        TodayList::DepositDue => ("deposit-due", "Deposit due"),
        TodayList::ToInvoice => ("to-invoice", "To invoice"),
        TodayList::Overdue => ("overdue", "Overdue"),
        TodayList::MailFailed => ("mail-failed", "Email failed"),
    }
}

fn view(tx: &Tx<'_>, entry: Entry, wall: &Wall) -> EntryView {
    let (address, label) = way(&entry);
    let plate = entry.registration.map(|plate| format!("({plate})"));
    let car = entry.vehicle_name.map(|car| plate.map_or_else(|| car.clone(), |plate| format!("{car} {plate}")));
    let due = entry.due_on.map(|day| match entry.about {
        About::Invoice(_) => format!("due on {}", day_in_words(day)),
        _ => format!("wanted by {}", day_in_words(day)),
    });
    let amount = entry.amount.map(|amount| Amount::of(amount, tx.studio.currency).to_string());
    let since = format!("since {}", wall.when(entry.created_at.minute()));
    let bay = entry.bay.map(|(_, bay)| bay);
    let title = Some(entry.title).filter(|title| !title.is_empty());
    let about = [car, title, bay, amount, due, Some(since)].into_iter().flatten().collect::<Vec<_>>().join(", ");
    EntryView { who: entry.customer_name, about, address, label }
}

/// Address and label of what leads to the next act of an entry.
fn way(entry: &Entry) -> (String, String) {
    match &entry.about {
        About::Enquiry(id) => return (format!("/new-car/{id}"), "Answer".to_owned()),
        About::Message(id) => return (format!("/mails/{id}"), "Correct and send again".to_owned()),
        About::Quote(_) | About::Invoice(_) => {}
    }
    let Some(quote) = &entry.visit else { return (String::new(), String::new()) };
    match ways(entry.act, quote, None, false).into_iter().next() {
        // A draft of the invoice may be there already, which only the stay itself knows.
        Some(Way::Do(_)) if matches!(entry.act, Act::Invoice | Act::DecideCredited) => {
            (at(quote), "Make the invoice".to_owned())
        }
        Some(Way::Do(verb)) => (verb.address(quote), verb.label().to_owned()),
        Some(Way::Go { address, label }) => (address, label.to_owned()),
        None => (at(quote), "Open this stay".to_owned()),
    }
}
