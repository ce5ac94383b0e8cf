//! Forms are taken only from our own pages: a browser says in `Sec-Fetch-Site` which site a form comes from, and each form
//! carries a code that is an HMAC over what its page was opened with, a sign-in or a customer's link.
//!
//! `Origin` is not looked at: `Referrer-Policy: no-referrer` makes browsers send `null` there.

use actix_web::HttpRequest;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use baywright_core::platform::program::Program;
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;

/// Length of the part of the HMAC that a form contains: 144 bits.
const CODE_BYTES: usize = 18;

fn mac(program: &Program, opened_with: &str) -> Option<Hmac<Sha256>> {
    // HMAC accepts keys of any length, so there always is one.
    let mut mac = Hmac::<Sha256>::new_from_slice(&program.keys.cursor_secret()).ok()?;
    mac.update(b"form\n");
    mac.update(opened_with.as_bytes());
    Some(mac)
}

/// The code of the forms on a page that was opened with that.
pub fn form_code(program: &Program, opened_with: &str) -> String {
    let mac = mac(program, opened_with);
    mac.map(|mac| URL_SAFE_NO_PAD.encode(&mac.finalize().into_bytes()[..CODE_BYTES])).unwrap_or_default()
}

/// Whether it is the code of the forms on such a page.
pub fn is_form_code(program: &Program, opened_with: &str, code: &str) -> bool {
    let sent = URL_SAFE_NO_PAD.decode(code).ok().filter(|bytes| bytes.len() == CODE_BYTES);
    mac(program, opened_with).zip(sent).is_some_and(|(mac, sent)| mac.verify_truncated_left(&sent).is_ok())
}

/// The site that a request comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Site {
    /// A page of this service, as the browser says.
    Own,
    /// Unknown: somebody typed the address, or the browser or program says nothing.
    Unsaid,
    /// A page of another site.
    Other,
}

impl Site {
    /// The site that the request's browser names.
    pub fn of(request: &HttpRequest) -> Self {
        match request.headers().get("sec-fetch-site").and_then(|header| header.to_str().ok()) {
            Some("same-origin") => Self::Own,
            None | Some("none") => Self::Unsaid,
            Some(_) => Self::Other,
        }
    }
}
