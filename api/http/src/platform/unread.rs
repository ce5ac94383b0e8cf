//! Limits on the memory of large answers that wait for their reader.
//!
//! An answer is in memory until its last byte has left. A client that asks for large answers on many connections and reads
//! none of them would fill the memory, so the bytes that wait for one client, and for all clients, are counted and limited.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use actix_web::HttpResponse;
use actix_web::body::{BodySize, MessageBody};
use actix_web::http::Method;
use baywright_core::platform::refusal::Refused;

use super::pieces::in_pieces;
use super::problem::Problem;

/// Largest answer that is not counted, in bytes; the number of connections limits how many of these wait.
const SMALL: u64 = 64 << 10;

/// Bytes of counted answers that may wait for one client; a single answer is always allowed. A browser asks for six
/// photographs at once, and several people may share one address.
const OF_ONE: usize = 48 << 20;

/// Bytes of counted answers that may wait for all clients.
const IN_ALL: usize = 144 << 20;

/// Time that a client is asked to wait, in seconds.
const WAIT_SECONDS: u64 = 5;

/// The waiting answers, in bytes for each client.
#[derive(Debug, Clone, Default)]
pub struct Unread {
    waiting: Arc<Mutex<BTreeMap<String, usize>>>,
}

/// The memory that an answer takes; dropping it frees the memory.
#[derive(Debug)]
pub(super) struct Share {
    waiting: Arc<Mutex<BTreeMap<String, usize>>>,
    client: String,
    bytes: usize,
}

impl Unread {
    /// Reserves memory for an answer to that client.
    ///
    /// # Errors
    /// 429 if too much waits for the client, 503 if too much waits for all.
    fn take(&self, client: &str, bytes: usize) -> Result<Share, Problem> {
        let mut waiting = self.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        let of_client = waiting.get(client).copied().unwrap_or(0);
        let in_all: usize = waiting.values().sum();
        if of_client > 0 && of_client + bytes > OF_ONE {
            let detail = "Answers that were sent to this address have not been read yet. Read them, then ask again.";
            return Err(Problem::from(Refused::too_many("too-many-requests", detail, WAIT_SECONDS)));
        }
        if in_all > 0 && in_all + bytes > IN_ALL {
            return Err(Problem::from(Refused::unavailable(
                "Too many large answers are on their way right now. Ask again in a moment.",
            )));
        }
        waiting.insert(client.to_owned(), of_client + bytes);
        Ok(Share { waiting: Arc::clone(&self.waiting), client: client.to_owned(), bytes })
    }

    /// The answer for its connection: in pieces, and counted if it is large. The answer to a change is not counted, because a
    /// refusal would say that nothing was changed.
    ///
    /// # Errors
    /// 429 if too much waits for the client, 503 if too much waits for all.
    pub(super) fn waiting(&self, answer: HttpResponse, method: &Method, client: &str) -> Result<HttpResponse, Problem> {
        let BodySize::Sized(length @ 1..) = answer.body().size() else { return Ok(answer) };
        let (answer, body) = answer.into_parts();
        let whole = match body.try_into_bytes() {
            Ok(whole) => whole,
            Err(body) => return Ok(answer.set_body(body)),
        };
        // Content that is in memory anyway, such as the pages under /docs/, takes no more memory while it is sent.
        if length <= SMALL || !whole.is_unique() || !method.is_safe() {
            return Ok(answer.set_body(in_pieces(whole, None)));
        }
        let share = self.take(client, whole.len())?;
        Ok(answer.set_body(in_pieces(whole, Some(share))))
    }
}

impl Drop for Share {
    fn drop(&mut self) {
        let mut waiting = self.waiting.lock().unwrap_or_else(PoisonError::into_inner);
        let left = waiting.get(&self.client).map_or(0, |bytes| bytes.saturating_sub(self.bytes));
        if left == 0 {
            waiting.remove(&self.client);
        } else {
            waiting.insert(self.client.clone(), left);
        }
    }
}

#[cfg(test)]
mod tests {
    use actix_web::http::StatusCode;
    use actix_web::web::Bytes;

    use super::*;

    const MEBIBYTE: usize = 1 << 20;

    #[test]
    fn one_client_has_room_for_some_large_answers_and_gets_it_back() {
        let unread = Unread::default();
        let mut held: Vec<Share> = (0..48).map(|_| unread.take("one", MEBIBYTE).unwrap()).collect();
        assert!(unread.take("one", MEBIBYTE).is_err());
        let _other = unread.take("other", MEBIBYTE).unwrap();
        held.pop();
        held.push(unread.take("one", MEBIBYTE).unwrap());
        assert!(unread.take("one", MEBIBYTE).is_err());
        drop(held);
        assert_eq!(unread.waiting.lock().unwrap().len(), 1, "a client for whom nothing waits is forgotten");
    }

    #[test]
    fn all_clients_together_have_room_for_so_much_and_one_answer_always_has() {
        let unread = Unread::default();
        let held: Vec<Share> = (0..3).map(|client| unread.take(&client.to_string(), OF_ONE).unwrap()).collect();
        assert_eq!(unread.take("one more", 1).unwrap_err().status(), StatusCode::SERVICE_UNAVAILABLE);
        drop(held);
        let _large = unread.take("one", 2 * IN_ALL).unwrap();
    }

    #[test]
    fn a_large_answer_keeps_its_room_until_its_body_is_dropped_and_others_need_none() {
        let unread = Unread::default();
        let bytes = |length: usize| Bytes::from(vec![7; length]);
        let answered = |method: Method, body: Bytes| unread.waiting(HttpResponse::Ok().body(body), &method, "client");
        let sent = |body: Bytes| answered(Method::GET, body);
        let held: Vec<_> = (0..6).map(|_| sent(bytes(8 * MEBIBYTE)).unwrap()).collect();
        let refused = sent(bytes(8 * MEBIBYTE)).unwrap_err();
        assert_eq!(refused.status(), StatusCode::TOO_MANY_REQUESTS);
        assert!(sent(bytes(MEBIBYTE / 32)).is_ok());
        static KEPT: [u8; 1 << 20] = [7; 1 << 20];
        assert!(sent(Bytes::from_static(&KEPT)).is_ok());
        assert!(answered(Method::POST, bytes(8 * MEBIBYTE)).is_ok());
        drop(held);
        assert!(sent(bytes(8 * MEBIBYTE)).is_ok());
    }
}
