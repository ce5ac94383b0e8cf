//! A mail in its transport form: RFC 5322 with MIME, made by typed builders only.

use std::time::{Duration, UNIX_EPOCH};

use lettre::Address;
use lettre::message::header::{ContentType, Header, HeaderName, HeaderValue};
use lettre::message::{Attachment, Mailbox, Message as Mime, MultiPart};

use crate::message::usecase::Message;

/// `Auto-Submitted: auto-generated` (RFC 3834) prevents automatic replies.
#[derive(Clone)]
struct AutoSubmitted;

impl Header for AutoSubmitted {
    fn name() -> HeaderName {
        HeaderName::new_from_ascii_str("Auto-Submitted")
    }

    fn parse(_: &str) -> Result<Self, Box<dyn std::error::Error + Send + Sync>> {
        Ok(Self)
    }

    fn display(&self) -> HeaderValue {
        HeaderValue::new(Self::name(), "auto-generated".to_owned())
    }
}

/// The mail in its transport form; `from` is the program's sender address.
///
/// # Errors
/// If a builder refuses the content: such a mail can never be sent.
pub(super) fn mime(message: &Message, from: &str) -> Result<Mime, String> {
    let letter = &message.letter;
    let written = UNIX_EPOCH + Duration::from_millis(u64::try_from(message.created_at.ms()).unwrap_or(0));
    let mut builder = Mime::builder()
        .from(mailbox(&letter.from_name, from)?)
        .to(mailbox(&letter.to_name, &letter.to_email)?)
        .subject(letter.subject.clone())
        .date(written)
        .message_id(Some(message.header_id.clone()))
        .header(AutoSubmitted);
    if !letter.reply_to.is_empty() {
        builder = builder.reply_to(mailbox(&letter.from_name, &letter.reply_to)?);
    }
    let bodies = MultiPart::alternative_plain_html(letter.text.clone(), letter.html.clone());
    let whole = if letter.attachments.is_empty() {
        bodies
    } else {
        letter.attachments.iter().fold(MultiPart::mixed().multipart(bodies), |parts, file| {
            let kind = ContentType::parse(&file.media_type)
                .or_else(|_| ContentType::parse("application/octet-stream"))
                .unwrap_or(ContentType::TEXT_PLAIN);
            parts.singlepart(Attachment::new(file.name.clone()).body(file.bytes.clone(), kind))
        })
    };
    builder.multipart(whole).map_err(|error| error.to_string())
}

/// A name may not start with a point (RFC 5322, 3.2.5 and 4.1), but lettre would write it unchanged.
fn mailbox(name: &str, address: &str) -> Result<Mailbox, String> {
    let name = name.trim_start_matches(['.', ' ']);
    let address: Address = address.parse().map_err(|error| format!("{address:?}: {error}"))?;
    Ok(Mailbox::new(Some(name.to_owned()).filter(|name| !name.is_empty()), address))
}
