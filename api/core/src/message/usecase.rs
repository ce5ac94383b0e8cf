//! Use cases of mails.

use baywright_domain::id::{MessageId, ShopId};
use baywright_domain::message::{AfterFailure, Backoff, MessageMove, MessageState};
use serde_json::json;

use super::store;
use crate::platform::clock::UtcTime;
use crate::platform::config::Mail;
use crate::platform::db::Conn;
use crate::platform::fail::{Done, Fail};
use crate::platform::paging::{Mark, Paging, Slice};
use crate::platform::personal::{Held, Holder, Left, Of};
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::{ids, record};

/// A mail for the outbox, without control characters.
#[derive(Debug, Clone)]
pub struct Letter {
    /// Kind of the mail, such as `quote.sent`.
    pub kind: String,
    /// Kind and id of the record it tells about.
    pub about: (String, String),
    /// The sender's name.
    pub from_name: String,
    /// Address for replies; empty for the sender's address.
    pub reply_to: String,
    /// The recipient's name.
    pub to_name: String,
    /// The recipient's address.
    pub to_email: String,
    /// The subject line.
    pub subject: String,
    /// The body as plain text.
    pub text: String,
    /// The body as HTML.
    pub html: String,
    /// Attachments.
    pub attachments: Vec<Attachment>,
}

/// An attachment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachment {
    /// The file's name, such as `booking.ics`.
    pub name: String,
    /// Its media type, such as `text/calendar`.
    pub media_type: String,
    /// Content of the attachment.
    pub bytes: Vec<u8>,
}

/// The current state of a mail.
#[derive(Debug, Clone)]
pub struct Message {
    /// Its id.
    pub id: MessageId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// Content of the mail.
    pub letter: Letter,
    /// Its `Message-ID`, the same at every try.
    pub header_id: String,
    /// State of the message.
    pub state: MessageState,
    /// Number of tries.
    pub tries: i32,
    /// Time of the next try, if it waits; else the time when it stopped waiting.
    pub due_at: UtcTime,
    /// Error of the last try; empty if there was none.
    pub trouble: String,
    /// Time when the mail server took it.
    pub sent_at: Option<UtcTime>,
    /// Time when it was written.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// A leased mail: nobody else sends it while the lease lasts.
#[derive(Debug, Clone)]
pub struct Parcel {
    /// The mail.
    pub message: Message,
    /// Identifies the lease when the result is stored.
    pub lease: String,
}

/// Result of a try.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// The mail server accepted it.
    Sent,
    /// The mail server will never accept it.
    Refused(String),
    /// It failed for now.
    Later(String),
}

/// Duration of a lease, in minutes: longer than a try takes, which waits for some ten answers of the server, and writes
/// a mail of a few megabytes.
fn lease_minutes(settings: &Mail) -> i64 {
    5 + (10 * i64::from(settings.timeout_seconds)).div_euclid(60)
}

/// Writes a mail into the outbox; it goes out if and when the transaction is committed.
pub fn queue(tx: &mut Tx<'_>, letter: &Letter) -> Done<MessageId> {
    let id: MessageId = ids::new();
    let domain = tx.config.mail.from.rsplit('@').next().unwrap_or_default();
    let header_id = format!("<{id}@{domain}>");
    store::insert(tx, &id, &header_id, letter)?;
    record::write(tx, "message.queued", ("message", id.as_str()), json!({ "kind": letter.kind }))?;
    Ok(id)
}

/// Filter of the list of mails.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Limits the list to these states; empty for all.
    pub states: Vec<MessageState>,
    /// Limits the list to mails about the record with this id.
    pub about: Option<String>,
}

/// One page of the shop's mails.
pub fn list(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Done<Slice<Message>> {
    let rows = store::page(tx, wanted, paging)?;
    Ok(paging.page(rows, |message| Mark::of_id(message.id.as_str())))
}

/// The mail with that id, with names and types of its attachments but not their bytes.
pub fn show(tx: &mut Tx<'_>, id: &MessageId) -> Done<Message> {
    Ok(store::find(tx, id)?.ok_or_else(|| Refused::not_found("message"))?)
}

/// Queues a failed mail again, with all its tries before it, to another address if one is given.
pub fn send_again(tx: &mut Tx<'_>, id: &MessageId, seen: Seen, to_email: Option<&str>) -> Done<Message> {
    let message = show(tx, id)?;
    seen.check(message.version)?;
    let state = message.state.go(MessageMove::SendAgain)?;
    let change = store::Change { tries: 0, due_at: tx.now, ..store::Change::of(&message) };
    store::set(tx, &message, state, &change)?;
    if let Some(to_email) = to_email {
        store::readdress(tx, id, to_email)?;
    }
    let detail = json!({ "other_address": to_email.is_some() });
    record::write(tx, "message.queued-again", ("message", id.as_str()), detail)?;
    show(tx, id)
}

/// Shops with a mail to send now.
pub fn shops_to_serve(conn: &mut Conn, now: UtcTime) -> Done<Vec<ShopId>> {
    Ok(store::shops_due(conn, now)?.into_iter().map(ShopId::new).collect())
}

/// Leases the shop's next mail that is due: the oldest whose recipient waits for no older one, so that one person's
/// mails are sent in order. A mail whose lease expired is leased again; after too many tries it is given up instead.
pub fn take(tx: &mut Tx<'_>) -> Done<Option<Parcel>> {
    while let Some(mut message) = store::next_due(tx)? {
        if message.state == MessageState::Sending {
            if let AfterFailure::GiveUp = after_failure(&message, false)? {
                give_up(tx, &message, "the program stopped during each attempt")?;
                continue;
            }
            message.state = message.state.go(MessageMove::PutBack)?;
        }
        let lease: String = ids::new();
        let change = store::Change {
            tries: message.tries + 1,
            due_at: tx.now.plus_minutes(lease_minutes(&tx.config.mail)),
            lease: Some(lease.clone()),
            ..store::Change::of(&message)
        };
        let state = message.state.go(MessageMove::TakeUp)?;
        store::set(tx, &message, state, &change)?;
        message.state = state;
        message.tries = change.tries;
        message.letter.attachments = store::attachments(tx, &message.id)?;
        return Ok(Some(Parcel { message, lease }));
    }
    Ok(None)
}

/// The rules' decision after a failed try of the mail.
fn after_failure(message: &Message, permanent: bool) -> Done<AfterFailure> {
    let jitter = u16::from_le_bytes(ids::random().map_err(Fail::unexpected)?);
    let tries = u32::try_from(message.tries).unwrap_or(u32::MAX);
    Ok(Backoff::USUAL.after_failure(tries, permanent, jitter))
}

/// Stores the result of a try, unless the lease expired and someone else has leased the mail since. Returns whether the mail
/// is still there: its customer may have been erased since it was leased.
pub fn settle(tx: &mut Tx<'_>, parcel: &Parcel, outcome: &Outcome) -> Done<bool> {
    if store::is_leased(tx, &parcel.message.id, &parcel.lease)? {
        store_result(tx, &parcel.message, outcome)?;
        return Ok(true);
    }
    tracing::warn!(mail = %parcel.message.id, "a lease ran out before its mail was settled");
    Ok(store::find(tx, &parcel.message.id)?.is_some())
}

fn store_result(tx: &mut Tx<'_>, message: &Message, outcome: &Outcome) -> Done<()> {
    let now = tx.now;
    let (trouble, permanent) = match outcome {
        Outcome::Sent => {
            let state = message.state.go(MessageMove::Deliver)?;
            let change =
                store::Change { due_at: now, sent_at: Some(now), trouble: String::new(), ..store::Change::of(message) };
            store::set(tx, message, state, &change)?;
            return record::write(tx, "message.sent", ("message", message.id.as_str()), json!({}));
        }
        Outcome::Refused(trouble) => (trouble, true),
        Outcome::Later(trouble) => (trouble, false),
    };
    match after_failure(message, permanent)? {
        AfterFailure::GiveUp => give_up(tx, message, trouble),
        AfterFailure::TryAgainIn(seconds) => {
            let state = message.state.go(MessageMove::PutBack)?;
            let due_at = now.plus_ms(i64::from(seconds) * 1000);
            let change = store::Change { due_at, trouble: trouble.clone(), ..store::Change::of(message) };
            Ok(store::set(tx, message, state, &change)?)
        }
    }
}

fn give_up(tx: &mut Tx<'_>, message: &Message, trouble: &str) -> Done<()> {
    let change = store::Change { due_at: tx.now, trouble: trouble.to_owned(), ..store::Change::of(message) };
    store::set(tx, message, message.state.go(MessageMove::GiveUp)?, &change)?;
    record::write(tx, "message.failed", ("message", message.id.as_str()), json!({ "tries": message.tries }))
}

/// Number of mails of all shops that are waiting, and the time since which the oldest waits.
pub fn waiting(conn: &mut Conn) -> Done<(i64, Option<UtcTime>)> {
    let (count, oldest) = store::waiting(conn)?;
    Ok((count, oldest.map(UtcTime::from_ms)))
}

/// Data that this feature holds about a customer: the mails about any of their records, which are deleted. It comes
/// after all features that write mails.
pub const HOLDER: Holder = Holder {
    feature: "message",
    held: &[
        Held { table: "message", column: "about_id", of: Of::AnyRow },
        Held::of_row("message_attachment", "message_id", "message"),
    ],
    forget: |tx, leaving| {
        let mails = leaving.ids("message");
        store::remove(tx, &mails)?;
        Ok(Left { mails, ..Left::default() })
    },
};
