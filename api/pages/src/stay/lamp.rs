//! What the page says on top: the moment of the stay, and the one thing to do now.

use baywright_core::booking::usecase::{Booking, Promised};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::kept::Amount;
use baywright_core::stay::usecase::Stay;
use baywright_domain::calendar::{ZoneRules, day_in_full};
use baywright_domain::money::Money;
use baywright_domain::stay::{Moment, Progress};
use baywright_domain::time::Minute;

use super::view::TimeView;

/// The part of the page on top.
#[derive(Debug, Clone, Default)]
pub(super) struct Lamp {
    /// Whether the customer has something to do.
    pub(super) your_turn: bool,
    pub(super) heading: String,
    pub(super) paragraphs: Vec<String>,
    /// Label and value of what to know now.
    pub(super) facts: Vec<(String, String)>,
    /// Times to choose from.
    pub(super) times: Vec<TimeView>,
    /// Form that leads to what is to be answered: the end of its address, and the label of its button.
    pub(super) leads: Option<(&'static str, &'static str)>,
    /// Whether the booked time can be added to a calendar.
    pub(super) calendar: bool,
    /// The invoice that is to be paid: address and label of the link.
    pub(super) invoice: Option<(String, String)>,
}

impl Lamp {
    /// The top of the page at `path`; `chosen` is the time that was chosen before.
    pub(super) fn of(stay: &Stay, path: &str, chosen: &str) -> Self {
        let lamp = Self { your_turn: stay.moment.is_customers_turn(), ..said(stay) };
        match stay.moment {
            Moment::PickTime => Self { times: times(stay, chosen), ..lamp },
            Moment::AnswerQuote => Self { leads: Some(("quote", "Read and answer")), ..lamp },
            Moment::AnswerChange => Self { leads: Some(("change", "Read and answer")), ..lamp },
            Moment::Collect | Moment::Pay => Self { invoice: to_pay(stay, path), ..lamp },
            moment => Self { calendar: moment.is_ahead(), ..lamp },
        }
    }
}

/// A time in full, in the shop's zone.
pub(super) fn at(stay: &Stay, minute: Minute) -> String {
    stay.settings.zone.wall_in_full(minute)
}

/// An amount in the shop's currency.
pub(super) fn amount(stay: &Stay, money: Money) -> String {
    Amount::of(money, stay.settings.currency).to_string()
}

fn times(stay: &Stay, chosen: &str) -> Vec<TimeView> {
    let view = |found: &Promised| {
        let value = UtcTime::from_minute(found.visit.start).to_string();
        TimeView { start: at(stay, found.visit.start), ready: at(stay, found.at), chosen: value == chosen, value }
    };
    stay.times.iter().map(view).collect()
}

/// The first invoice with an unpaid amount.
fn to_pay(stay: &Stay, path: &str) -> Option<(String, String)> {
    let open = stay.invoices.iter().find(|invoice| !invoice.account.open.is_zero())?;
    let number = open.number.as_deref().unwrap_or_default();
    Some((format!("{path}/invoices/{}", open.id), format!("Open invoice {number}")))
}

fn fact(label: &str, value: String) -> (String, String) {
    (label.to_owned(), value)
}

/// Heading, sentences and facts of the moment.
fn said(stay: &Stay) -> Lamp {
    let lamp = |heading: &str, paragraphs: Vec<String>, facts: Vec<(String, String)>| Lamp {
        heading: heading.to_owned(),
        paragraphs,
        facts,
        ..Lamp::default()
    };
    let one = |text: &str| vec![text.to_owned()];
    match stay.moment {
        Moment::AwaitQuote => lamp(
            "We are preparing a new version of your quote",
            one("You get an email when you can read it. Until then, what you accepted stays agreed."),
            Vec::new(),
        ),
        Moment::AnswerQuote => lamp(
            "There is a new version of your quote",
            one("Read it and let us know. Until you accept it, what you accepted before stays agreed."),
            Vec::new(),
        ),
        Moment::PickTime => lamp("When shall we see you?", waiting(stay), Vec::new()),
        Moment::AwaitTime => {
            let mut paragraphs = one("Call us, or write below when it suits you. We also contact you to agree a time.");
            paragraphs.extend(waiting(stay));
            lamp("Let us agree a time", paragraphs, Vec::new())
        }
        Moment::Held => lamp(
            "We are keeping a time for you",
            one("It is not confirmed yet. You get an email as soon as it is."),
            booked(stay),
        ),
        Moment::Booked => {
            let paragraphs = one("Before you come, please take valuables and child seats out of the car.");
            lamp("Your time is booked", paragraphs, booked(stay))
        }
        Moment::AwaitNewTime => lamp(
            "We will contact you about the time",
            one("What you ordered takes longer than the time that is booked. We look for one that fits."),
            booked(stay),
        ),
        Moment::Work => work(stay),
        Moment::AnswerChange => change(stay),
        Moment::Collect => collect(stay),
        Moment::AwaitInvoice => {
            lamp("You have your car back", one("Thank you for coming to us. Your invoice follows."), Vec::new())
        }
        Moment::Pay => {
            let heading = format!("{} to pay", amount(stay, stay.owed));
            lamp(&heading, one("The invoice says how to pay. If you have paid already, thank you."), due(stay))
        }
        Moment::Finished => lamp("Everything is done", one("Thank you for coming to us."), Vec::new()),
        Moment::CalledOff => lamp(
            "Your booking is cancelled",
            one("You do not need to do anything. If you would like another time, please contact us."),
            Vec::new(),
        ),
        Moment::Ended => {
            lamp("This order has ended", one("If you still want the work done, please contact us."), Vec::new())
        }
    }
}

/// The day before which no work may start, if the customer asked to wait.
fn waiting(stay: &Stay) -> Vec<String> {
    let first = stay.not_before.map(|first| day_in_full(stay.settings.zone.to_local(first).date()));
    let said = first.map(|day| {
        format!("You have 14 days to cancel, and you asked us to wait until they are over. We start on {day} or later.")
    });
    said.into_iter().collect()
}

fn booked(stay: &Stay) -> Vec<(String, String)> {
    let Some(booking) = &stay.visit.booking else { return Vec::new() };
    let mut facts = vec![
        fact("Bring your car", at(stay, booking.place.starts)),
        fact("It is ready by", at(stay, booking.place.promised)),
    ];
    if let (Some(deposit), None) = (booking.deposit, booking.deposit_received_at) {
        facts.push(fact("Deposit to pay", amount(stay, deposit)));
    }
    facts
}

fn ready_by(stay: &Stay, booking: Option<&Booking>) -> Vec<(String, String)> {
    booking.map(|booking| fact("It is ready by", at(stay, booking.place.promised))).into_iter().collect()
}

fn work(stay: &Stay) -> Lamp {
    let begun = stay.steps.iter().any(|step| !matches!(step.progress, Progress::Next | Progress::Later));
    let heading = if begun { "We are working on it" } else { "Your car is with us" };
    Lamp {
        heading: heading.to_owned(),
        paragraphs: waiting(stay),
        facts: ready_by(stay, stay.visit.booking.as_ref()),
        ..Lamp::default()
    }
}

fn change(stay: &Stay) -> Lamp {
    let mut lamp = Lamp { heading: "We suggest a change".to_owned(), ..Lamp::default() };
    let Some(change) = &stay.change else { return lamp };
    if !change.reason.is_empty() {
        lamp.paragraphs.push(change.reason.clone());
    }
    lamp.paragraphs.push(
        "We do not start on it before you accept. If you decline, we carry on with the work as agreed.".to_owned(),
    );
    let price = change.price.as_ref().map(|price| fact("Change in price, including VAT", price.more()));
    let total = change.total.as_ref().map(|total| fact("New total, including VAT", total.to_string()));
    let ready = match change.ready {
        Some(ready) => at(stay, ready.minute()),
        None => "We will let you know".to_owned(),
    };
    lamp.facts = price.into_iter().chain(total).chain([fact("Ready by, with the change", ready)]).collect();
    lamp
}

fn collect(stay: &Stay) -> Lamp {
    let mut lamp = Lamp {
        heading: "Your car is ready".to_owned(),
        paragraphs: vec!["The work is done. You can collect your car while we are open.".to_owned()],
        ..Lamp::default()
    };
    if stay.owed.is_zero() {
        let price = stay.agreed.filter(|_| stay.invoices.is_empty());
        lamp.facts.extend(price.map(|agreed| fact("Agreed, including VAT", amount(stay, agreed))));
    } else {
        lamp.facts.push(fact("To pay", amount(stay, stay.owed)));
        lamp.facts.extend(due(stay));
    }
    lamp
}

/// The last day to pay in time, of the invoice that is due first.
fn due(stay: &Stay) -> Vec<(String, String)> {
    let open = stay.invoices.iter().filter(|invoice| !invoice.account.open.is_zero());
    let first = open.filter_map(|invoice| invoice.due_on).min();
    first.map(|day| fact("Please pay by", day_in_full(day))).into_iter().collect()
}
