//! Signing and checking of tokens for jsonwebtoken: HMAC with SHA-256, from the crates that the program already has for
//! its seals.
//!
//! The providers that come with jsonwebtoken bring elliptic curves and RSA, which this program refuses to use.

use hmac::{Hmac, KeyInit, Mac};
use jsonwebtoken::Algorithm;
use jsonwebtoken::crypto::{CryptoProvider, JwtSigner, JwtVerifier, KeyUtils};
use jsonwebtoken::errors::{Error, ErrorKind};
use sha2::Sha256;
use signature::{Signer, Verifier};

static PROVIDER: CryptoProvider = CryptoProvider {
    signer_factory: |algorithm, key| Ok(Box::new(mac(*algorithm, key.as_bytes())?)),
    verifier_factory: |algorithm, key| Ok(Box::new(mac(*algorithm, key.try_get_as_bytes()?)?)),
    key_utils: KeyUtils::new_unimplemented(),
};

/// Makes jsonwebtoken use it; may be called any number of times.
pub(super) fn install() {
    // The first call sets it for the whole process; later ones have no effect.
    let _ = PROVIDER.install_default();
}

struct Hs256(Hmac<Sha256>);

fn mac(algorithm: Algorithm, key: &[u8]) -> Result<Hs256, Error> {
    if algorithm != Algorithm::HS256 {
        return Err(ErrorKind::InvalidAlgorithm.into());
    }
    Hmac::new_from_slice(key).map(Hs256).map_err(|_| ErrorKind::InvalidKeyFormat.into())
}

impl Signer<Vec<u8>> for Hs256 {
    fn try_sign(&self, message: &[u8]) -> Result<Vec<u8>, signature::Error> {
        Ok(self.0.clone().chain_update(message).finalize().into_bytes().to_vec())
    }
}

impl Verifier<Vec<u8>> for Hs256 {
    fn verify(&self, message: &[u8], signature: &Vec<u8>) -> Result<(), signature::Error> {
        self.0.clone().chain_update(message).verify_slice(signature).map_err(signature::Error::from_source)
    }
}

impl JwtSigner for Hs256 {
    fn algorithm(&self) -> Algorithm {
        Algorithm::HS256
    }
}

impl JwtVerifier for Hs256 {
    fn algorithm(&self) -> Algorithm {
        Algorithm::HS256
    }
}
