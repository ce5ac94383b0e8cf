//! Large answers are handed to their connection in pieces.
//!
//! The framework copies what a body gives into the connection's buffer, and asks for more only once that has left. A
//! body that gives a megabyte at once therefore costs a megabyte for each client that never reads it.

use std::pin::Pin;
use std::task::{Context, Poll};

use actix_web::body::{BodySize, BoxBody, MessageBody};
use actix_web::web::Bytes;

/// The largest piece, in bytes.
const PIECE: usize = 16 * 1024;

/// A body that gives no more than [`PIECE`] at once.
struct Pieces {
    inner: BoxBody,
    rest: Bytes,
}

/// The same body, in pieces if it is large.
pub(super) fn in_pieces(body: BoxBody) -> BoxBody {
    match body.size() {
        BodySize::Sized(length) if length > PIECE as u64 => BoxBody::new(Pieces { inner: body, rest: Bytes::new() }),
        _ => body,
    }
}

impl MessageBody for Pieces {
    type Error = Box<dyn std::error::Error>;

    fn size(&self) -> BodySize {
        self.inner.size()
    }

    fn poll_next(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
    ) -> Poll<Option<Result<Bytes, Box<dyn std::error::Error>>>> {
        while self.rest.is_empty() {
            match Pin::new(&mut self.inner).poll_next(context) {
                Poll::Ready(Some(Ok(chunk))) => self.rest = chunk,
                other => return other,
            }
        }
        let length = self.rest.len().min(PIECE);
        Poll::Ready(Some(Ok(self.rest.split_to(length))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_body_comes_whole_and_in_pieces_and_a_small_one_as_it_is() {
        let text: Vec<u8> = (0..=255).cycle().take(5 * PIECE + 7).collect();
        let mut body = in_pieces(BoxBody::new(text.clone()));
        assert_eq!(body.size(), BodySize::Sized(text.len() as u64));
        let mut context = Context::from_waker(std::task::Waker::noop());
        let mut pieces = Vec::new();
        while let Poll::Ready(Some(piece)) = Pin::new(&mut body).poll_next(&mut context) {
            pieces.push(piece.unwrap());
        }
        assert_eq!(pieces.iter().map(Bytes::len).collect::<Vec<_>>(), [PIECE, PIECE, PIECE, PIECE, PIECE, 7]);
        assert_eq!(pieces.concat(), text);
        assert!(in_pieces(BoxBody::new("small")).try_into_bytes().is_ok());
    }
}
