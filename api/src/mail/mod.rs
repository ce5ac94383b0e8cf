//! Mail: written into the outbox in the transaction of what it tells about, carried later.
//!
//! [`compose`] turns a notice into text and HTML; [`outbox`] queues it; [`courier`] leases, sends and marks, never
//! inside a transaction; [`carrier`] is the way out (a mail server, or a folder of `.eml` files while none is set).
//!
//! A mail is sent at least once, never for a change that was rolled back, and with the same `Message-ID` at every try:
//! where the mail server's answer was lost it may come twice, and mail programs know the second copy by that id.

pub mod carrier;
pub mod compose;
pub mod courier;
mod mime;
pub mod outbox;
