//! Notes about a job.

use std::collections::BTreeSet;

use baywright_domain::id::{JobId, PersonId, PhotoId};
use baywright_domain::menu::Code;
use serde_json::json;

use super::{doer, show, store};
use crate::media;
use crate::platform::clock::UtcTime;
use crate::platform::fail::Done;
use crate::platform::refusal::Refused;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// A note to be stored.
#[derive(Debug, Clone)]
pub struct NewNote {
    /// The step that it is about.
    pub step: Option<Code>,
    /// Text of the note; may be empty if there are photographs.
    pub text: String,
    /// Photographs that were uploaded before.
    pub photos: Vec<PhotoId>,
    /// Whether the customer sees it on the page of their stay.
    pub for_customer: bool,
}

/// A stored note.
#[derive(Debug, Clone)]
pub struct Note {
    /// The note's id.
    pub id: String,
    /// The step that it is about.
    pub step: Option<String>,
    /// Person who noted it.
    pub person: PersonId,
    /// Details of the hand-over.
    pub text: String,
    /// The photographs.
    pub photos: Vec<PhotoId>,
    /// Whether the customer sees it on the page of their stay.
    pub for_customer: bool,
    /// Time of the note.
    pub at: UtcTime,
}

/// All notes of a job, oldest first.
pub fn notes(tx: &mut Tx<'_>, id: &JobId) -> Done<Vec<Note>> {
    let job = show(tx, id)?;
    Ok(store::notes(tx, &job.id)?)
}

/// Stores a note, which never changes.
pub fn add_note(tx: &mut Tx<'_>, id: &JobId, new: &NewNote) -> Done<Note> {
    let job = show(tx, id)?;
    if new.text.is_empty() && new.photos.is_empty() {
        return Err(Refused::field("/text", "missing", "Write something, or add a photograph.").into());
    }
    if let Some(code) = &new.step
        && job.step(code).is_none()
    {
        return Err(Refused::field("/step", "unknown_step", "This job has no such step.").into());
    }
    if media::usecase::of_ids(tx, &new.photos)?.len() < new.photos.iter().collect::<BTreeSet<_>>().len() {
        let detail = "There is no such photograph. Upload it first.";
        return Err(Refused::field("/photo_ids", "no_such_photo", detail).into());
    }
    if store::notes_count(tx, &job.id)? >= MOST_NOTES {
        let detail = format!("A job has at most {MOST_NOTES} notes.");
        return Err(Refused::conflict("too-many-notes", detail).into());
    }
    let note = Note {
        id: ids::new(),
        step: new.step.as_ref().map(ToString::to_string),
        person: doer(tx, None)?,
        text: new.text.clone(),
        photos: new.photos.clone(),
        for_customer: new.for_customer,
        at: tx.now,
    };
    store::insert_note(tx, &job.id, &note)?;
    store::touch(tx, &job, None)?;
    let detail = json!({ "note": note.id, "photos": note.photos.len(), "for_customer": note.for_customer });
    record::write(tx, "job.noted", ("job", job.id.as_str()), detail)?;
    Ok(note)
}

/// Maximum number of notes of one job.
const MOST_NOTES: i64 = 500;
