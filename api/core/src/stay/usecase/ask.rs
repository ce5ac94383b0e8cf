//! A customer asks a question: it is kept with the stay and mailed to the studio.

use baywright_domain::legible::{is_bidi_control, is_seen};
use baywright_domain::stay::may_ask;
use serde_json::json;

use super::{Question, letter, questions, store, visit_of};
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};
use crate::signoff::usecase::Link;

/// Maximum number of characters of a question.
pub const MOST_LETTERS: usize = 1000;

/// Minutes of a day.
const DAY_MINUTES: i64 = 24 * 60;

/// Minutes within which the same words again are one question: a form that is sent twice.
const SAME_MINUTES: i64 = 10;

/// Keeps a question and mails it to the studio, if that has an email address.
///
/// # Errors
/// `Invalid` if nothing is written, too much, or something that changes the reading direction; `Conflict` if too many
/// questions were asked.
pub fn ask(tx: &mut Tx<'_>, link: &Link, text: &str) -> Done<()> {
    let visit = visit_of(tx, link)?;
    let text = text.trim();
    if !is_seen(text) {
        return Err(Refused::field("/question", "missing", "Write your question.").into());
    }
    if text.chars().count() > MOST_LETTERS {
        let detail = format!("Write at most {MOST_LETTERS} characters, or call us.");
        return Err(Refused::field("/question", "too_long", detail).into());
    }
    if text.chars().any(is_bidi_control) {
        let detail = "Leave out the signs that change the reading direction.";
        return Err(Refused::field("/question", "misleading", detail).into());
    }
    let quote = &visit.head.quote;
    let before = questions(tx, quote)?;
    let since = |minutes: i64| tx.now.plus_minutes(-minutes);
    let (same, day) = (since(SAME_MINUTES), since(DAY_MINUTES));
    if before.iter().any(|known| known.asked_at > same && known.text == text) {
        return Ok(());
    }
    may_ask(before.iter().filter(|known| known.asked_at > day).count(), before.len())?;
    let question = Question { id: ids::new(), text: text.to_owned(), asked_at: tx.now };
    store::insert(tx, quote, link, &question)?;
    record::write(tx, "stay.asked", ("quote", quote.as_str()), json!({ "question": question.id }))?;
    letter::asked(tx, &visit, &question)
}
