//! Notes of a job over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_domain::id::{JobId, PhotoId};
use baywright_domain::menu;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::job::usecase::{self, NewNote, Note};
use crate::platform::answer::{Answer, Created, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::identity::Crew;
use crate::platform::problem::Problem;
use crate::platform::wire::{Code, Instant, Reference, Text};

/// Something to note.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = JobNoteBody)]
#[serde(deny_unknown_fields)]
pub(super) struct NoteBody {
    /// The step that it is about; null for the whole job.
    #[serde(default)]
    step: Option<Code>,
    /// What is to be said; may be empty where there are photographs.
    text: Text<2000>,
    /// Photographs that were stored before.
    #[serde(default)]
    #[schema(max_items = 20)]
    photo_ids: Vec<Reference>,
}

/// Something noted.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobNote)]
pub(super) struct NoteView {
    /// The note's id.
    #[schema(max_length = 36)]
    id: String,
    /// Always 1: a note never changes.
    #[schema(minimum = 1, maximum = 1)]
    version: i64,
    /// The step that it is about; null for the whole job.
    #[schema(max_length = 40)]
    step: Option<String>,
    /// Who noted it.
    person_id: Reference,
    /// What was said.
    #[schema(max_length = 2000)]
    text: String,
    /// The photographs.
    #[schema(max_items = 20)]
    photo_ids: Vec<Reference>,
    /// When.
    at: Instant,
}

crate::versioned!(NoteView);

/// Everything noted at a job.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = JobNotes)]
pub(super) struct NotesView {
    /// The notes, the oldest first.
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
            at: Instant(note.at),
        }
    }
}

/// List the notes of a job.
///
/// The oldest first; a job has at most 500.
#[utoipa::path(tag = "job", params(("id" = Reference, Path, description = "The job.")),
    responses((status = 200, description = "The notes.", body = NotesView)))]
#[get("/v1/jobs/{id}/notes")]
pub(super) async fn list(call: Call<Crew>, id: Path<String>) -> Answer {
    let id = JobId::new(id.into_inner());
    let notes = call.read(move |tx| usecase::notes(tx, &id)).await?;
    Ok(plain(&NotesView { items: notes.into_iter().map(NoteView::from).collect() }))
}

/// Note something at a job.
///
/// Words, photographs that were stored before, or both.
#[utoipa::path(tag = "job", request_body = NoteBody, params(("id" = Reference, Path, description = "The job.")),
    extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The note.", body = NoteView)))]
#[post("/v1/jobs/{id}/notes")]
pub(super) async fn create(call: Call<Crew>, id: Path<String>, _: IdempotencyKey, body: Body<NoteBody>) -> Answer {
    let id = JobId::new(id.into_inner());
    let NoteBody { step, text, photo_ids } = body.value;
    if photo_ids.len() > 20 {
        return Err(Problem::field("/photo_ids", "too_many", "A note takes at most 20 photographs."));
    }
    let step = step.map(|code| menu::Code::parse(code.as_str())).transpose().map_err(|bad| Problem::of(&bad))?;
    let new = NewNote { step, text: text.into(), photos: photo_ids.into_iter().map(PhotoId::new).collect() };
    call.create(move |tx| {
        let note = usecase::add_note(tx, &id, &new)?;
        Ok(Created { location: format!("/v1/jobs/{id}/notes"), view: NoteView::from(note) })
    })
    .await
}
