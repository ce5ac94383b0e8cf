//! The customer's answer: accepting or declining exactly what was shown.

use baywright_domain::calendar::{Zone, ZoneRules};
use baywright_domain::id::{PersonId, QuoteId, RevisionId};
use baywright_domain::learning::Beliefs;
use baywright_domain::quote::{RevisionState, current_revision};
use baywright_domain::signoff::{Acceptance, Evidence, Method, Offer, Strokes, accept, asks_early_start};
use baywright_domain::time::Minute;
use baywright_domain::variation::VariationState;
use serde_json::{Value, json};

use super::Quote;
use super::compose::totals;
use super::letter::{self, Answered};
use super::read::{frozen, state_now};
use super::start::{StartTerms, start_terms};
use crate::mail::outbox::Attachment;
use crate::platform::canonical::canonical;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{DbError, Done, Fail};
use crate::platform::record;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::quote::kept::{QuoteDocument, QuoteTotals};
use crate::quote::store::{self, RevisionRow};
use crate::signoff::usecase as signoff;
use crate::signoff::usecase::{Link, Signoff, Subject};
use crate::{learning, mail, menu, quote};

/// Kind of an offer, with its state.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// A revision of a quote, which expires.
    Revision {
        /// Its state now.
        state: RevisionState,
        /// Time when it expires.
        until: UtcTime,
    },
    /// A change to work that is under way. It does not expire: it is open until it is answered.
    Variation(VariationState),
}

impl Standing {
    /// Whether it is with the customer and can still be answered.
    pub fn is_open(self) -> bool {
        matches!(self, Self::Revision { state: RevisionState::Sent, .. } | Self::Variation(VariationState::Sent))
    }
}

/// A revision of a quote, or a variation, as the customer sees it.
#[derive(Debug, Clone)]
pub struct OfferShown {
    /// The quote.
    pub quote: Quote,
    /// Id of the revision, or of the signed one that a variation changes.
    pub revision: RevisionId,
    /// Kind and state of the offer.
    pub standing: Standing,
    /// Whether it is the latest that was sent, or changes the revision that is agreed.
    pub is_current: bool,
    /// The digest of the document.
    pub digest: String,
    /// The offer, for the rules.
    pub document: QuoteDocument,
    /// Time when it was signed, declined, withdrawn, replaced or lapsed.
    pub decided_at: Option<UtcTime>,
    /// Its sign-off, if it is signed.
    pub signoff: Option<Signoff>,
    /// The menu that it was priced from, as it is stored.
    pub menu: String,
    /// Estimate of the work's duration when it was sent.
    pub beliefs: Beliefs,
    /// Start for which its work is already booked, as that of an earlier revision may be.
    pub booked_for: Option<Minute>,
    /// Time when its work may begin, by what its customer agreed to.
    pub start: StartTerms,
}

/// A customer's acceptance.
#[derive(Debug, Clone)]
pub struct Yes {
    /// The digest of the document that the customer saw.
    pub digest: String,
    /// Name as it was typed.
    pub typed_name: String,
    /// Whether they ticked that they accept.
    pub intent: bool,
    /// Indexes of the optional lines that they ticked.
    pub ticked: Vec<usize>,
    /// The drawn signature; `None` if there is none.
    pub strokes: Option<Strokes>,
    /// Way in which it was given.
    pub method: Method,
    /// Person who noted it, by phone or in person.
    pub noted_by: Option<PersonId>,
    /// The link through which it was given.
    pub link: Option<Link>,
    /// Agreement to an early start; `None` if they were not asked.
    pub early_start: Option<bool>,
}

/// A revision with everything that its reader needs. The diary is above quotes, so the caller passes the query for the
/// booked start of a quote's work.
///
/// # Errors
/// `NotFound` if there is none that was sent.
pub fn offer(
    tx: &mut Tx<'_>,
    id: &RevisionId,
    booked_for: impl FnOnce(&mut Tx<'_>, &QuoteId) -> Done<Option<Minute>>,
) -> Done<OfferShown> {
    let row = store::revision_of_id(tx, id)?.ok_or_else(|| Refused::not_found("quote"))?;
    let quote = store::find(tx, &row.quote)?.ok_or_else(|| Refused::not_found("quote"))?;
    let numbers = store::numbers(tx, &row.quote)?;
    let kept = frozen(&row)?;
    let basis = store::frozen_basis(tx, &row.id)?;
    let document = QuoteDocument::parse(&kept.document)?;
    let signoff = match row.state {
        RevisionState::Signed => signoff::find(tx, &Subject::quote(id.as_str()))?,
        _ => None,
    };
    let start = match &signoff {
        Some(signoff) => start_terms(tx, signoff)?,
        None => StartTerms::default(),
    };
    let booked_for = match &document.early_start {
        Some(_) if signoff.is_none() => booked_for(tx, &row.quote)?,
        _ => None,
    };
    Ok(OfferShown {
        booked_for,
        start,
        is_current: current_revision(&numbers).is_some_and(|(number, _)| number == row.number),
        standing: Standing::Revision { state: state_now(tx, &row), until: kept.holds_until },
        digest: kept.digest.clone(),
        document,
        beliefs: basis.beliefs.as_deref().map(learning::from_json).transpose()?.unwrap_or_default(),
        menu: basis.menu,
        revision: row.id.clone(),
        decided_at: row.decided_at,
        signoff,
        quote,
    })
}

impl OfferShown {
    /// Totals of the required lines and the ticked ones, and the lines that are taken.
    ///
    /// # Errors
    /// `Invalid` if the choice can't be taken.
    pub fn price(&self, ticked: &[usize]) -> Done<(Vec<usize>, QuoteTotals)> {
        let offered = self.document.offered()?;
        let taken = baywright_domain::quote::select(&offered.plain_lines(), &offered.conflicts, ticked)?;
        let totals = self.totals(&offered, &taken)?;
        Ok((taken, totals))
    }

    /// Totals of the lines at those indexes.
    pub fn totals(&self, offered: &quote::kept::Offered, taken: &[usize]) -> Done<QuoteTotals> {
        // The tax basis of the menu does not matter here: the lines are priced already, and times have no tax.
        let menu = menu::from_json(&self.menu, self.document.prices.0)?;
        totals(offered, &menu, &self.beliefs, self.document.car(), taken)
    }

    /// Whether a customer who answers in that way is asked if work may start within the 14 days. A variation does not
    /// ask: the car is in its bay and its work under way.
    pub fn asks_early_start(&self, method: Method, now: UtcTime) -> bool {
        let has_words = self.document.early_start.is_some() && self.document.variation_of.is_none();
        let Ok(zone) = Zone::named(&self.document.studio.zone) else { return has_words };
        let day = |at: Minute| zone.to_local(at).date();
        asks_early_start(has_words, method, self.booked_for.map(day), day(now.minute()))
    }

    /// Checks an acceptance against what was shown, and returns the lines that it takes. The caller has checked the
    /// state of the offer before.
    ///
    /// # Errors
    /// The errors of the domain's [`accept`].
    pub fn accept(&self, yes: &Yes, now: UtcTime) -> Done<Vec<usize>> {
        let offered = self.document.offered()?;
        let lines = offered.plain_lines();
        let offer = Offer {
            current: self.is_current,
            digest: &self.digest,
            lines: &lines,
            conflicts: &offered.conflicts,
            asks_early_start: self.asks_early_start(yes.method, now),
        };
        let acceptance = Acceptance {
            digest: &yes.digest,
            typed_name: &yes.typed_name,
            intent: yes.intent,
            ticked: &yes.ticked,
            strokes: yes.strokes.as_ref(),
            method: yes.method,
            noted_by: yes.noted_by.as_ref(),
            early_start: yes.early_start,
        };
        Ok(accept(&offer, &acceptance)?)
    }

    /// Seals `document`, the text that was shown, with the evidence of an acceptance of those lines; also returns their
    /// totals.
    pub fn seal(
        &self,
        tx: &mut Tx<'_>,
        subject: &Subject,
        yes: &Yes,
        lines: Vec<usize>,
        document: String,
    ) -> Done<(Signoff, QuoteTotals)> {
        let totals = self.totals(&self.document.offered()?, &lines)?;
        let evidence = Evidence {
            document,
            digest: self.digest.clone(),
            choices: lines,
            consent: self.document.consent.clone(),
            typed_name: yes.typed_name.trim().to_owned(),
            strokes: yes.strokes.clone(),
            method: yes.method,
            noted_by: yes.noted_by.clone(),
            at: tx.now.datetime(),
            address: tx.origin.address.clone(),
            agent: tx.origin.agent.clone(),
            link: yes.link.as_ref().map(|link| signoff::trail(tx, link)),
            early_start: yes.early_start.filter(|_| self.asks_early_start(yes.method, tx.now)),
        };
        let agreed = serde_json::to_value(&totals).map_err(Fail::unexpected)?;
        Ok((signoff::seal(tx, subject, &evidence, &agreed)?, totals))
    }

    /// Address for the customer's copy: the one that the link was mailed to, else the one on the document.
    pub fn copy_goes_to(&self, yes: &Yes) -> Option<String> {
        let contact = yes.link.as_ref().filter(|link| link.contact.contains('@')).map(|link| link.contact.clone());
        contact.or_else(|| self.document.customer.email.clone())
    }
}

/// Accepts a revision: it is sealed with the evidence. The caller handles the consequences for its work, and then calls
/// [`tell_signed`] to send the mails.
///
/// # Errors
/// `Gone` if it has lapsed, `Conflict` if it is in another state or not current, `Invalid` with everything that is
/// wrong with the form.
pub fn sign(tx: &mut Tx<'_>, shown: &OfferShown, yes: &Yes) -> Done<(Signoff, QuoteTotals)> {
    let id = &shown.revision;
    let row = kept_row(tx, id)?;
    let kept = frozen(&row)?;
    let state = row.state.sign(tx.now.datetime(), kept.holds_until.datetime())?;
    let lines = shown.accept(yes, tx.now)?;
    let (sealed, totals) = shown.seal(tx, &Subject::quote(id.as_str()), yes, lines, kept.document.clone())?;
    store::move_revision(tx, id, state, None)?;
    store::touch(tx, &shown.quote, shown.quote.latest)?;
    signoff::answered(tx, yes.link.as_ref())?;
    let detail = json!({
        "revision": shown.document.revision, "signoff_id": sealed.id.as_str(), "method": yes.method.as_str(),
    });
    record::write(tx, "quote.signed", ("quote", shown.quote.id.as_str()), detail)?;
    Ok((sealed, totals))
}

/// Mails the customer a copy of what they signed, if there is an address, and tells the studio of an acceptance through
/// a link.
pub fn tell_signed(tx: &mut Tx<'_>, shown: &OfferShown, yes: &Yes, sealed: &Signoff, totals: &QuoteTotals) -> Done<()> {
    if let Some(to) = shown.copy_goes_to(yes) {
        let file = sealed_file(shown, sealed)?;
        let page = signoff::stay_address(tx, &shown.quote.id, &to)?;
        let mail = letter::copy(&tx.studio, &shown.quote, &shown.document, (&to, page), sealed, totals, file)?;
        mail::outbox::send(tx, mail)?;
    }
    let not_before = start_terms(tx, sealed)?.not_before;
    let answer = Answered::Yes { sum: &totals.payable, name: &sealed.typed_name, not_before };
    letter::tell_studio(tx, ("quote", shown.quote.id.as_str()), &shown.document, yes.link.as_ref(), &answer)
}

/// Document and evidence with their digests, as one canonical JSON file.
pub fn sealed_file(shown: &OfferShown, sealed: &Signoff) -> Done<Attachment> {
    let parse = |text: &str| serde_json::from_str::<Value>(text).map_err(Fail::unexpected);
    let file = json!({
        "document": parse(&sealed.document)?, "document_digest": sealed.document_digest,
        "evidence": parse(&sealed.evidence)?, "evidence_digest": sealed.evidence_digest,
    });
    let text = canonical(&file).map_err(Fail::unexpected)?;
    let name = format!("{}-{}-signed.json", shown.document.number, shown.document.revision);
    Ok(Attachment { name, media_type: "application/json".to_owned(), bytes: text.into_bytes() })
}

/// Declines a revision.
///
/// # Errors
/// `Gone` if it has lapsed, `Conflict` if it is in another state or not current.
pub fn decline(tx: &mut Tx<'_>, id: &RevisionId, reason: &str, link: Option<&Link>) -> Done<()> {
    // Only an acceptance needs the booked start of the work.
    let shown = offer(tx, id, |_, _| Ok(None))?;
    let row = kept_row(tx, id)?;
    let state = row.state.decline(tx.now.datetime(), frozen(&row)?.holds_until.datetime())?;
    store::move_revision(tx, id, state, Some(reason.trim()).filter(|reason| !reason.is_empty()))?;
    store::touch(tx, &shown.quote, shown.quote.latest)?;
    signoff::answered(tx, link)?;
    let detail = json!({ "revision": shown.document.revision });
    record::write(tx, "quote.declined", ("quote", shown.quote.id.as_str()), detail)?;
    let answer = Answered::No(reason.trim());
    letter::tell_studio(tx, ("quote", shown.quote.id.as_str()), &shown.document, link, &answer)
}

fn kept_row(tx: &mut Tx<'_>, id: &RevisionId) -> Done<RevisionRow> {
    let row = store::revision_of_id(tx, id)?;
    Ok(row.ok_or_else(|| DbError::Corrupt(format!("revision {id} is gone")))?)
}
