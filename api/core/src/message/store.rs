//! Rows of mails.

use baywright_domain::id::MessageId;
use baywright_domain::message::MessageState;
use diesel::dsl::{count_star, exists, min, not};
use diesel::prelude::*;

use super::usecase::{Attachment, Letter, Message, Wanted};
use crate::newest_first;
use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, RowId, rows_of_shop};
use crate::platform::fail::Stored;
use crate::platform::ids;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::schema::{message, message_attachment};

/// The states of a mail that is still to be sent.
const OPEN: [&str; 2] = [MessageState::Queued.as_str(), MessageState::Sending.as_str()];

#[derive(Queryable, Selectable)]
#[diesel(table_name = message)]
struct Row {
    id: String,
    kind: String,
    about_kind: String,
    about_id: String,
    from_name: String,
    reply_to: String,
    to_name: String,
    to_email: String,
    subject: String,
    text: String,
    html: String,
    header_id: String,
    state: String,
    tries: i32,
    due_at: i64,
    trouble: String,
    sent_at: Option<i64>,
    version: i64,
    created_at: i64,
    updated_at: i64,
}

impl Row {
    fn read(self) -> Stored<Message> {
        let row = RowId::of("message", &self.id);
        Ok(Message {
            version: self.version,
            letter: Letter {
                kind: self.kind,
                about: (self.about_kind, self.about_id),
                from_name: self.from_name,
                reply_to: self.reply_to,
                to_name: self.to_name,
                to_email: self.to_email,
                subject: self.subject,
                text: self.text,
                html: self.html,
                attachments: Vec::new(),
            },
            header_id: self.header_id,
            state: row.read("state", self.state)?,
            tries: self.tries,
            due_at: row.read("due_at", self.due_at)?,
            trouble: self.trouble,
            sent_at: row.read("sent_at", self.sent_at)?,
            created_at: row.read("created_at", self.created_at)?,
            updated_at: row.read("updated_at", self.updated_at)?,
            id: self.id.into(),
        })
    }
}

/// Columns that a change of state sets besides the state.
pub(super) struct Change {
    pub(super) tries: i32,
    pub(super) due_at: UtcTime,
    pub(super) lease: Option<String>,
    pub(super) trouble: String,
    pub(super) sent_at: Option<UtcTime>,
}

impl Change {
    /// No change of the mail, and no lease.
    pub(super) fn of(message: &Message) -> Self {
        Self {
            tries: message.tries,
            due_at: message.due_at,
            lease: None,
            trouble: message.trouble.clone(),
            sent_at: message.sent_at,
        }
    }
}

pub(super) fn insert(tx: &mut Tx<'_>, id: &MessageId, header_id: &str, letter: &Letter) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    let now = tx.now.ms();
    diesel::insert_into(message::table)
        .values((
            message::id.eq(id.as_str()),
            message::shop_id.eq(&shop),
            message::kind.eq(&letter.kind),
            message::about_kind.eq(&letter.about.0),
            message::about_id.eq(&letter.about.1),
            message::from_name.eq(&letter.from_name),
            message::reply_to.eq(&letter.reply_to),
            message::to_name.eq(&letter.to_name),
            message::to_email.eq(&letter.to_email),
            message::to_key.eq(letter.to_email.to_lowercase()),
            message::subject.eq(&letter.subject),
            message::text.eq(&letter.text),
            message::html.eq(&letter.html),
            message::header_id.eq(header_id),
            message::state.eq(MessageState::Queued.as_str()),
            message::tries.eq(0),
            message::due_at.eq(now),
            message::trouble.eq(""),
            message::version.eq(1_i64),
            message::created_at.eq(now),
            message::updated_at.eq(now),
        ))
        .execute(tx.conn)?;
    for (place, attachment) in (0_i32..).zip(&letter.attachments) {
        diesel::insert_into(message_attachment::table)
            .values((
                message_attachment::id.eq(ids::new::<String>()),
                message_attachment::shop_id.eq(&shop),
                message_attachment::message_id.eq(id.as_str()),
                message_attachment::place.eq(place),
                message_attachment::name.eq(&attachment.name),
                message_attachment::media_type.eq(&attachment.media_type),
                message_attachment::bytes.eq(&attachment.bytes),
            ))
            .execute(tx.conn)?;
    }
    Ok(())
}

pub(super) fn page(tx: &mut Tx<'_>, wanted: &Wanted, paging: &Paging) -> Stored<Vec<Message>> {
    let mut mine = rows_of_shop!(message, tx).select(Row::as_select()).into_boxed();
    if !wanted.states.is_empty() {
        mine = mine.filter(message::state.eq_any(wanted.states.iter().map(|state| state.as_str())));
    }
    if let Some(about) = &wanted.about {
        mine = mine.filter(message::about_id.eq(about.clone()));
    }
    let rows: Vec<Row> = newest_first!(mine, message::id, message::created_at, paging, tx.conn);
    rows.into_iter().map(Row::read).collect()
}

pub(super) fn find(tx: &mut Tx<'_>, id: &MessageId) -> Stored<Option<Message>> {
    let row: Option<Row> = rows_of_shop!(message, tx)
        .filter(message::id.eq(id.as_str()))
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    let Some(row) = row else { return Ok(None) };
    let mut found = row.read()?;
    let names: Vec<(String, String)> = rows_of_shop!(message_attachment, tx)
        .filter(message_attachment::message_id.eq(id.as_str()))
        .order(message_attachment::place.asc())
        .select((message_attachment::name, message_attachment::media_type))
        .load(tx.conn)?;
    let bare = |(name, media_type)| Attachment { name, media_type, bytes: Vec::new() };
    found.letter.attachments = names.into_iter().map(bare).collect();
    Ok(Some(found))
}

pub(super) fn attachments(tx: &mut Tx<'_>, id: &MessageId) -> Stored<Vec<Attachment>> {
    let rows: Vec<(String, String, Vec<u8>)> = rows_of_shop!(message_attachment, tx)
        .filter(message_attachment::message_id.eq(id.as_str()))
        .order(message_attachment::place.asc())
        .select((message_attachment::name, message_attachment::media_type, message_attachment::bytes))
        .load(tx.conn)?;
    Ok(rows.into_iter().map(|(name, media_type, bytes)| Attachment { name, media_type, bytes }).collect())
}

/// Longest wait of a mail for its next try, in minutes.
const LONGEST_WAIT_MINUTES: i64 = 24 * 60;

/// A mail that is due later than this was written while the clock was ahead, and counts as due at once.
fn beyond(now: UtcTime) -> i64 {
    now.plus_minutes(LONGEST_WAIT_MINUTES).ms()
}

/// The oldest open mail that is due and has no older open one to the same address before it.
pub(super) fn next_due(tx: &mut Tx<'_>) -> Stored<Option<Message>> {
    let earlier = diesel::alias!(message as earlier);
    let older = earlier
        .filter(earlier.field(message::shop_id).eq(message::shop_id))
        .filter(earlier.field(message::to_key).eq(message::to_key))
        .filter(earlier.field(message::state).eq_any(OPEN))
        .filter(earlier.field(message::id).lt(message::id))
        .select(earlier.field(message::id));
    let row: Option<Row> = rows_of_shop!(message, tx)
        .filter(message::state.eq_any(OPEN))
        .filter(message::due_at.le(tx.now.ms()).or(message::due_at.gt(beyond(tx.now))))
        .filter(not(exists(older)))
        .order(message::id.asc())
        .select(Row::as_select())
        .first(tx.conn)
        .optional()?;
    row.map(Row::read).transpose()
}

pub(super) fn is_leased(tx: &mut Tx<'_>, id: &MessageId, lease: &str) -> Stored<bool> {
    let found: i64 = rows_of_shop!(message, tx)
        .filter(message::id.eq(id.as_str()))
        .filter(message::lease.eq(lease))
        .select(count_star())
        .first(tx.conn)?;
    Ok(found == 1)
}

pub(super) fn set(tx: &mut Tx<'_>, old: &Message, state: MessageState, change: &Change) -> Stored<()> {
    let mine = rows_of_shop!(message, tx).filter(message::id.eq(old.id.as_str()));
    diesel::update(mine)
        .set((
            message::state.eq(state.as_str()),
            message::tries.eq(change.tries),
            message::due_at.eq(change.due_at.ms()),
            message::lease.eq(change.lease.as_deref()),
            message::trouble.eq(&change.trouble),
            message::sent_at.eq(change.sent_at.map(UtcTime::ms)),
            message::version.eq(message::version + 1_i64),
            message::updated_at.eq(tx.now.ms()),
        ))
        .execute(tx.conn)?;
    Ok(())
}

/// Stores another address for a mail; the caller raises the version.
pub(super) fn readdress(tx: &mut Tx<'_>, id: &MessageId, to_email: &str) -> Stored<()> {
    let mine = rows_of_shop!(message, tx).filter(message::id.eq(id.as_str()));
    diesel::update(mine)
        .set((message::to_email.eq(to_email), message::to_key.eq(to_email.to_lowercase())))
        .execute(tx.conn)?;
    Ok(())
}

pub(super) fn shops_due(conn: &mut Conn, now: UtcTime) -> Stored<Vec<String>> {
    Ok(message::table
        .filter(message::state.eq_any(OPEN))
        .filter(message::due_at.le(now.ms()).or(message::due_at.gt(beyond(now))))
        .group_by(message::shop_id)
        .order(message::shop_id.asc())
        .select(message::shop_id)
        .load(conn)?)
}

pub(super) fn waiting(conn: &mut Conn) -> Stored<(i64, Option<i64>)> {
    Ok(message::table
        .filter(message::state.eq_any(OPEN))
        .select((count_star(), min(message::created_at)))
        .first(conn)?)
}

/// Deletes mails and their attachments.
pub(super) fn remove(tx: &mut Tx<'_>, ids: &[String]) -> Stored<()> {
    let shop = tx.studio.id.to_string();
    diesel::delete(rows_of_shop!(message_attachment, id = &shop).filter(message_attachment::message_id.eq_any(ids)))
        .execute(tx.conn)?;
    diesel::delete(rows_of_shop!(message, id = &shop).filter(message::id.eq_any(ids))).execute(tx.conn)?;
    Ok(())
}
