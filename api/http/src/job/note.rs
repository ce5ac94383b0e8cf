//! Notes of a job over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_core::job::usecase::{self, NewNote, Note};
use baywright_core::platform::identity::Crew;
use baywright_core::platform::refusal::Refused;
use baywright_domain::id::{JobId, PhotoId};
use baywright_domain::menu;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::platform::answer::{Answer, Created, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Code, Instant, Reference, Text};

/// Note about a job.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = JobNoteBody)]
#[serde(deny_unknown_fields)]
pub(super) struct NoteBody {
    /// Code of the step that the note is about; null for the whole job.
    #[serde(default)]
    step: Option<Code>,
    /// Text of the note; may be empty if there are photographs.
    text: Text<2000>,
    /// Ids of photographs that were uploaded before.
    #[serde(default)]
    #[schema(max_items = 20)]
    photo_ids: Vec<Reference>,
    /// Whether the customer sees the note on the page of their stay; false if left out.
    #[serde(default)]
    for_customer: bool,
}

/// Note about a job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobNote)]
pub(super) struct NoteView {
    /// Id of the note.
    #[schema(max_length = 36)]
    id: String,
    /// Version of the note; always 1, because a note never changes.
    #[schema(minimum = 1, maximum = 1)]
    version: i64,
    /// Code of the step that the note is about; null for the whole job.
    #[schema(max_length = 40)]
    step: Option<String>,
    /// Id of the person who wrote the note.
    person_id: Reference,
    /// Text of the note.
    #[schema(max_length = 2000)]
    text: String,
    /// Ids of the photographs.
    #[schema(max_items = 20)]
    photo_ids: Vec<Reference>,
    /// Whether the customer sees the note on the page of their stay.
    for_customer: bool,
    /// Time of the note, RFC 3339 in UTC.
    at: Instant,
}

crate::versioned!(NoteView);

/// Notes of a job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobNotes)]
pub(super) struct NotesView {
    /// Notes, oldest first.
    #[schema(max_items = 500)]
    items: Vec<NoteView>,
}

impl From<Note> for NoteView {
    fn from(note: Note) -> Self {
        Self {
            id: note.id,
            version: 1,
            step: note.step,
            person_id: Reference::from(&note.person),
            text: note.text,
            photo_ids: note.photos.iter().map(Reference::from).collect(),
            for_customer: note.for_customer,
            at: Instant(note.at),
        }
    }
}

/// List the notes of a job.
///
/// Returns all notes, oldest first; a job has at most 500.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "Id of the job.")),
    responses((status = 200, description = "Notes of the job.", body = NotesView)))]
#[get("/v1/jobs/{id}/notes")]
pub(super) async fn list(call: Call<Crew>, id: Path<String>) -> Answer {
    let id = JobId::new(id.into_inner());
    let notes = call.read(move |tx| usecase::notes(tx, &id)).await?;
    Ok(plain(&NotesView { items: notes.into_iter().map(NoteView::from).collect() }))
}

/// Add a note to a job.
///
/// Stores a text, photographs that were uploaded before, or both. A note for the customer is shown on the page of their stay,
/// without the name of its writer.
#[utoipa::path(tag = "job", request_body = NoteBody, params(("id" = Reference, Path, description = "Id of the job.")),
    extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The new note.", body = NoteView)))]
#[post("/v1/jobs/{id}/notes")]
pub(super) async fn create(call: Call<Crew>, id: Path<String>, _: IdempotencyKey, body: Body<NoteBody>) -> Answer {
    let id = JobId::new(id.into_inner());
    let NoteBody { step, text, photo_ids, for_customer } = body.value;
    if photo_ids.len() > 20 {
        return Err(Refused::field("/photo_ids", "too_many", "A note takes at most 20 photographs.").into());
    }
    let step = step.map(|code| menu::Code::parse(code.as_str())).transpose().map_err(|bad| Refused::of(&bad))?;
    let photos = photo_ids.into_iter().map(PhotoId::new).collect();
    let new = NewNote { step, text: text.into(), photos, for_customer };
    call.create(move |tx| {
        let note = usecase::add_note(tx, &id, &new)?;
        Ok(Created { location: format!("/v1/jobs/{id}/notes"), view: NoteView::from(note) })
    })
    .await
}
