//! The life of a mail: queued → sending → sent; or failed, kept, and sent again when asked.

use baywright_domain::refusal::{Kind, Refusal};

/// Where a mail stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MessageState {
    /// Waits to be sent.
    Queued,
    /// Is being handed to the mail server.
    Sending,
    /// The mail server took it.
    Sent,
    /// Given up; kept, and can be sent again.
    Failed,
}

impl MessageState {
    /// Every state, in the order of a mail's life.
    pub const ALL: &'static [Self] = &[Self::Queued, Self::Sending, Self::Sent, Self::Failed];

    /// The word in the database and on the wire.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Queued => "QUEUED",
            Self::Sending => "SENDING",
            Self::Sent => "SENT",
            Self::Failed => "FAILED",
        }
    }

    /// Reads the word.
    pub fn parse(text: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|state| state.as_str() == text)
    }
}

/// Why a mail isn't sent again.
#[derive(Debug, thiserror::Error)]
#[error("only a failed message can be sent again; this one is {}", .0.as_str().to_lowercase())]
pub struct NotFailed(pub MessageState);

impl Refusal for NotFailed {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        "wrong-state"
    }
}

/// How often a mail is tried before it is given up.
pub const MAX_TRIES: i32 = 12;

/// Minutes to wait after try number `tries` went wrong: 1, 2, 4 … at most 360, shifted by up to a fifth either way by
/// `spread` (any number), so that mails that failed together don't all come back together.
pub fn wait_ms(tries: i32, spread: u32) -> i64 {
    let doublings = u32::try_from(tries.clamp(1, 10) - 1).unwrap_or(0);
    let base = (60_000_i64 << doublings).min(360 * 60_000);
    let share = i64::from(spread % 401) - 200;
    base + base * share / 1000
}
