//! Passwords: judged when they are chosen, kept as Argon2id digests (RFC 9106), and compared.
//!
//! Each hash takes 19 MiB and a core for some 25 ms, so at most two run at a time, however many people sign in at once;
//! the others wait in line.

use std::sync::{Condvar, Mutex, PoisonError};
use std::time::Duration;

use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use argon2::{Algorithm, Argon2, Params, Version};
use unicode_normalization::UnicodeNormalization;
use zxcvbn::{Score, zxcvbn};

use super::fail::{Done, Fail};
use super::problem::Problem;
use super::wire::Secret;

/// Memory of one hash in KiB, and how often it is gone over: a pair of the OWASP Password Storage Cheat Sheet.
const MEMORY_KIB: u32 = 19_456;
const PASSES: u32 = 2;
const LANES: u32 = 1;

/// The fewest characters of a new password.
const FEWEST: usize = 12;

/// Hashes at one time.
const AT_ONCE: usize = 2;

/// How long one waits in line before being told to come again.
const PATIENCE: Duration = Duration::from_secs(10);

/// A digest that no password has, of the same cost as any other: compared where there is no account, so that the time
/// of an answer doesn't tell whether an address is known.
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
            return Err(Problem::unavailable("Too many people sign in just now. Try again in a moment.").into());
        }
        *busy += 1;
        Ok(Place(self))
    }

    /// The digest of a password, as a PHC string with salt and cost in it. Blocking.
    pub fn hash(&self, password: &Secret) -> Done<String> {
        let _place = self.place()?;
        Ok(argon()?.hash_password(&bytes(password)).map_err(Fail::unexpected)?.to_string())
    }

    /// Whether the password has that digest; without a digest it takes the same time and is a no. Blocking.
    pub fn matches(&self, password: &Secret, digest: Option<&str>) -> Done<bool> {
        let _place = self.place()?;
        let known = digest.and_then(|text| PasswordHash::new(text).ok());
        let compared = match &known {
            Some(digest) => digest.clone(),
            None => PasswordHash::new(NOBODY).map_err(Fail::unexpected)?,
        };
        let same = argon()?.verify_password(&bytes(password), &compared).is_ok();
        Ok(same && known.is_some())
    }
}

/// Whether a digest was made at a lower cost than today's.
pub fn is_outdated(digest: &str) -> bool {
    let params = PasswordHash::new(digest).ok().and_then(|digest| Params::try_from(&digest).ok());
    params.is_none_or(|p| p.m_cost() < MEMORY_KIB || (p.m_cost() == MEMORY_KIB && p.t_cost() < PASSES))
}

/// Says no to a new password that is short or easily guessed; `known` are words that a guesser would try first, such as
/// the person's and the shop's name.
pub fn judge(pointer: &str, password: &Secret, known: &[&str]) -> Result<(), Problem> {
    let text = password.expose();
    if text.chars().count() < FEWEST {
        let detail = format!("Use at least {FEWEST} characters; a few words in a row are easy to remember.");
        return Err(Problem::field(pointer, "too_short", detail));
    }
    let known = known.join(" ").to_lowercase() + " baywright studio detailing";
    let parts: Vec<&str> = known.split(['@', '.', ' ', '-']).filter(|part| part.len() > 2).collect();
    if zxcvbn(text, &parts).score() < Score::Three {
        let detail = "This password is easily guessed. Use a few words that don't belong together.";
        return Err(Problem::field(pointer, "too_weak", detail));
    }
    Ok(())
}

/// What is hashed: the same bytes however a keyboard composes its accents (NFKC, as NIST SP 800-63B asks).
fn bytes(password: &Secret) -> Vec<u8> {
    password.expose().nfkc().collect::<String>().into_bytes()
}

fn argon() -> Done<Argon2<'static>> {
    let params = Params::new(MEMORY_KIB, PASSES, LANES, None).map_err(Fail::unexpected)?;
    Ok(Argon2::new(Algorithm::Argon2id, Version::V0x13, params))
}

#[cfg(test)]
mod tests {
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
