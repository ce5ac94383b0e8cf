//! The pages for customers who can no longer answer: each says what happened and what to do next.

use actix_web::HttpResponse;
use actix_web::http::StatusCode;
use baywright_core::booking;
use baywright_core::booking::usecase::Booking;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::Done;
use baywright_core::platform::tx::Tx;
use baywright_core::quote::kept::{QuoteDocument, QuoteStudio, QuoteTotals};
use baywright_core::quote::usecase::{OfferShown, Standing};
use baywright_core::signoff::usecase::Link;
use baywright_domain::booking::BookingState;
use baywright_domain::quote::RevisionState;
use baywright_domain::signoff::Method;
use baywright_domain::time::Minute;
use baywright_domain::variation::VariationState;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::problem::Problem;

use super::subject::called;
use super::text::{capital, day, last_day, moment};
use super::view::{Facts, NoticePage, SignedPage, TotalsView};
use super::visit::Stopped;
use crate::platform::{Frame, Reach, html};

/// Contact details of a studio, if its document has any.
fn reach(studio: &QuoteStudio) -> Option<Reach> {
    let has_any = !studio.phone.is_empty() || !studio.email.is_empty();
    has_any.then(|| Reach { name: studio.name.clone(), phone: studio.phone.clone(), email: studio.email.clone() })
}

/// Legal details of a studio: its legal name if it differs, its address and its VAT number.
fn imprint(studio: &QuoteStudio) -> Vec<String> {
    let legal = (!studio.legal_name.is_empty() && studio.legal_name != studio.name).then(|| studio.legal_name.clone());
    let address = (!studio.address.is_empty()).then(|| studio.address.join(", "));
    let vat = (!studio.vat_id.is_empty()).then(|| format!("VAT number {}", studio.vat_id));
    let mut lines: Vec<String> = [legal, address, vat].into_iter().flatten().collect();
    if !lines.is_empty() && studio.legal_name == studio.name {
        lines.insert(0, studio.name.clone());
    }
    lines
}

/// The frame of a page about an offer.
pub(super) fn frame(title: impl Into<String>, shown: &OfferShown, in_person: bool) -> Frame {
    let studio = &shown.document.studio;
    let title = format!("{} · {}", title.into(), studio.name);
    let frame = Frame::new(title, &studio.name);
    Frame { reach: reach(studio), imprint: imprint(studio), in_person, private: true, ..frame }
}

/// Obstacle to an answer.
pub(super) enum Obstacle {
    /// It was accepted.
    Signed(Box<Accepted>),
    /// Another state in which it can't be answered.
    Other,
}

/// An offer that was accepted, in its current state.
pub(super) struct Accepted {
    /// Totals of what was accepted.
    totals: QuoteTotals,
    /// Next step, depending on the progress of the work.
    next: String,
    /// First moment at which the work may begin, if that is in the future.
    not_before: Option<Minute>,
}

/// The obstacle to answering an offer, if there is one.
pub(super) fn obstacle(tx: &mut Tx<'_>, shown: &OfferShown) -> Done<Option<Obstacle>> {
    if let Some(signoff) = &shown.signoff {
        let (_, totals) = shown.price(&signoff.choices)?;
        let booking = booking::usecase::of_quote(tx, &shown.quote.id)?;
        let next = next(&shown.document, booking.as_ref());
        let not_before = shown.start.not_before.filter(|first| tx.now.minute() < *first);
        return Ok(Some(Obstacle::Signed(Box::new(Accepted { totals, next, not_before }))));
    }
    let open = shown.standing.is_open() && shown.is_current;
    Ok((!open).then_some(Obstacle::Other))
}

/// Next step after an acceptance. The page can be read again at any time, so it depends on the booking.
fn next(document: &QuoteDocument, booking: Option<&Booking>) -> String {
    let is_change = document.variation_of.is_some();
    match booking.map(|booking| booking.state) {
        Some(BookingState::Ready) => "The work is done, and your car is ready to collect.".to_owned(),
        Some(BookingState::HandedOver) => "The work is done, and you have your car back.".to_owned(),
        _ if is_change => "We carry on with the work, including this change.".to_owned(),
        Some(BookingState::InBay) => "Your car is with us.".to_owned(),
        Some(BookingState::Booked) => {
            let starts = booking.map(|booking| moment(&document.studio, UtcTime::from_minute(booking.place.starts)));
            format!("Your car is booked in for {}.", starts.unwrap_or_default())
        }
        Some(BookingState::Held | BookingState::Cancelled | BookingState::NoShow) | None => {
            "We will contact you to agree a time.".to_owned()
        }
    }
}

/// The page about the obstacle. `path` is its path with the code of its forms, `acting` whether somebody pressed a
/// button, and `typed` what they had entered.
pub(super) fn page(
    shown: &OfferShown,
    link: &Link,
    path: (&str, &str),
    obstacle: &Obstacle,
    acting: bool,
    typed: Vec<(String, String)>,
) -> Answer {
    let in_person = link.method == Method::InPerson;
    if let (Obstacle::Signed(accepted), Some(_)) = (obstacle, &shown.signoff) {
        return signed(shown, link, path, accepted, acting);
    }
    let document = &shown.document;
    let studio = &document.studio;
    let it = called(document);
    let this = capital(&it);
    let ask = match &document.variation_of {
        None => "Ask us for a new quote if you still want the work done.".to_owned(),
        Some(quote) => format!("We carry on with the work as agreed in quote {quote}."),
    };
    let when = shown.decided_at.map(|at| moment(studio, at)).unwrap_or_default();
    let (status, heading, paragraphs) = match shown.standing {
        Standing::Revision { state: RevisionState::Lapsed, until } => (
            StatusCode::GONE,
            format!("{this} is no longer valid"),
            vec![format!("It was valid until {}.", last_day(studio, until)), ask],
        ),
        Standing::Revision { state: RevisionState::Withdrawn, .. } => {
            (StatusCode::GONE, format!("{this} was withdrawn"), vec![format!("We withdrew it on {when}."), ask])
        }
        Standing::Revision { state: RevisionState::Declined, .. } | Standing::Variation(VariationState::Declined) => (
            if acting { StatusCode::CONFLICT } else { StatusCode::OK },
            format!("{this} was declined"),
            vec![format!("You declined it on {when}."), ask],
        ),
        Standing::Variation(_) => (
            StatusCode::CONFLICT,
            format!("{this} is no longer valid"),
            vec![
                "A newer version of the quote has been signed since. If you have questions, please contact us."
                    .to_owned(),
            ],
        ),
        Standing::Revision { .. } => (
            StatusCode::CONFLICT,
            format!("There is a newer version of {it}"),
            vec![
                "Open the link in our latest email to read and answer the new version.".to_owned(),
                format!("This is revision {}, which is no longer valid.", document.revision),
            ],
        ),
    };
    let page = NoticePage {
        frame: frame(heading.clone(), shown, in_person),
        heading,
        paragraphs,
        typed: typed.into_iter().filter(|(_, value)| !value.is_empty()).collect(),
        way_on: None,
    };
    html(status, &page)
}

/// The page after the acceptance; `acting` if somebody pressed the button again.
fn signed(shown: &OfferShown, link: &Link, (path, code): (&str, &str), accepted: &Accepted, acting: bool) -> Answer {
    let Some(signoff) = &shown.signoff else { return Err(Problem::unexpected()) };
    let document = &shown.document;
    let mailed = Some(link.contact.clone()).filter(|contact| contact.contains('@'));
    let page = SignedPage {
        frame: frame(format!("{} accepted", capital(&called(document))), shown, link.method == Method::InPerson),
        path: path.to_owned(),
        code: code.to_owned(),
        next: accepted.next.clone(),
        not_before: accepted.not_before.map(|first| day(&document.studio, UtcTime::from_minute(first))),
        agreed_later: shown.start.agreed_at.is_some(),
        early_start: document.early_start.clone().unwrap_or_default(),
        facts: Facts::of(document, &signoff.choices),
        totals: TotalsView::of(&accepted.totals, document),
        signed_at: moment(&document.studio, signoff.signed_at),
        typed_name: signoff.typed_name.clone(),
        method: signoff.method.label(),
        copy_to: mailed.or_else(|| document.customer.email.clone()),
        document_digest: signoff.document_digest.clone(),
        evidence_digest: signoff.evidence_digest.clone(),
        again: acting,
        newer: !shown.is_current,
    };
    html(if acting { StatusCode::CONFLICT } else { StatusCode::OK }, &page)
}

/// The page that answers a form about something other than the current offer.
pub(super) fn changed(shown: &OfferShown, link: &Link, path: &str, typed: Vec<(String, String)>) -> Answer {
    let page = NoticePage {
        frame: frame("Something has changed", shown, link.method == Method::InPerson),
        heading: "The quote has changed since you opened it".to_owned(),
        paragraphs: vec![
            "Please read the new version and choose again.".to_owned(),
            "Nothing was signed, because your form was for an earlier version.".to_owned(),
        ],
        typed: typed.into_iter().filter(|(_, value)| !value.is_empty()).collect(),
        way_on: Some(("Read the quote".to_owned(), path.to_owned())),
    };
    html(StatusCode::CONFLICT, &page)
}

/// A problem as a page of its own, with the studio's name and contact details, as far as they are known.
pub(crate) fn problem(stopped: &Stopped) -> Answer {
    let Stopped { problem, studio } = stopped;
    let status = problem.status();
    let known = studio.as_ref().filter(|studio| !studio.phone.is_empty() || !studio.email.is_empty());
    let name = studio.as_ref().map_or("the studio", |studio| studio.name.as_str());
    let (heading, text) = match status {
        StatusCode::NOT_FOUND => (
            "We don't know this link",
            format!("Check that the whole address was copied, or ask {name} to send the link again."),
        ),
        StatusCode::GONE => ("This link is no longer valid", format!("Ask {name} for a new one.")),
        StatusCode::FORBIDDEN => ("This form can't be used", problem.detail().to_owned()),
        // The problem's own text is for programs, or for the people who run this one.
        StatusCode::TOO_MANY_REQUESTS => {
            ("Too many attempts", "Please wait a minute, then open your link again.".to_owned())
        }
        StatusCode::SERVICE_UNAVAILABLE => (
            "Not available right now",
            format!("Please open your link again in a few minutes. If that does not help, contact {name}."),
        ),
        status if status.is_client_error() => ("This did not work", problem.detail().to_owned()),
        _ => ("Something went wrong here", format!("Nothing was changed. Try again in a moment, or contact {name}.")),
    };
    let page = NoticePage {
        frame: Frame {
            reach: known.cloned(),
            ..Frame::new(heading, studio.as_ref().map_or("", |studio| studio.name.as_str()))
        },
        heading: heading.to_owned(),
        paragraphs: vec![text],
        typed: Vec::new(),
        way_on: None,
    };
    let mut answer: HttpResponse = html(status, &page)?;
    for (name, value) in actix_web::ResponseError::error_response(problem).headers() {
        answer.headers_mut().insert(name.clone(), value.clone());
    }
    Ok(answer)
}
