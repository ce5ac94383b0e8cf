//! Parses telephone numbers with the tables of every country's numbering plan, in the crate `phonenumber`.
//!
//! **Why a library.** Calling codes and trunk prefixes change several times a year. So the domain only says which part
//! of a text can be dialled ([`dialable`]) and compares the parsed form; the library separates country code, trunk
//! prefix and number, with the country of the shop's address if the number names none. A number need not be in use: one
//! that its country's plan doesn't know yet is parsed as well.
//!
//! **What is stored.** The number as typed is stored and shown. `customer.phone_keys` and the search words contain the
//! parsed form. After an update of the rules or of the shop's country the scheduler computes them again
//! (`search_subject.rules`), 500 records a minute.
//!
//! **What it costs.** 20 crates; about 35 s of compiler time for a fresh build of the tests on a busy machine with two
//! processors, of which `strum_macros` takes 15 s and the library itself 8 s; and half a megabyte of tables in the
//! program. The library is named in this file only and may unwrap, so a panic there means "can't be parsed".

use std::panic::catch_unwind;

use baywright_domain::country::Country;
use baywright_domain::customer::{PhoneNumber, dialable, phone_key};
use phonenumber::country::Id;
use phonenumber::metadata::DATABASE;

/// Version of the rules by which numbers are parsed. Raise it with the library's version or with a change here: stored numbers
/// are then parsed again.
pub const RULES: u32 = 1;

/// Minimum number of digits of a number's national part. Shorter ones, such as emergency numbers, have no international
/// form.
const FEWEST_NATIONAL: usize = 5;

/// Parses a number as it was typed. A number without a country's code counts as one of `country`. `None` if it can't be
/// parsed, or if neither is known.
pub fn parse(written: &str, country: Option<Country>) -> Option<PhoneNumber> {
    let digits = dialable(written);
    // The library unwraps and slices in places: a number at which it panics is one that can't be parsed.
    catch_unwind(|| parsed(&digits, country)).ok().flatten()
}

/// The form in which numbers are compared: the international one, or the digits if the number can't be parsed.
pub fn key(written: &str, country: Option<Country>) -> String {
    phone_key(written, parse(written, country).as_ref())
}

fn parsed(digits: &str, country: Option<Country>) -> Option<PhoneNumber> {
    let mut found = once(digits, country)?;
    // A national prefix may still be in front, so the result is parsed again until it stays the same.
    for _ in 0..MOST_PREFIXES {
        let again = once(&found.international, None)?;
        if again == found {
            return Some(found);
        }
        found = again;
    }
    None
}

/// Maximum number of prefixes that are taken off a number.
const MOST_PREFIXES: usize = 3;

fn once(digits: &str, country: Option<Country>) -> Option<PhoneNumber> {
    let home = country.and_then(|country| region(country.code()));
    let abroad = digits.strip_prefix("00").map(|rest| format!("+{rest}"));
    let number = match abroad.as_deref().or(Some(digits).filter(|digits| digits.starts_with('+'))) {
        // National prefixes are those of the number's own country, not of the shop's.
        Some(international) => {
            let code = phonenumber::parse(None, international).ok()?.code().value();
            let region = DATABASE.region(&code)?.into_iter().find_map(region);
            phonenumber::parse(region, international).ok()?
        }
        None => phonenumber::parse(Some(home?), digits).ok()?,
    };
    let (code, national) = (number.code().value(), number.national().to_string());
    if national.len() < FEWEST_NATIONAL {
        return None;
    }
    let own = DATABASE.region(&code)?.into_iter().find_map(|id| DATABASE.by_id(id));
    let prefix = own.and_then(|plan| plan.national_prefix()).unwrap_or_default();
    Some(PhoneNumber { international: format!("+{code}{national}"), national: format!("{prefix}{national}") })
}

/// The country, if the library knows its numbering plan.
fn region(code: &str) -> Option<Id> {
    DATABASE.by_id(code)?;
    code.parse().ok()
}
