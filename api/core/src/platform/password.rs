//! Passwords: checked when they are chosen, stored as Argon2id digests (RFC 9106), and compared.
//!
//! Each hash takes 19 MiB and a core for some 25 ms, so at most two run at a time; if more people sign in at once, they
//! wait in line. The memory goes back to the system at once.

use std::sync::{Condvar, Mutex, PoisonError};
use std::time::Duration;

use argon2::password_hash::phc::{Output, ParamsString, PasswordHash, Salt};
use argon2::{Algorithm, Argon2, Block, Params, Version};
use unicode_normalization::UnicodeNormalization;
use zxcvbn::{Score, zxcvbn};

use super::fail::{Done, Fail};
use super::refusal::Refused;
use super::secret::Secret;
use super::{ids, mapped};

/// Memory of one hash in KiB, and the number of passes over it: a pair of the OWASP Password Storage Cheat Sheet.
const MEMORY_KIB: u32 = 19_456;
const PASSES: u32 = 2;
const LANES: u32 = 1;

/// Bytes of the salt (RFC 9106, section 3.1).
const SALT_BYTES: usize = 16;

/// Minimum number of characters of a new password.
const FEWEST: usize = 12;

/// Maximum number of hashes at the same time.
const AT_ONCE: usize = 2;

/// Time that a request waits in line before it is asked to try again later.
const PATIENCE: Duration = Duration::from_secs(10);

/// A digest that matches no password, with the same cost as any other. It is compared if there is no account, so that
/// the time of an answer doesn't show whether an address is known.
const NOBODY: &str =
    "$argon2id$v=19$m=19456,t=2,p=1$YmF5d3JpZ2h0LW5vYm9keQ$47DEQpj8HBSa+/TImW+5JCeuQeRkm5NMpJWZG3hSuFU";

/// The line before the hashing.
#[derive(Debug, Default)]
pub struct Passwords {
    busy: Mutex<usize>,
    freed: Condvar,
}

struct Place<'a>(&'a Passwords);

impl Drop for Place<'_> {
    fn drop(&mut self) {
        *self.0.busy.lock().unwrap_or_else(PoisonError::into_inner) -= 1;
        self.0.freed.notify_one();
    }
}

impl Passwords {
    fn place(&self) -> Done<Place<'_>> {
        let busy = self.busy.lock().unwrap_or_else(PoisonError::into_inner);
        let waited = self.freed.wait_timeout_while(busy, PATIENCE, |busy| *busy >= AT_ONCE);
        let (mut busy, timeout) = waited.unwrap_or_else(PoisonError::into_inner);
        if timeout.timed_out() {
            return Err(Refused::unavailable("Too many people are signing in right now. Try again in a moment.").into());
        }
        *busy += 1;
        Ok(Place(self))
    }

    /// The digest of a password, as a PHC string with salt and cost in it. Blocking.
    pub fn hash(&self, password: &Secret) -> Done<String> {
        let _place = self.place()?;
        let params = Params::new(MEMORY_KIB, PASSES, LANES, None).map_err(Fail::unexpected)?;
        let salt = Salt::new(&ids::random::<SALT_BYTES>().map_err(Fail::unexpected)?).map_err(Fail::unexpected)?;
        let digest = PasswordHash {
            algorithm: Algorithm::Argon2id.ident(),
            version: Some(Version::V0x13.into()),
            params: ParamsString::try_from(&params).map_err(Fail::unexpected)?,
            salt: Some(salt),
            hash: None,
        };
        let hash = hashed(password, &digest).ok_or_else(|| Fail::unexpected("the password could not be hashed"))?;
        Ok(PasswordHash { hash: Some(hash), ..digest }.to_string())
    }

    /// Whether the password matches that digest; without a digest it takes the same time and returns false. Blocking.
    pub fn matches(&self, password: &Secret, digest: Option<&str>) -> Done<bool> {
        let _place = self.place()?;
        let known = digest.and_then(|text| PasswordHash::new(text).ok());
        let compared = match &known {
            Some(digest) => digest.clone(),
            None => PasswordHash::new(NOBODY).map_err(Fail::unexpected)?,
        };
        // Two outputs are compared in constant time.
        let same = hashed(password, &compared).is_some_and(|hash| compared.hash == Some(hash));
        Ok(same && known.is_some())
    }
}

/// Whether a digest was made at a lower cost than today's.
pub fn is_outdated(digest: &str) -> bool {
    let params = PasswordHash::new(digest).ok().and_then(|digest| Params::try_from(&digest).ok());
    params.is_none_or(|p| p.m_cost() < MEMORY_KIB || (p.m_cost() == MEMORY_KIB && p.t_cost() < PASSES))
}

/// Refuses a new password that is short or easily guessed; `known` are words that a guesser would try first, such as the
/// names of the person and the shop.
pub fn judge(pointer: &str, password: &Secret, known: &[&str]) -> Result<(), Refused> {
    let text = password.expose();
    if text.chars().count() < FEWEST {
        let detail = format!("Use at least {FEWEST} characters; a few words in a row are easy to remember.");
        return Err(Refused::field(pointer, "too_short", detail));
    }
    let known = known.join(" ").to_lowercase() + " baywright studio detailing";
    let parts: Vec<&str> = known.split(['@', '.', ' ', '-']).filter(|part| part.len() > 2).collect();
    if zxcvbn(text, &parts).score() < Score::Three {
        let detail = "This password is easily guessed. Use a few words that don't belong together.";
        return Err(Refused::field(pointer, "too_weak", detail));
    }
    Ok(())
}

/// The bytes that are hashed: they are the same however a keyboard composes accents (NFKC, as NIST SP 800-63B asks).
fn bytes(password: &Secret) -> Vec<u8> {
    password.expose().nfkc().collect::<String>().into_bytes()
}

/// The hash of a password by the algorithm, cost and salt of a digest; `None` if that names none that can be used.
fn hashed(password: &Secret, digest: &PasswordHash) -> Option<Output> {
    let params = Params::try_from(digest).ok()?;
    let algorithm = Algorithm::try_from(digest.algorithm.as_str()).ok()?;
    let version = digest.version.map_or(Ok(Version::V0x13), Version::try_from).ok()?;
    let mut memory = memory(params.block_count());
    let mut out = vec![0; digest.hash.as_ref().map_or(Params::DEFAULT_OUTPUT_LEN, Output::len)];
    let (argon, salt) = (Argon2::new(algorithm, version, params), digest.salt.as_ref()?);
    argon.hash_password_into_with_memory(&bytes(password), salt, &mut out, &mut memory).ok()?;
    Output::new(&out).ok()
}

/// Memory of one hash.
fn memory(blocks: usize) -> Vec<Block> {
    let mut memory = mapped::room(blocks);
    memory.resize(blocks, Block::new());
    memory
}

#[cfg(test)]
mod tests {
    use argon2::password_hash::{PasswordHasher, PasswordVerifier};

    use super::*;

    fn secret(text: &str) -> Secret {
        Secret::new(text.to_owned()).unwrap()
    }

    #[test]
    fn a_password_fits_its_own_digest_and_no_other() {
        let line = Passwords::default();
        let digest = line.hash(&secret("thirteen quiet buckets")).unwrap();
        assert!(digest.starts_with("$argon2id$v=19$m=19456,t=2,p=1$"), "{digest}");
        assert!(line.matches(&secret("thirteen quiet buckets"), Some(&digest)).unwrap());
        for other in ["thirteen quiet bucket", "Thirteen quiet buckets", "thirteen quiet buckets "] {
            assert!(!line.matches(&secret(other), Some(&digest)).unwrap(), "{other}");
        }
        assert!(!line.matches(&secret("thirteen quiet buckets"), None).unwrap());
        assert!(!line.matches(&secret("none"), Some("none")).unwrap());
    }

    /// The library's own functions read and check the digests, and the other way round, so that existing ones stay
    /// valid.
    #[test]
    fn a_digest_is_one_that_any_argon2_reads() {
        let line = Passwords::default();
        let ours = line.hash(&secret("thirteen quiet buckets")).unwrap();
        let parsed = PasswordHash::new(&ours).unwrap();
        assert!(Argon2::default().verify_password(b"thirteen quiet buckets", &parsed).is_ok());
        assert!(Argon2::default().verify_password(b"thirteen quiet bucket", &parsed).is_err());
        let theirs = Argon2::default().hash_password(b"thirteen quiet buckets").unwrap().to_string();
        assert!(line.matches(&secret("thirteen quiet buckets"), Some(&theirs)).unwrap());
        let cheaper = theirs.replace("m=19456", "m=8192");
        assert!(!line.matches(&secret("thirteen quiet buckets"), Some(&cheaper)).unwrap());
    }

    #[test]
    fn accents_match_however_they_were_composed() {
        let line = Passwords::default();
        let digest = line.hash(&secret("caf\u{e9} caf\u{e9} caf\u{e9}")).unwrap();
        assert!(line.matches(&secret("cafe\u{301} cafe\u{301} cafe\u{301}"), Some(&digest)).unwrap());
    }

    #[test]
    fn the_digest_of_nobody_costs_as_much_as_any_other() {
        assert!(PasswordHash::new(NOBODY).is_ok() && !is_outdated(NOBODY));
        assert!(is_outdated(&NOBODY.replace("t=2", "t=1")) && is_outdated("none"));
    }

    #[test]
    fn weak_passwords_are_refused_with_what_to_do() {
        let known = ["Niamh Quay", "niamh@quaystudio.example", "Quay Studio"];
        for weak in ["short", "passwordpassword", "123456789012", "qwertyuiop12", "niamhniamhniamh", "baywright2026"] {
            assert!(judge("/password", &secret(weak), &known).is_err(), "{weak}");
        }
        assert!(judge("/password", &secret("thirteen quiet buckets"), &known).is_ok());
    }
}
