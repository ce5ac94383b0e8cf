//! Lists of moves that are made in order: work that was noted without a network is told at once when it is back.
//!
//! Each move is answered for itself. One that is refused changes nothing, and those behind it are tried all the same,
//! because the rules refuse what was built on it. Each has a key of its own, so that a list whose answer was lost can be sent
//! again: moves that were made before are not made twice.

use std::fmt::Write;

use baywright_domain::id::{JobId, PersonId};
use baywright_domain::job::ToldMove;
use baywright_domain::menu::Code;

use super::{Finish, Job, Said, finish, own, start, stop, whole};
use crate::platform::canonical;
use crate::platform::clock::UtcTime;
use crate::platform::fail::{Done, Fail};
use crate::platform::refusal::Refused;
use crate::platform::replay::{self, StoredAnswer};
use crate::platform::tx::Tx;

/// Maximum number of moves of one list.
pub const MOST_ACTIONS: usize = 100;

/// A move of a list.
#[derive(Debug, Clone)]
pub struct Action {
    /// Key under which it is made once, within a day.
    pub key: String,
    /// Code of the step.
    pub step: Code,
    /// The move.
    pub what: ToldMove,
    /// Id of the person who works; `None` for the one who asks.
    pub who: Option<PersonId>,
    /// Time when it was made; `None` for now.
    pub at: Option<UtcTime>,
    /// Products that were used, for a finish.
    pub finish: Finish,
}

/// What became of a move of a list.
#[derive(Debug, Clone)]
pub enum Outcome {
    /// It was made now.
    Made,
    /// It was made before, under the same key.
    Repeated,
    /// It was refused, and changed nothing.
    Refused(Box<Refused>),
}

/// Makes the moves in order; gives the job after them and what became of each.
///
/// # Errors
/// `NotFound` or `NotAllowed` for the job as a whole. What refuses one move is its outcome.
pub fn act(tx: &mut Tx<'_>, id: &JobId, actions: &[Action]) -> Done<(Job, Vec<Outcome>)> {
    let job = whole(tx, id)?;
    own(tx, &job)?;
    let mut outcomes = Vec::with_capacity(actions.len());
    for action in actions {
        outcomes.push(outcome(tx, id, action)?);
    }
    Ok((whole(tx, id)?, outcomes))
}

/// Makes one move in a part of the transaction of its own.
fn outcome(tx: &mut Tx<'_>, id: &JobId, action: &Action) -> Done<Outcome> {
    let warned = tx.warnings.len();
    // A key of a list is another one than the same key of a request.
    let route = format!("POST /v1/jobs/{id}/actions, one");
    let fingerprint = fingerprint(action);
    let kept = tx.part(|tx| replay::once(tx, &route, &action.key, &fingerprint, &mut |tx| made(tx, id, action)));
    match kept {
        Ok(kept) if kept.replayed => Ok(Outcome::Repeated),
        Ok(_) => Ok(Outcome::Made),
        Err(Fail::Refused(refused)) => {
            tx.warnings.truncate(warned);
            Ok(Outcome::Refused(Box::new(refused.on_the_wall(&tx.studio.zone))))
        }
        Err(other) => Err(other),
    }
}

fn made(tx: &mut Tx<'_>, id: &JobId, action: &Action) -> Done<StoredAnswer> {
    let said = Said { seen: None, who: action.who.clone(), at: action.at };
    match action.what {
        ToldMove::Start => start(tx, id, &action.step, &said),
        ToldMove::Stop => stop(tx, id, &action.step, &said),
        ToldMove::Finish => finish(tx, id, &action.step, &said, &action.finish),
    }?;
    Ok(StoredAnswer { status: 200, location: String::new(), etag: String::new(), body: String::new(), replayed: false })
}

/// Digest of a move, by which a repeated one is told from another one under the same key.
fn fingerprint(action: &Action) -> String {
    let who = action.who.as_ref().map_or("", PersonId::as_str);
    let at = action.at.map(|at| at.to_string()).unwrap_or_default();
    let mut text = format!("{}\n{}\n{who}\n{at}", action.step, action.what.as_str());
    for (product, amount) in &action.finish.used {
        let _ = write!(text, "\n{product} {}", amount.normalize());
    }
    canonical::digest(&text)
}
