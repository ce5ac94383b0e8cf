//! Reading the offer, choosing, and checking before signing.

use actix_web::http::StatusCode;
use actix_web::{HttpRequest, get};
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::refusal::{FieldFault, Refused};
use baywright_core::platform::tx::Tx;
use baywright_core::quote::kept::QuoteTotals;
use baywright_core::quote::usecase::OfferShown;
use baywright_core::signoff::usecase::{Link, Purpose};
use baywright_core::{answer, booking};
use baywright_domain::signoff::Method;
use baywright_http::platform::answer::Answer;

use super::blocked::{self, Obstacle, frame, obstacle};
use super::choice::{Choice, Fields, faults_of, with_ticked};
use super::entered::Entered;
use super::subject;
use super::text::{capital, moment};
use super::view::{CheckPage, Facts, FaultView, OfferPage, TotalsView, looked_at};
use super::visit::Visit;
use crate::platform::{html, see_other};

/// The offer behind a link, with the price of a choice.
pub(super) struct Found {
    pub(super) shown: OfferShown,
    pub(super) link: Link,
    pub(super) obstacle: Option<Obstacle>,
    /// Whether the customer is asked if work may start within the 14 days.
    pub(super) asks_early_start: bool,
    /// The price of the ticked lines, or their faults.
    pub(super) price: Result<QuoteTotals, Refused>,
    /// First possible time of the choice, where a page shows it.
    pub(super) soonest: Option<Soonest>,
}

/// The offer behind a link.
pub(super) fn find(tx: &mut Tx<'_>, link: &Link, ticked: &[usize]) -> Done<Found> {
    let shown = answer::usecase::offer(tx, link)?;
    let obstacle = obstacle(tx, &shown)?;
    let price = match shown.price(ticked) {
        Ok((_, totals)) => Ok(totals),
        Err(Fail::Refused(problem)) => Err(*problem),
        Err(other) => return Err(other),
    };
    let asks_early_start = shown.asks_early_start(link.method, tx.now);
    Ok(Found { shown, link: link.clone(), obstacle, asks_early_start, price, soonest: None })
}

/// First possible time of a choice, in words.
pub(super) struct Soonest {
    /// Start of the work.
    pub(super) start: String,
    /// Time by which the car is then ready.
    pub(super) ready: String,
    /// Whether the time is possible only if work may start within the 14 days.
    pub(super) if_early: bool,
}

/// First possible time of the ticked lines, with the required ones. `None` if none is known, the work is booked already, or a
/// newer version of the quote is being written.
fn soonest(tx: &mut Tx<'_>, found: &Found, ticked: &[usize]) -> Done<Option<Soonest>> {
    let shown = &found.shown;
    let is_quote = found.link.subject.purpose == Purpose::Quote;
    let is_latest = shown.is_current && shown.document.revision == shown.quote.latest;
    let is_open = found.obstacle.is_none() && found.price.is_ok() && shown.booked_for.is_none();
    if !(is_quote && is_latest && is_open) {
        return Ok(None);
    }
    let time = match booking::usecase::first_time_of_choice(tx, &shown.quote.id, ticked) {
        Ok(time) => time,
        // What can't be planned has no time to show; the desk learns why.
        Err(Fail::Refused(_)) => None,
        Err(other) => return Err(other),
    };
    let studio = &shown.document.studio;
    Ok(time.map(|time| Soonest {
        start: moment(studio, UtcTime::from_minute(time.visit.start)),
        ready: moment(studio, UtcTime::from_minute(time.at)),
        if_early: found.asks_early_start,
    }))
}

/// The path of a visit's page.
pub(super) fn path(visit: &Visit) -> String {
    format!("/q/{}", visit.token)
}

/// The whole offer.
#[get("/q/{token}")]
pub(super) async fn show(visit: Visit, request: HttpRequest) -> Answer {
    let ticked = Fields::of_query(request.query_string()).ticked();
    let found = visit.read({
        let ticked = ticked.clone();
        move |tx, link| {
            let found = find(tx, link, &ticked)?;
            let soonest = soonest(tx, &found, &ticked)?;
            Ok(Found { soonest, ..found })
        }
    });
    match found.await {
        Ok(found) => offered(&visit, found, &ticked, false),
        Err(stopped) => blocked::problem(&stopped),
    }
}

/// The offer, with the faults of the choice if there are any. Without a tick nothing needs correcting yet, unless the
/// customer wants to continue.
fn offered(visit: &Visit, found: Found, ticked: &[usize], going_on: bool) -> Answer {
    let Found { shown, link, obstacle, price, soonest, .. } = found;
    let path = path(visit);
    if let Some(obstacle) = obstacle {
        return blocked::page(&shown, &link, (&path, &visit.form_code()), &obstacle, false, Vec::new());
    }
    let (totals, faults) = match &price {
        Ok(totals) => (Some(TotalsView::of(totals, &shown.document)), Vec::new()),
        Err(_) if ticked.is_empty() && !going_on => (None, Vec::new()),
        Err(problem) => (None, faults_of(problem).iter().map(FaultView::from).collect()),
    };
    let wrong = !faults.is_empty();
    let title = format!("{}{}", if wrong { "Error: " } else { "" }, capital(&subject::called(&shown.document)));
    let page = OfferPage {
        frame: frame(title, &shown, link.method == Method::InPerson).with_sign_script(),
        code: visit.form_code(),
        facts: Facts::of(&shown.document, ticked),
        looked_at: looked_at(&shown.document),
        document: shown.document,
        path,
        totals,
        soonest,
        faults,
    };
    html(if wrong { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK }, &page)
}

/// The choice for a last check, with the form that signs.
#[get("/q/{token}/check")]
pub(super) async fn check(visit: Visit, request: HttpRequest) -> Answer {
    let fields = Fields::of_query(request.query_string());
    let (ticked, entered) = (fields.ticked(), Entered::of_query(&fields));
    let found = visit.read({
        let (ticked, entered) = (ticked.clone(), entered.clone());
        move |tx, link| {
            let found = find(tx, link, &ticked)?;
            let faults = match &entered {
                Some(entered) => faults_in(tx, &found, &ticked, entered)?,
                None => Vec::new(),
            };
            Ok((found, faults))
        }
    });
    match found.await {
        Ok((found, faults)) if found.obstacle.is_none() && found.price.is_ok() => {
            checked(&visit, found, &ticked, entered.unwrap_or_default(), &faults)
        }
        Ok((found, _)) => offered(&visit, found, &ticked, true),
        Err(stopped) => blocked::problem(&stopped),
    }
}

/// Faults of the input of the form that signs.
fn faults_in(tx: &mut Tx<'_>, found: &Found, ticked: &[usize], entered: &Entered) -> Done<Vec<FieldFault>> {
    let yes = entered.yes(&found.shown.digest, ticked, &found.link);
    let mut faults = match found.shown.accept(&yes, tx.now) {
        Ok(_) => Vec::new(),
        Err(Fail::Refused(problem)) => faults_of(&problem),
        Err(other) => return Err(other),
    };
    faults.extend(entered.drawing_fault());
    Ok(faults)
}

/// The page to check and sign, with the input and its faults.
pub(super) fn checked(
    visit: &Visit,
    found: Found,
    ticked: &[usize],
    entered: Entered,
    faults: &[FieldFault],
) -> Answer {
    let Found { shown, link, price, asks_early_start, .. } = found;
    let in_person = link.method == Method::InPerson;
    let path = path(visit);
    let wrong = !faults.is_empty();
    let title = format!("{}Check {}", if wrong { "Error: " } else { "" }, subject::called(&shown.document));
    let page = CheckPage {
        frame: frame(title, &shown, in_person).with_sign_script(),
        back: with_ticked(&path, ticked),
        code: visit.form_code(),
        digest: shown.digest.clone(),
        facts: Facts::of(&shown.document, ticked),
        consent: shown.document.consent.clone(),
        early_start: shown.document.early_start.clone().filter(|_| asks_early_start),
        totals: TotalsView::of(&price?, &shown.document),
        looked_at: looked_at(&shown.document),
        document: shown.document,
        path,
        entered,
        faults: faults.iter().map(FaultView::from).collect(),
    };
    html(if wrong { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK }, &page)
}

/// What was accepted; a customer who has not accepted is sent to the offer.
#[get("/q/{token}/done")]
pub(super) async fn done(visit: Visit) -> Answer {
    let path = path(&visit);
    match visit.read(|tx, link| find(tx, link, &[])).await {
        Ok(Found { shown, link, obstacle: Some(obstacle), .. }) => {
            blocked::page(&shown, &link, (&path, &visit.form_code()), &obstacle, false, Vec::new())
        }
        Ok(_) => Ok(see_other(&path)),
        Err(stopped) => blocked::problem(&stopped),
    }
}
