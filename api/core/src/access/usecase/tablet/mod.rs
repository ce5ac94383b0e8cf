//! Tablets beside the bays: devices that the owner enrols once, on which people sign in with a tap and four digits.
//!
//! The owner adds a tablet and gets a code. Typed on the device within the hour, it enrols that device: a cookie names it from
//! then on, and only its digest is kept. A person who has digits is then listed there.
//!
//! **Such a sign-in opens the pages of the bays alone**, whatever the person's role: four digits are seen over a shoulder and
//! shared in a hurry. A page has to say that it is for tablets ([`Audience`](crate::platform::identity::Audience)); every
//! other one refuses the sign-in. It ends after the minutes without use that the owner has chosen for the tablet, after a
//! working day in any case, and at once if the tablet is ended.
//!
//! **Digits are no password**: they are kept in a table of their own, nothing but [`sign_in`] compares them, and it needs the
//! cookie of an enrolled tablet. `tries.rs` says how guesses are slowed.

mod device;
mod digits;
mod sign_in;
mod tries;

use baywright_domain::id::{PersonId, TabletId};

use crate::platform::clock::UtcTime;

pub use device::{CODE_MINUTES, NewTablet, add, end, enrol, tablets};
pub use digits::{digest_of, drop_digits, keep_digits, may_have_digits, with_digits};
pub use sign_in::{Here, here, is_at_tablet, sign_in};

/// Minutes without use after which a sign-in on a tablet ends: the fewest, the usual and the most. A use is written down every
/// five minutes, so a shorter time could end a sign-in that another process of the program has just seen.
pub const IDLE: [u32; 3] = [10, 10, 30];

/// A tablet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tablet {
    /// Its id.
    pub id: TabletId,
    /// Version, which every change raises by one.
    pub version: i64,
    /// What people call it.
    pub name: String,
    /// Minutes without use after which a sign-in on it ends.
    pub idle_minutes: u32,
    /// Time until which its code can be used; `None` once it is enrolled or ended.
    pub code_ends_at: Option<UtcTime>,
    /// Time when a device was enrolled; `None` before.
    pub enrolled_at: Option<UtcTime>,
    /// Time when it was ended; `None` while it is used.
    pub ended_at: Option<UtcTime>,
    /// Time when the record was made.
    pub created_at: UtcTime,
    /// Time when it last changed.
    pub updated_at: UtcTime,
}

/// A person who can sign in on a tablet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AtTablet {
    /// Id of the person.
    pub id: PersonId,
    /// Name of the person as colleagues use it.
    pub name: String,
}
