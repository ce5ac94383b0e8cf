//! A mail that shows whether mails of the shop arrive, before a customer waits for one.

use baywright_domain::id::MessageId;

use crate::mail::compose::{Notice, bodies};
use crate::mail::outbox::{self, NewMail};
use crate::message;
use crate::message::usecase::{Message, Wanted};
use crate::platform::fail::Done;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;

/// Sends a mail to that address that says only that mail works.
///
/// # Errors
/// 422 if the address is invalid.
pub fn send_test_mail(tx: &mut Tx<'_>, to_email: &str) -> Done<MessageId> {
    let notice = Notice {
        title: "Your studio can send email".to_owned(),
        opening: vec![
            format!("This is a test from {}. If you can read it, quotes and invoices will arrive too.", tx.studio.name),
            "Please reply to it once: the reply should arrive in your studio's own mailbox.".to_owned(),
        ],
        ..Notice::default()
    };
    let bodies = bodies(&tx.studio, &notice)?;
    let mail = NewMail {
        kind: "setup.test",
        to_name: String::new(),
        to_email: to_email.to_owned(),
        subject: notice.title,
        text: bodies.text,
        html: bodies.html,
        attachments: Vec::new(),
        about: ("shop", tx.studio.id.to_string()),
    };
    outbox::send(tx, mail)
}

/// The last test mail, if there was one.
pub fn last_test_mail(tx: &mut Tx<'_>) -> Done<Option<Message>> {
    let about = Wanted { states: Vec::new(), about: Some(tx.studio.id.to_string()) };
    Ok(message::usecase::list(tx, &about, &Paging::first(1))?.items.pop())
}
