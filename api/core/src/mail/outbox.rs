//! Queueing a mail: one call inside the transaction of the change that causes it.

use baywright_domain::id::MessageId;

pub use crate::message::usecase::Attachment;
use crate::message::usecase::{self as message, Letter};
use crate::platform::email::Email;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;

/// A mail to be written.
#[derive(Debug, Clone, Default)]
pub struct NewMail {
    /// Kind of the mail, such as `quote.sent`.
    pub kind: &'static str,
    /// The recipient's name; may be empty.
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
    /// Kind and id of the record it tells about.
    pub about: (&'static str, String),
}

/// Maximum number of characters of a name or subject.
const LINE_CHARS: usize = 300;
/// Maximum number of characters of a body.
const BODY_CHARS: usize = 200_000;
/// Maximum size of all attachments together, in bytes: mail servers commonly accept 10 MiB and up (common practice, no
/// source).
const ATTACHED_BYTES: usize = 8 << 20;

/// Writes a mail into the outbox; it goes out if and when the transaction is committed.
///
/// Control characters become spaces, so that nothing in a name or subject can start another header.
///
/// # Errors
/// `Invalid` if the address is invalid, or the attachments are too large together.
pub fn send(tx: &mut Tx<'_>, mail: NewMail) -> Done<MessageId> {
    let to_email = Email::parse(&mail.to_email)
        .map_err(|error| Refused::invalid("no-mail-address", format!("This mail can't be sent: {error}.")))?;
    if mail.attachments.iter().map(|a| a.bytes.len()).sum::<usize>() > ATTACHED_BYTES {
        let limit = ATTACHED_BYTES >> 20;
        return Err(Refused::invalid(
            "attachments-too-large",
            format!("All attachments together may have at most {limit} MiB. Attach less, or send a link."),
        )
        .into());
    }
    let reply_to = crate::shop::usecase::settings(tx)?.profile.email.unwrap_or_default();
    let letter = Letter {
        kind: mail.kind.to_owned(),
        about: (mail.about.0.to_owned(), mail.about.1),
        from_name: line(&tx.studio.name),
        reply_to,
        to_name: line(&mail.to_name),
        to_email: to_email.into_string(),
        subject: line(&mail.subject),
        text: body(&mail.text),
        html: body(&mail.html),
        attachments: mail.attachments.into_iter().map(named).collect(),
    };
    message::queue(tx, &letter)
}

/// One line: control characters, line and paragraph separators become spaces, runs of spaces one.
fn line(text: &str) -> String {
    let breaks = |c: char| c.is_control() || matches!(c, '\u{2028}' | '\u{2029}');
    let spaced: String = text.chars().take(LINE_CHARS).map(|c| if breaks(c) { ' ' } else { c }).collect();
    spaced.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A body: lines end in a line feed, and no other control character but the tab is kept.
fn body(text: &str) -> String {
    let lines = text.replace("\r\n", "\n").replace('\r', "\n");
    lines.chars().filter(|c| !c.is_control() || matches!(c, '\n' | '\t')).take(BODY_CHARS).collect()
}

/// A file name of letters, digits, points, hyphens and underscores, which every mail program reads in the same way.
fn named(mut attachment: Attachment) -> Attachment {
    let fine = |c: char| if c.is_ascii_alphanumeric() || "._-".contains(c) { c } else { '-' };
    attachment.name = attachment.name.chars().take(100).map(fine).collect();
    attachment
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_has_no_control_character_and_a_body_only_line_feeds_and_tabs() {
        assert_eq!(line("Aoife\r\nBcc: x@example.com\u{0}\u{2028}!"), "Aoife Bcc: x@example.com !");
        assert_eq!(body("a\r\nb\rc\u{0}\td\u{7}"), "a\nb\nc\td");
        let file = Attachment { name: "a b\r\n\"ü.ics".into(), media_type: String::new(), bytes: Vec::new() };
        assert_eq!(named(file).name, "a-b----.ics");
    }
}
