//! Messages: being sent, or kept and shown as failed.
//!
//! queued → sending → sent; or failed, after which it can be sent again.

use crate::life::life;
use crate::word::words;

words! {
    /// State of a message.
    pub enum MessageState("message state") {
        /// Waiting for its turn, or for its next try.
        Queued = "QUEUED" "queued",
        /// Being handed to the mail server.
        Sending = "SENDING" "being sent",
        /// Taken by the mail server.
        Sent = "SENT" "sent",
        /// Given up; kept and shown.
        Failed = "FAILED" "failed",
    }
}

words! {
    /// Moves of a message.
    pub enum MessageMove("message move") {
        /// Lease it for a try.
        TakeUp = "TAKE_UP" "taken up",
        /// The mail server accepted it.
        Deliver = "DELIVER" "delivered",
        /// The try failed, or the replica that sent it disappeared; another will follow.
        PutBack = "PUT_BACK" "put back",
        /// The last try failed, or no other would help.
        GiveUp = "GIVE_UP" "given up",
        /// Somebody requests to send it again.
        SendAgain = "SEND_AGAIN" "sent again",
    }
}

life!(
    MessageState,
    MessageMove,
    "message",
    [
        (Queued, TakeUp, Sending),
        (Sending, Deliver, Sent),
        (Sending, PutBack, Queued),
        (Sending, GiveUp, Failed),
        (Failed, SendAgain, Queued),
    ]
);

impl MessageState {
    fn hint(self, wanted: MessageMove) -> &'static str {
        match (self, wanted) {
            (Self::Sent, MessageMove::SendAgain) => "; it has arrived at the mail server, write a new one",
            (Self::Queued | Self::Sending, MessageMove::SendAgain) => "; it is on its way already",
            _ => "",
        }
    }
}

/// Time when a failed try is followed by another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Backoff {
    /// Seconds before the second try; each later one waits twice as long.
    pub first_seconds: u32,
    /// The longest wait in seconds.
    pub longest_seconds: u32,
    /// Number of tries after which it is given up.
    pub most_tries: u32,
}

/// Next step after a failed try.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AfterFailure {
    /// Another try after this number of seconds.
    TryAgainIn(u32),
    /// None: the message has failed.
    GiveUp,
}

impl Backoff {
    /// The defaults (common practice, no source): 30 seconds, doubled up to six hours, twelve tries in about fourteen hours.
    pub const USUAL: Self = Self { first_seconds: 30, longest_seconds: 6 * 3600, most_tries: 12 };

    /// Next step after the try number `tries` (from 1) failed. A permanent failure, such as an address that the server
    /// refuses, is not tried again. `jitter` is a random number from the caller: it moves the wait between half and all
    /// of its length, so that messages that failed together don't return together.
    pub fn after_failure(self, tries: u32, permanent: bool, jitter: u16) -> AfterFailure {
        if permanent || tries >= self.most_tries {
            return AfterFailure::GiveUp;
        }
        let doubled = u64::from(self.first_seconds) << tries.saturating_sub(1).min(32);
        let whole = doubled.min(u64::from(self.longest_seconds));
        let half = whole / 2;
        let wait = half + (whole - half) * u64::from(jitter) / u64::from(u16::MAX);
        AfterFailure::TryAgainIn(u32::try_from(wait).unwrap_or(self.longest_seconds))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tries_wait_twice_as_long_up_to_the_longest_and_end() {
        let waits = |jitter| {
            (1..=13).map(move |tries| match Backoff::USUAL.after_failure(tries, false, jitter) {
                AfterFailure::TryAgainIn(seconds) => Some(seconds),
                AfterFailure::GiveUp => None,
            })
        };
        let all: alloc::vec::Vec<_> = waits(u16::MAX).collect();
        let seconds = [30, 60, 120, 240, 480, 960, 1920, 3840, 7680, 15_360, 21_600].map(Some);
        assert_eq!(all[..11], seconds);
        assert_eq!(all[11..], [None, None]);
        assert!(waits(0).flatten().zip(seconds).all(|(least, whole)| Some(least * 2) == whole));
    }

    #[test]
    fn a_permanent_failure_is_not_tried_again() {
        assert_eq!(Backoff::USUAL.after_failure(1, true, 0), AfterFailure::GiveUp);
    }
}
