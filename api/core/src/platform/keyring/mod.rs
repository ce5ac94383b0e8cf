//! Access tokens: JSON Web Tokens (RFC 7519), signed with HMAC-SHA-256 and nothing else.
//!
//! jsonwebtoken is wrapped because its defaults are looser than RFC 8725 asks: here the algorithm, `typ`, issuer,
//! audience and key id are fixed, `crit` and embedded keys are refused, time is the program's clock with no leeway, and
//! a short key is an error. The newest key signs; retired ones still verify until the last token they signed has ended.

mod hmac_sha256;
pub mod kept;

use std::sync::{Arc, PoisonError, RwLock};

use jsonwebtoken::{Algorithm, DecodingKey, EncodingKey, Header, Validation};
use secrecy::{ExposeSecret, SecretSlice};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::platform::clock::UtcTime;

/// Minutes for which an access token is valid.
pub const ACCESS_MINUTES: i64 = 15;

const ISSUER: &str = "baywright";
const AUDIENCE: &str = "baywright-api";
const TYPE: &str = "at+jwt";
/// Length of a key in bytes: that of the digest (RFC 7518, 3.2).
const KEY_BYTES: usize = 32;
/// Longer than any token that the program signs.
const TOKEN_BYTES: usize = 2048;

/// Claims of a token.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Claims {
    /// Issuer of the token: always this program.
    pub iss: String,
    /// Audience of the token: always this API.
    pub aud: String,
    /// The person.
    pub sub: String,
    /// The sign-in.
    pub sid: String,
    /// The shop.
    pub shop: String,
    /// Time of signing, in seconds since the epoch.
    pub iat: i64,
    /// Not before, seconds.
    pub nbf: i64,
    /// Ends at, seconds.
    pub exp: i64,
}

/// One signing key.
#[derive(Debug, Clone)]
pub struct Key {
    /// Its id, the token's `kid`.
    pub id: String,
    secret: SecretSlice<u8>,
}

/// Reason why a key can't be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("a token key needs at least 32 bytes")]
pub struct ShortKey;

/// A refused token. The caller only learns that it is refused, not why.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the access token is not valid or has ended")]
pub struct Refused;

impl Key {
    /// A key with that id and secret.
    ///
    /// # Errors
    /// [`ShortKey`] below 32 bytes.
    pub fn new(id: impl Into<String>, secret: Vec<u8>) -> Result<Self, ShortKey> {
        if secret.len() < KEY_BYTES {
            return Err(ShortKey);
        }
        Ok(Self { id: id.into(), secret: SecretSlice::from(secret) })
    }

    /// The secret, to derive other keys from it.
    pub fn expose(&self) -> &[u8] {
        self.secret.expose_secret()
    }
}

/// The keys in use, newest first; shared by all threads and replaced together.
#[derive(Debug, Clone, Default)]
pub struct Keyring {
    keys: Arc<RwLock<Vec<Key>>>,
}

impl Keyring {
    /// A ring of those keys, the signing one first.
    pub fn new(keys: Vec<Key>) -> Self {
        Self { keys: Arc::new(RwLock::new(keys)) }
    }

    /// Replaces the keys.
    pub fn replace(&self, keys: Vec<Key>) {
        *self.keys.write().unwrap_or_else(PoisonError::into_inner) = keys;
    }

    /// The key that signs now.
    pub fn signing(&self) -> Option<Key> {
        self.keys.read().unwrap_or_else(PoisonError::into_inner).first().cloned()
    }

    /// A secret for list cursors. It is derived from the oldest key, so that cursors stay valid after a rotation.
    pub fn cursor_secret(&self) -> Vec<u8> {
        let keys = self.keys.read().unwrap_or_else(PoisonError::into_inner);
        keys.last().map(|key| Sha256::digest([b"cursor:", key.expose()].concat()).to_vec()).unwrap_or_default()
    }

    fn by_id(&self, id: &str) -> Option<Key> {
        self.keys.read().unwrap_or_else(PoisonError::into_inner).iter().find(|key| key.id == id).cloned()
    }

    /// Signs a token for a sign-in; it is valid for [`ACCESS_MINUTES`].
    ///
    /// # Errors
    /// [`Refused`] if there is no key.
    pub fn sign(&self, person: &str, session: &str, shop: &str, now: UtcTime) -> Result<String, Refused> {
        let key = self.signing().ok_or(Refused)?;
        let seconds = now.ms().div_euclid(1000);
        let claims = Claims {
            iss: ISSUER.to_owned(),
            aud: AUDIENCE.to_owned(),
            sub: person.to_owned(),
            sid: session.to_owned(),
            shop: shop.to_owned(),
            iat: seconds,
            nbf: seconds,
            exp: seconds + ACCESS_MINUTES * 60,
        };
        let mut header = Header::new(Algorithm::HS256);
        header.typ = Some(TYPE.to_owned());
        header.kid = Some(key.id.clone());
        hmac_sha256::install();
        jsonwebtoken::encode(&header, &claims, &EncodingKey::from_secret(key.expose())).map_err(|_| Refused)
    }

    /// The claims of a token that one of these keys signed and that is valid at `now`.
    ///
    /// # Errors
    /// [`Refused`], whatever is wrong with the token.
    pub fn verify(&self, token: &str, now: UtcTime) -> Result<Claims, Refused> {
        if token.len() > TOKEN_BYTES {
            return Err(Refused);
        }
        let header = jsonwebtoken::decode_header(token).map_err(|_| Refused)?;
        let plain = header.alg == Algorithm::HS256
            && header.typ.as_deref() == Some(TYPE)
            && header.crit.is_none()
            && header.jwk.is_none()
            && header.jku.is_none()
            && header.x5u.is_none()
            && header.x5c.is_none()
            && header.enc.is_none()
            && header.zip.is_none()
            && header.cty.is_none()
            && header.extras.inner().is_empty();
        let key = header.kid.as_deref().filter(|_| plain).and_then(|id| self.by_id(id)).ok_or(Refused)?;
        let mut rules = Validation::new(Algorithm::HS256);
        rules.set_issuer(&[ISSUER]);
        rules.set_audience(&[AUDIENCE]);
        rules.set_required_spec_claims(&["exp", "nbf", "iss", "aud", "sub"]);
        // Time is checked below, against the program's clock.
        rules.validate_exp = false;
        rules.validate_nbf = false;
        hmac_sha256::install();
        let decoded = jsonwebtoken::decode::<Claims>(token, &DecodingKey::from_secret(key.expose()), &rules);
        let claims = decoded.map_err(|_| Refused)?.claims;
        let seconds = now.ms().div_euclid(1000);
        let holds = claims.nbf <= seconds
            && claims.iat <= seconds
            && seconds < claims.exp
            && claims.exp - claims.iat <= ACCESS_MINUTES * 60;
        if holds { Ok(claims) } else { Err(Refused) }
    }
}
