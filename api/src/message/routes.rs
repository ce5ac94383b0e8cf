//! Mails over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_domain::id::MessageId;
use baywright_domain::message::MessageState;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, Attachment, Message, Wanted};
use crate::platform::answer::{Answer, Page, item, page};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::cursor::List;
use crate::platform::etag::{IfMatch, IfNoneMatch};
use crate::platform::identity::Desk;
use crate::platform::wire::{Email, Instant, Reference, Word, Words};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(list).service(show).service(send_again);
}

crate::wire_words! { MessageState => "MessageState" }

/// A state as it travels; the API document's derive reads a plain name better than one with parameters.
type StateWord = Word<MessageState>;

type StateWords = Words<MessageState>;

/// Which messages are wanted.
#[derive(Debug, Clone, Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
struct MessageFilter {
    /// Only messages in one of these states.
    #[serde(default)]
    #[param(inline, style = Form, explode = false, required = false)]
    state: StateWords,
    /// Only messages about the record of this id: a quote, a booking, an invoice.
    #[param(nullable = false)]
    about_id: Option<Reference>,
}

/// A mail of the shop.
#[derive(Debug, Serialize, ToSchema)]
pub struct MessageView {
    /// The message's id.
    id: Reference,
    /// Counts the changes; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// What it is for.
    #[schema(max_length = 80, example = "quote.sent")]
    kind: String,
    /// The kind of record it tells about.
    #[schema(max_length = 80, example = "quote")]
    about_kind: String,
    /// The id of that record.
    #[schema(max_length = 80)]
    about_id: String,
    /// The recipient's name.
    #[schema(max_length = 400)]
    to_name: String,
    /// The recipient's address.
    #[schema(max_length = 254, example = "aoife@example.com")]
    to_email: String,
    /// The subject line.
    #[schema(max_length = 400)]
    subject: String,
    /// Where it stands.
    state: StateWord,
    /// How often it was tried.
    #[schema(minimum = 0, maximum = 1000)]
    tries: i32,
    /// When it is tried next; null where it no longer waits.
    next_try_at: Option<Instant>,
    /// What went wrong at the last try; null where nothing did.
    #[schema(max_length = 1000)]
    trouble: Option<String>,
    /// When it was written.
    created_at: Instant,
    /// When the mail server took it.
    sent_at: Option<Instant>,
}

/// A mail of the shop with what it says.
#[derive(Debug, Serialize, ToSchema)]
pub struct MessageWithText {
    /// What is known of it.
    #[serde(flatten)]
    message: MessageView,
    /// Its `Message-ID`, the same at every try.
    #[schema(max_length = 400)]
    header_id: String,
    /// The body as plain text.
    #[schema(max_length = 200_000)]
    text: String,
    /// The body as HTML.
    #[schema(max_length = 400_000)]
    html: String,
    /// What comes with it.
    #[schema(max_items = 20)]
    attachments: Vec<AttachmentView>,
}

/// A file that comes with a mail.
#[derive(Debug, Serialize, ToSchema)]
pub struct AttachmentView {
    /// The file's name.
    #[schema(max_length = 120, example = "booking.ics")]
    name: String,
    /// Its media type.
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

/// List messages.
///
/// One page of the mails that the shop wrote, newest first, without their text.
#[utoipa::path(tag = "message", params(MessageFilter, crate::platform::cursor::DatedParams),
    responses((status = 200, description = "One page.", body = Page<MessageView>)))]
#[get("/v1/messages")]
async fn list(call: Call<Desk>, list: List<MessageFilter>) -> Answer {
    let wanted = Wanted { states: list.filter.state.0, about: list.filter.about_id.map(Reference::into_string) };
    let found = call.read(move |tx| usecase::list(tx, &wanted, &list.paging)).await?;
    Ok(page(&found.map(MessageView::from)))
}

/// Read a message.
///
/// One mail with what it says, as plain text and as HTML.
#[utoipa::path(tag = "message", params(("id" = Reference, Path, description = "The message.")),
    responses((status = 200, description = "The message.", body = MessageWithText), (status = 304, description = "Unchanged.")))]
#[get("/v1/messages/{id}")]
async fn show(call: Call<Desk>, id: Path<String>, known: IfNoneMatch) -> Answer {
    let id = MessageId::new(id.into_inner());
    let message = call.read(move |tx| usecase::show(tx, &id)).await?;
    Ok(item(&MessageWithText::from(message), &known))
}

/// Where a failed message goes.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SendAgainBody {
    /// Another address than the one that failed; the same one where not said. The customer's record stays as it is.
    #[serde(default)]
    to_email: Option<Email>,
}

/// Send a failed message again.
///
/// Queues it as if it were new, to another address where one is given; its Message-ID stays, so that a mail program knows
/// a second copy.
#[utoipa::path(tag = "message", request_body = SendAgainBody, params(("id" = Reference, Path, description = "The message.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The message as it now stands.", body = MessageView)))]
#[post("/v1/messages/{id}/send-again")]
async fn send_again(call: Call<Desk>, id: Path<String>, seen: IfMatch, body: Body<SendAgainBody>) -> Answer {
    let id = MessageId::new(id.into_inner());
    let to_email = body.value.to_email;
    call.change(move |tx| {
        Ok(MessageView::from(usecase::send_again(tx, &id, seen, to_email.as_ref().map(Email::as_str))?))
    })
    .await
}
