//! Sends large answers to their connection in pieces.
//!
//! The framework copies each piece of a body into the connection's buffer, and asks for the next one only once that is
//! sent. A body that yields a megabyte at once therefore costs another megabyte for each client that never reads it.
//!
//! A connection whose client takes nothing for half a minute is closed (`api/program/src/server.rs`). So clients that never
//! read cost their buffers and nothing more.

use std::convert::Infallible;
use std::pin::Pin;
use std::task::{Context, Poll};

use actix_web::body::{BodySize, BoxBody, MessageBody};
use actix_web::web::Bytes;

use super::unread::Share;

/// The largest piece, in bytes.
pub const PIECE: usize = 16 * 1024;

/// A body that yields at most [`PIECE`] bytes at once.
struct Pieces {
    rest: Bytes,
    /// The memory that the answer takes while it waits.
    _share: Option<Share>,
}

/// The body in pieces, if it is larger than one. It keeps its share of the memory for waiting answers until it is dropped.
pub(super) fn in_pieces(body: Bytes, share: Option<Share>) -> BoxBody {
    if body.len() > PIECE { BoxBody::new(Pieces { rest: body, _share: share }) } else { BoxBody::new(body) }
}

impl MessageBody for Pieces {
    type Error = Infallible;

    fn size(&self) -> BodySize {
        BodySize::Sized(self.rest.len() as u64)
    }

    fn poll_next(mut self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<Option<Result<Bytes, Infallible>>> {
        let length = self.rest.len().min(PIECE);
        Poll::Ready((length > 0).then(|| Ok(self.rest.split_to(length))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_body_comes_whole_and_in_pieces_and_a_small_one_as_it_is() {
        let text: Vec<u8> = (0..=255).cycle().take(5 * PIECE + 7).collect();
        let mut body = in_pieces(Bytes::from(text.clone()), None);
        assert_eq!(body.size(), BodySize::Sized(text.len() as u64));
        let mut context = Context::from_waker(std::task::Waker::noop());
        let mut pieces = Vec::new();
        while let Poll::Ready(Some(piece)) = Pin::new(&mut body).poll_next(&mut context) {
            pieces.push(piece.unwrap());
        }
        assert_eq!(pieces.iter().map(Bytes::len).collect::<Vec<_>>(), [PIECE, PIECE, PIECE, PIECE, PIECE, 7]);
        assert_eq!(pieces.concat(), text);
        assert!(in_pieces(Bytes::from_static(b"small"), None).try_into_bytes().is_ok());
    }
}
