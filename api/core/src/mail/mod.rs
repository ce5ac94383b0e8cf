//! Mail: written into the outbox in the transaction of the change that causes it, sent later.
//!
//! [`compose`] turns a notice into text and HTML; [`outbox`] queues it; [`courier`] leases, sends and stores the
//! result, never inside a transaction; [`carrier`] delivers (to a mail server, or into a folder of `.eml` files while
//! none is set).
//!
//! A mail is sent at least once, never for a change that was rolled back, and with the same `Message-ID` at every try:
//! if the mail server's answer was lost, the mail may arrive twice, and mail programs recognise the second copy by that
//! id.
//!
//! **A new kind of mail** is a [`compose::Notice`] in the feature that has a reason for it, and a call of
//! [`outbox::send`] with a kind of its own (`quote.sent`, say) in the use case that causes it. Both are in the
//! transaction of the change, so the mail is sent if and only if the change happened. In a test, `studio.tick()` runs
//! the courier and `studio.mails()` reads what arrived. A test fails until `tests/src/make/mails.rs` writes a mail of
//! the new kind, so that the part `mails` of `tests/run` checks it.

pub mod carrier;
pub mod compose;
pub mod courier;
mod mime;
pub mod outbox;
