//! Sending a quote to the customer: it is frozen, replaces the one before, and is mailed with a link.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::id::{MessageId, QuoteId};
use baywright_domain::inspection::WorkStage;
use baywright_domain::money::Money;
use baywright_domain::quote::{QuoteRefusal, RevisionState, current_revision};
use baywright_domain::signoff::Method;
use chrono::{DateTime, Days, NaiveDate, Utc};
use serde_json::json;

use super::compose::{Composed, compose};
use super::read::{frozen, state_now};
use super::write::latest;
use super::{Quote, Shown, letter, look, show};
use crate::platform::canonical::{canonical, digest};
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::kept::Moment;
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::quote::kept::{QuoteDocument, QuoteDraft};
use crate::quote::store::{self, Basis, Frozen, RevisionRow};
use crate::signoff::usecase as signoff;
use crate::signoff::usecase::{Link, NewLink, Subject};
use crate::{inspection, learning, mail, menu, vehicle};

/// Options for mailing a quote.
#[derive(Debug, Clone, Default)]
pub struct ByMail {
    /// Another address than the customer's main one.
    pub email: Option<String>,
    /// Personal message of the desk.
    pub message: String,
}

impl ByMail {
    /// Recipient of the mail of a document that is sent now.
    ///
    /// # Errors
    /// `Invalid` if there is no address.
    pub fn address(&self, document: &QuoteDocument) -> Result<String, Refused> {
        self.address_or(document, "send it without a mail, with \"by_mail\": false, and then make a link to hand over")
    }

    /// Recipient of a document's mail; `instead` says what else to do if there is no address.
    fn address_or(&self, document: &QuoteDocument, instead: &str) -> Result<String, Refused> {
        let known = self.email.clone().or_else(|| document.customer.email.clone());
        known.ok_or_else(|| {
            let detail = format!("This customer has no email address. Give one in this field, or {instead}.");
            Refused::field("/email", "missing", detail)
        })
    }
}

/// Sends the open draft: it is priced again, frozen and sealed; the revision that was with the customer before is
/// replaced. Without a mail only its state changes, and the desk gives the customer a link.
///
/// # Errors
/// What [`compose`] refuses; `Conflict` if the latest revision is no draft, or if readings ask for the owner before
/// paint is removed; `Invalid` if there is no address to mail to.
pub fn send(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen, by_mail: Option<&ByMail>) -> Done<Shown> {
    let (quote, row) = latest(tx, id)?;
    seen.check(quote.version)?;
    row.state.edit()?;
    let draft = QuoteDraft::parse(&row.draft)?;
    let of = vehicle::usecase::show(tx, &quote.vehicle)?;
    let made = compose(tx, &of, &draft, &quote.number, row.number)?;
    look::sent(tx, &of, &draft, &made)?;
    let Composed { mut document, offered, menu, beliefs, settings, paint_work, explanation, .. } = made;
    if let Some(work) = paint_work {
        let named = draft.inspection();
        inspection::usecase::may_work_on_paint(tx, &of.id, named.as_slice(), (&work, WorkStage::Offered))?;
    }
    let days = draft.valid_days.unwrap_or_else(|| u32::from(settings.terms.quote_days));
    let until = end_of_day(&settings.zone, tx.now, days)?;
    let state = row.state.send(offered.lines.len(), tx.now.datetime(), until.datetime())?;
    let to = by_mail.map(|by_mail| by_mail.address(&document)).transpose()?;
    document.sent_at = Some(Moment(tx.now));
    document.holds_until = Some(Moment(until));
    let text = serde_json::to_value(&document).map_err(Fail::unexpected)?;
    let text = canonical(&text).map_err(Fail::unexpected)?;
    let totals = document.required_totals.as_ref();
    let payable = totals.map(|totals| totals.payable.money(offered.terms.currency)).transpose();
    let payable = payable.map_err(Fail::unexpected)?;
    if payable == Some(Money::ZERO) && totals.is_some_and(|totals| totals.minutes > 0) {
        let detail = "The customer pays nothing for this quote, though its work takes time. Check its prices and discounts \
                      if it is not meant as a gift.";
        tx.warn("nothing-to-pay", "", detail);
    }
    let frozen = Frozen { digest: digest(&text), document: text, payable, sent_at: tx.now, holds_until: until };
    let basis = Basis {
        menu: menu::to_json(&menu, offered.terms.currency)?,
        beliefs: Some(learning::to_json(&beliefs)?),
        explanation: Some(serde_json::to_string(&explanation).map_err(Fail::unexpected)?),
    };
    overtake(tx, &quote)?;
    store::freeze(tx, &row.id, state, &frozen, &basis)?;
    store::touch(tx, &quote, quote.latest)?;
    let detail = json!({ "revision": row.number, "digest": frozen.digest, "holds_until": until.to_string() });
    record::write(tx, "quote.sent", ("quote", id.as_str()), detail)?;
    if let (Some(to), Some(by_mail)) = (to, by_mail) {
        mail_link(tx, &quote, &row, &document, &to, &by_mail.message)?;
    }
    show(tx, id)
}

/// Mails the sent revision again, with a new link: for a mail that was lost, or another address. Earlier links still
/// open it.
///
/// # Errors
/// `Conflict` if no revision is with the customer; `Invalid` if there is no address to mail to.
pub fn send_again(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen, by_mail: &ByMail) -> Done<Shown> {
    let (quote, row) = with_customer(tx, id)?;
    seen.check(quote.version)?;
    let document = QuoteDocument::parse(&frozen(&row)?.document)?;
    let to = by_mail.address_or(&document, "make a link to hand over")?;
    mail_link(tx, &quote, &row, &document, &to, &by_mail.message)?;
    store::touch(tx, &quote, quote.latest)?;
    record::write(tx, "quote.sent-again", ("quote", id.as_str()), json!({ "revision": row.number }))?;
    show(tx, id)
}

/// End of the day that is `days` days after today, in the studio's time zone.
fn end_of_day(zone: &Zone, now: UtcTime, days: u32) -> Done<UtcTime> {
    let today: NaiveDate = zone.to_local(now.minute()).date();
    let last = today.checked_add_days(Days::new(u64::from(days)));
    let day = last.and_then(|last| zone.day(last)).ok_or_else(|| Fail::unexpected("no such day"))?;
    Ok(UtcTime::from_minute(day.to()))
}

/// The revision that was with the customer ends: as lapsed if it had expired, else as replaced.
fn overtake(tx: &mut Tx<'_>, quote: &Quote) -> Done<()> {
    for (number, state) in store::numbers(tx, &quote.id)? {
        if state != RevisionState::Sent {
            continue;
        }
        let Some(row) = store::find_revision(tx, &quote.id, number)? else { continue };
        let until = frozen(&row)?.holds_until.datetime();
        let now = tx.now.datetime();
        let (next, action) = match row.state.at(now, until) {
            RevisionState::Lapsed => (row.state.lapse(now, until)?, "quote.lapsed"),
            _ => (row.state.replace()?, "quote.replaced"),
        };
        store::move_revision(tx, &row.id, next, None)?;
        record::write(tx, action, ("quote", quote.id.as_str()), json!({ "revision": number }))?;
    }
    Ok(())
}

fn mail_link(
    tx: &mut Tx<'_>,
    quote: &Quote,
    row: &RevisionRow,
    document: &QuoteDocument,
    to: &str,
    message: &str,
) -> Done<MessageId> {
    let until = document.holds_until.map_or(tx.now, |until| until.0);
    let (_, url) = sent_link(tx, row, to, until)?;
    let accepted = store::numbers(tx, &quote.id)?
        .into_iter()
        .filter(|(number, state)| *number < row.number && *state == RevisionState::Signed);
    let accepted = accepted.map(|(number, _)| number).max();
    let mail = letter::offer(&tx.studio, quote, (document, accepted), (to, message), &url)?;
    mail::outbox::send(tx, mail)
}

/// A link by which the customer reads and answers a revision, and its address.
fn sent_link(tx: &mut Tx<'_>, row: &RevisionRow, contact: &str, until: UtcTime) -> Done<(Link, String)> {
    let new = NewLink {
        subject: Subject::quote(row.id.as_str()),
        method: Method::Link,
        contact: contact.to_owned(),
        person: None,
        ends_at: until.plus_minutes(signoff::KEPT_DAYS * 24 * 60),
    };
    let (link, token) = signoff::issue(tx, &new)?;
    Ok((link, format!("{}/q/{}", tx.config.public_url, token.as_str())))
}

/// Creates a link to the sent revision: for signing in person, on the studio's device, or to send by another way than
/// mail. Its address is shown once.
///
/// # Errors
/// `Conflict` if no revision is with the customer; `Invalid` for a link without a contact.
pub fn make_link(tx: &mut Tx<'_>, id: &QuoteId, method: Method, contact: &str) -> Done<(Link, String)> {
    let (_, row) = with_customer(tx, id)?;
    let until = frozen(&row)?.holds_until;
    if method == Method::InPerson {
        let new = NewLink {
            subject: Subject::quote(row.id.as_str()),
            method,
            contact: String::new(),
            person: tx.actor.person().cloned(),
            ends_at: tx.now.plus_minutes(signoff::IN_PERSON_MINUTES),
        };
        let (link, token) = signoff::issue(tx, &new)?;
        return Ok((link, format!("{}/q/{}", tx.config.public_url, token.as_str())));
    }
    if contact.is_empty() {
        let detail = "Write where the link goes, such as a telephone number.";
        return Err(Refused::field("/contact", "missing", detail).into());
    }
    sent_link(tx, &row, contact, until)
}

/// A new link to the sent revision, for a reminder to that address.
///
/// # Errors
/// `Conflict` if no revision is with the customer.
pub fn fresh_link(tx: &mut Tx<'_>, id: &QuoteId, email: &str) -> Done<String> {
    let (_, row) = with_customer(tx, id)?;
    let until = frozen(&row)?.holds_until;
    Ok(sent_link(tx, &row, email, until)?.1)
}

/// Withdraws the sent revision.
///
/// # Errors
/// `Conflict` if no revision is with the customer.
pub fn withdraw(tx: &mut Tx<'_>, id: &QuoteId, seen: Seen, reason: &str) -> Done<Shown> {
    let quote = store::find(tx, id)?.ok_or_else(|| Refused::not_found("quote"))?;
    seen.check(quote.version)?;
    let row = current(tx, &quote)?;
    let state = state_now(tx, &row).withdraw()?;
    store::move_revision(tx, &row.id, state, Some(reason).filter(|reason| !reason.is_empty()))?;
    store::touch(tx, &quote, quote.latest)?;
    record::write(tx, "quote.withdrawn", ("quote", id.as_str()), json!({ "revision": row.number }))?;
    show(tx, id)
}

/// The revision that the customer has in hand or has answered.
fn current(tx: &mut Tx<'_>, quote: &Quote) -> Done<RevisionRow> {
    let numbers = store::numbers(tx, &quote.id)?;
    let (number, _) = current_revision(&numbers).ok_or_else(|| {
        let detail = format!(
            "Quote {} has not been sent yet. Send it first, with \"by_mail\": false if it should go out without a mail.",
            quote.number
        );
        Refused::conflict("quote-not-sent", detail)
    })?;
    let row = store::find_revision(tx, &quote.id, number)?;
    Ok(row.ok_or_else(|| DbError::Corrupt(format!("quote {} has no revision {number}", quote.id)))?)
}

/// The revision that is with the customer and can still be signed.
pub(super) fn with_customer(tx: &mut Tx<'_>, id: &QuoteId) -> Done<(Quote, RevisionRow)> {
    answerable(tx, id, RevisionState::sign)
}

/// The revision that is with the customer and can still be declined.
pub(super) fn declinable(tx: &mut Tx<'_>, id: &QuoteId) -> Done<(Quote, RevisionRow)> {
    answerable(tx, id, RevisionState::decline)
}

/// A move of a revision that only its customer makes.
type AnswerMove = fn(RevisionState, DateTime<Utc>, DateTime<Utc>) -> Result<RevisionState, QuoteRefusal>;

/// The revision that the customer can still answer with a move. The move is only tried, so that a refusal names it.
fn answerable(tx: &mut Tx<'_>, id: &QuoteId, by: AnswerMove) -> Done<(Quote, RevisionRow)> {
    let quote = store::find(tx, id)?.ok_or_else(|| Refused::not_found("quote"))?;
    let row = current(tx, &quote)?;
    let until = frozen(&row)?.holds_until.datetime();
    by(row.state, tx.now.datetime(), until)?;
    Ok((quote, row))
}

/// A quote that will lapse soon, for reminders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lapsing {
    /// The quote.
    pub id: QuoteId,
    /// Number of the revision that is with the customer.
    pub revision: u32,
    /// The document that the customer reads.
    pub document: QuoteDocument,
}

/// Up to `most` numbers of quotes that were sent at a moment or later and wait for the customer's answer.
pub fn waiting_since(tx: &mut Tx<'_>, at: UtcTime, most: usize) -> Done<Vec<String>> {
    Ok(store::waiting_since(tx, at, i64::try_from(most).unwrap_or(i64::MAX))?)
}

/// Quotes that are with customers and will lapse by that moment, at most `most`, the first to lapse first.
pub fn lapsing(tx: &mut Tx<'_>, by: UtcTime, most: i64) -> Done<Vec<Lapsing>> {
    let rows = store::ending(tx, by, most)?;
    let read = |row: RevisionRow| {
        let kept = frozen(&row)?;
        Ok(Lapsing { id: row.quote.clone(), revision: row.number, document: QuoteDocument::parse(&kept.document)? })
    };
    rows.into_iter().map(read).collect()
}

/// Marks quotes that have lapsed; returns how many.
pub fn lapse_due(tx: &mut Tx<'_>) -> Done<usize> {
    let rows = store::due(tx, 500)?;
    for row in &rows {
        let state = row.state.lapse(tx.now.datetime(), frozen(row)?.holds_until.datetime())?;
        store::move_revision(tx, &row.id, state, None)?;
        if let Some(quote) = store::find(tx, &row.quote)? {
            store::touch(tx, &quote, quote.latest)?;
        }
        record::write(tx, "quote.lapsed", ("quote", row.quote.as_str()), json!({ "revision": row.number }))?;
    }
    Ok(rows.len())
}
