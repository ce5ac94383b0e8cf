//! The pages for everybody who can't answer any more: each says what happened and how to go on.

use actix_web::HttpResponse;
use actix_web::http::StatusCode;
use baywright_domain::quote::RevisionState;
use baywright_domain::signoff::Method;

use super::subject::called;
use super::text::{capital, last_day, moment};
use super::view::{Facts, NoticePage, SignedPage, TotalsView};
use crate::pages::{Frame, html};
use crate::platform::answer::Answer;
use crate::platform::fail::Done;
use crate::platform::problem::Problem;
use crate::quote::form::{QuoteStudio, QuoteTotals};
use crate::quote::usecase::OfferShown;
use crate::signoff::usecase::Link;

/// How to reach a studio, as far as it says.
fn contact(studio: &QuoteStudio) -> Option<String> {
    let ways: Vec<&str> =
        [studio.phone.as_str(), studio.email.as_str()].into_iter().filter(|w| !w.is_empty()).collect();
    (!ways.is_empty()).then(|| format!("{}: {}", studio.name, ways.join(", ")))
}

/// The frame of a page about an offer.
pub(super) fn frame(title: impl Into<String>, shown: &OfferShown, in_person: bool) -> Frame {
    let studio = &shown.document.studio;
    let title = format!("{} · {}", title.into(), studio.name);
    Frame { contact: contact(studio), in_person, ..Frame::new(title, &studio.name) }
}

/// What stands in the way of an answer.
pub(super) enum Obstacle {
    /// It was accepted; its totals.
    Signed(Box<QuoteTotals>),
    /// Something else.
    Other,
}

/// What stands in the way of answering an offer, if anything.
pub(super) fn obstacle(shown: &OfferShown) -> Done<Option<Obstacle>> {
    if let Some(signoff) = &shown.signoff {
        let (_, totals) = shown.price(&signoff.choices)?;
        return Ok(Some(Obstacle::Signed(Box::new(totals))));
    }
    let open = shown.state == RevisionState::Sent && shown.is_current;
    Ok((!open).then_some(Obstacle::Other))
}

/// The page that says what stands in the way. `acting` is whether somebody pressed a button; `typed` is what they had
/// entered.
pub(super) fn page(
    shown: &OfferShown,
    link: &Link,
    path: &str,
    obstacle: &Obstacle,
    acting: bool,
    typed: Vec<(String, String)>,
) -> Answer {
    let in_person = link.method == Method::InPerson;
    if let (Obstacle::Signed(totals), Some(_)) = (obstacle, &shown.signoff) {
        return signed(shown, link, path, totals, acting);
    }
    let document = &shown.document;
    let studio = &document.studio;
    let it = called(document);
    let this = capital(&it);
    let ask = match &document.variation_of {
        None => "Ask the studio for a new quote if you still want the work done.".to_owned(),
        Some(quote) => format!("The work goes on as it was agreed in quote {quote}."),
    };
    let when = shown.decided_at.map(|at| moment(studio, at)).unwrap_or_default();
    let (status, heading, paragraphs) = match shown.state {
        RevisionState::Lapsed => (
            StatusCode::GONE,
            format!("{this} has lapsed"),
            vec![format!("It held until the end of {}.", last_day(studio, shown.until)), ask],
        ),
        RevisionState::Withdrawn => (
            StatusCode::GONE,
            format!("{this} was withdrawn"),
            vec![format!("The studio took it back on {when}."), ask],
        ),
        RevisionState::Declined => (
            if acting { StatusCode::CONFLICT } else { StatusCode::OK },
            format!("{this} was declined"),
            vec![format!("It was declined on {when}."), ask],
        ),
        _ if document.variation_of.is_some() => (
            StatusCode::CONFLICT,
            format!("{this} counts no more"),
            vec!["A later revision of the quote was signed since. Ask the studio what holds now.".to_owned()],
        ),
        _ => (
            StatusCode::CONFLICT,
            format!("There is a newer version of {it}"),
            vec![
                format!("This is revision {}, which counts no more.", document.revision),
                "Open the link in the studio's latest message to read and answer the new one.".to_owned(),
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

/// The page after the yes; `acting` where somebody pressed the button once more.
fn signed(shown: &OfferShown, link: &Link, path: &str, totals: &QuoteTotals, acting: bool) -> Answer {
    let Some(signoff) = &shown.signoff else { return Err(Problem::unexpected()) };
    let document = &shown.document;
    let mailed = Some(link.contact.clone()).filter(|contact| contact.contains('@'));
    let page = SignedPage {
        frame: frame(format!("{} accepted", capital(&called(document))), shown, link.method == Method::InPerson),
        path: path.to_owned(),
        facts: Facts::of(document, &signoff.choices),
        totals: TotalsView::of(totals, document),
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

/// The page where the form speaks of something else than what is on offer.
pub(super) fn changed(shown: &OfferShown, link: &Link, path: &str, typed: Vec<(String, String)>) -> Answer {
    let page = NoticePage {
        frame: frame("Something has changed", shown, link.method == Method::InPerson),
        heading: "This is not what you had before you".to_owned(),
        paragraphs: vec![
            "The form speaks of another version than the one that is on offer, so nothing was signed.".to_owned(),
            "Read what is offered now, and choose once more.".to_owned(),
        ],
        typed: typed.into_iter().filter(|(_, value)| !value.is_empty()).collect(),
        way_on: Some(("Read what is offered".to_owned(), path.to_owned())),
    };
    html(StatusCode::CONFLICT, &page)
}

/// A problem as a page of its own.
pub(super) fn problem(problem: &Problem) -> Answer {
    let status = problem.status();
    let (heading, text) = match status {
        StatusCode::NOT_FOUND => (
            "We don't know this link",
            "Check that the whole address was copied, or ask the studio to send it again.".to_owned(),
        ),
        StatusCode::GONE => ("This link has ended", problem.detail().to_owned()),
        StatusCode::FORBIDDEN => ("This form can't be used", problem.detail().to_owned()),
        StatusCode::TOO_MANY_REQUESTS => ("Too many tries", problem.detail().to_owned()),
        StatusCode::SERVICE_UNAVAILABLE => ("Not just now", problem.detail().to_owned()),
        status if status.is_client_error() => ("This did not work", problem.detail().to_owned()),
        _ => ("Something went wrong here", "Nothing was changed. Try again in a moment, or ask the studio.".to_owned()),
    };
    let page = NoticePage {
        frame: Frame::new(heading, ""),
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
