//! Secrets that the program hands out and keeps as digests only.

use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

use crate::documents::canonical;
use crate::platform::fail::{Done, Fail};
use crate::platform::ids;

/// A fresh token of 256 random bits, and the digest under which it is kept.
pub(super) fn fresh() -> Done<(String, String)> {
    let token = URL_SAFE_NO_PAD.encode(ids::random::<32>().map_err(Fail::unexpected)?);
    let digest = digest(&token);
    Ok((token, digest))
}

/// The digest of a token. It needs no salt: the token is random itself.
pub(super) fn digest(token: &str) -> String {
    canonical::digest(token)
}
