//! Mails over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::message::usecase::{self, Attachment, Message, Wanted};
use baywright_core::platform::identity::Desk;
use baywright_domain::id::MessageId;
use baywright_domain::message::MessageState;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::wire::{Email, Instant, Reference, Word, Words};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(show).service(send_again);
}

/// A state as it is sent over HTTP; the API document's derive reads a plain name better than one with parameters.
type StateWord = Word<MessageState>;

type StateWords = Words<MessageState>;

/// Conditions for the list of messages.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct MessageFilter {
    /// Limits the list to messages in one of these states.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    state: StateWords,
    /// Limits the list to messages about the record with this id: a quote, a booking or an invoice.
    #[param(nullable = false)]
    about_id: Option<Reference>,
}

/// Mail that the shop wrote.
#[derive(Debug, Serialize, ToSchema)]
pub struct MessageView {
    /// Id of the message.
    id: Reference,
    /// Version of the record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Purpose of the message.
    #[schema(max_length = 80, example = "quote.sent")]
    kind: String,
    /// Kind of record that the message is about.
    #[schema(max_length = 80, example = "quote")]
    about_kind: String,
    /// Id of the record that the message is about.
    #[schema(max_length = 80)]
    about_id: String,
    /// Name of the recipient.
    #[schema(max_length = 400)]
    to_name: String,
    /// Email address of the recipient.
    #[schema(max_length = 254, example = "aoife@example.com")]
    to_email: String,
    /// Subject line of the mail.
    #[schema(max_length = 400)]
    subject: String,
    /// State of the message: queued, sending, sent or failed.
    state: StateWord,
    /// Number of attempts to send it.
    #[schema(minimum = 0, maximum = 1000)]
    tries: i32,
    /// Time of the next attempt, RFC 3339 in UTC; null if none is planned.
    next_try_at: Option<Instant>,
    /// Error of the last attempt; null if there was none.
    #[schema(max_length = 1000)]
    trouble: Option<String>,
    /// Time when the message was written, RFC 3339 in UTC.
    created_at: Instant,
    /// Time when the mail server accepted it, RFC 3339 in UTC; null before.
    sent_at: Option<Instant>,
}

/// Mail that the shop wrote, with its content.
#[derive(Debug, Serialize, ToSchema)]
pub struct MessageWithText {
    /// Message without its content.
    #[serde(flatten)]
    message: MessageView,
    /// Header `Message-ID` of the mail, the same for every attempt.
    #[schema(max_length = 400)]
    header_id: String,
    /// Body as plain text.
    #[schema(max_length = 200_000)]
    text: String,
    /// Body as HTML.
    #[schema(max_length = 400_000)]
    html: String,
    /// Files attached to the mail.
    #[schema(max_items = 20)]
    attachments: Vec<AttachmentView>,
}

/// File attached to a mail.
#[derive(Debug, Serialize, ToSchema)]
pub struct AttachmentView {
    /// Name of the file.
    #[schema(max_length = 120, example = "booking.ics")]
    name: String,
    /// Media type of the file.
    #[schema(max_length = 120, example = "text/calendar")]
    media_type: String,
}

crate::versioned!(MessageView);

impl crate::platform::answer::Versioned for MessageWithText {
    fn version(&self) -> i64 {
        self.message.version
    }
}

impl From<Message> for MessageView {
    fn from(message: Message) -> Self {
        let waits = matches!(message.state, MessageState::Queued);
        Self {
            id: Reference::from(&message.id),
            version: message.version,
            kind: message.letter.kind,
            about_kind: message.letter.about.0,
            about_id: message.letter.about.1,
            to_name: message.letter.to_name,
            to_email: message.letter.to_email,
            subject: message.letter.subject,
            state: Word(message.state),
            tries: message.tries,
            next_try_at: waits.then_some(Instant(message.due_at)),
            trouble: Some(message.trouble).filter(|trouble| !trouble.is_empty()),
            created_at: Instant(message.created_at),
            sent_at: message.sent_at.map(Instant),
        }
    }
}

impl From<Message> for MessageWithText {
    fn from(mut message: Message) -> Self {
        let attachment = |a: Attachment| AttachmentView { name: a.name, media_type: a.media_type };
        Self {
            header_id: std::mem::take(&mut message.header_id),
            text: std::mem::take(&mut message.letter.text),
            html: std::mem::take(&mut message.letter.html),
            attachments: std::mem::take(&mut message.letter.attachments).into_iter().map(attachment).collect(),
            message: message.into(),
        }
    }
}

/// List the messages.
///
/// Returns one page of the mails that the shop wrote, newest first, without their content.
#[utoipa::path(tag = "message", params(MessageFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page of messages.", body = Page<MessageView>)))]
#[get("/v1/messages")]
async fn list(call: Call<Desk>, list: List<MessageFilter>) -> Answer {
    let wanted = Wanted { states: list.filter.state.0, about: list.filter.about_id.map(Reference::into_string) };
    let found = call.read(move |tx| usecase::list(tx, &wanted, &list.paging)).await?;
    Ok(page(&list.links, found.map(MessageView::from)))
}

/// Read a message.
///
/// Returns one mail with its content, as plain text and as HTML.
#[utoipa::path(tag = "message", params(("id" = Reference, Path, description = "Id of the message.")),
    responses((status = 200, description = "The requested message.", body = MessageWithText),
        (status = 304, description = "The record is unchanged since the version in If-None-Match.")))]
#[get("/v1/messages/{id}")]
async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = MessageId::new(id.into_inner());
    let message = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&MessageWithText::from(message), &known))
}

/// Recipient of a failed message that is sent again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SendAgainBody {
    /// Email address to send to instead of the one that failed; the same address if null or left out. The customer's
    /// record does not change.
    #[serde(default)]
    to_email: Option<Email>,
}

/// Send a failed message again.
///
/// Queues the message as if it were new, to another address if one is given; its Message-ID stays the same, so that a
/// mail program recognises a second copy.
#[utoipa::path(tag = "message", request_body = SendAgainBody,
    params(("id" = Reference, Path, description = "Id of the message.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The message after the change.", body = MessageView)))]
#[post("/v1/messages/{id}/send-again")]
async fn send_again(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<SendAgainBody>) -> Answer {
    let id = MessageId::new(id.into_inner());
    let to_email = body.value.to_email;
    call.change(move |tx| {
        Ok(MessageView::from(usecase::send_again(tx, &id, seen, to_email.as_ref().map(Email::as_str))?))
    })
    .await
}
