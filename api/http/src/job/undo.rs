//! Undoing and correcting over HTTP.

use actix_web::web::Path;
use actix_web::{post, put};
use baywright_core::invoice::usecase::not_invoiced_since;
use baywright_core::job::usecase;
use baywright_core::platform::identity::Crew;
use baywright_domain::id::{BookingId, PersonId};
use baywright_domain::job::Piece;
use serde::Deserialize;
use utoipa::ToSchema;

use super::step::{address, go};
use super::view::StepView;
use crate::booking::BookingView;
use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Code, Instant, Line, Reference};

/// Reason for undoing a move.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "reason": "Tapped the wrong car." }))]
pub(super) struct UndoBody {
    /// Reason for undoing the move; needed once the shop's grace period is over (`undo_minutes` in its terms). Before
    /// that it may be null or left out.
    #[serde(default)]
    reason: Option<Line<500>>,
}

/// Corrected times of a step.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "reason": "Forgot to stop the clock at lunch.",
    "pieces": [{ "person_id": "0198c0de-0000-7000-8000-000000000001", "start": "2026-03-02T08:00:00Z",
        "finish": "2026-03-02T08:45:00Z" }]
}))]
pub(super) struct TimesBody {
    /// Reason for correcting the times.
    reason: Line<500>,
    /// All pieces of work on the step, in any order, including those that stay unchanged.
    #[schema(max_items = 500)]
    pieces: Vec<PieceBody>,
}

/// Piece of work of one person on a step.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = WorkedPieceBody)]
#[serde(deny_unknown_fields)]
pub(super) struct PieceBody {
    /// Id of the person who worked.
    person_id: Reference,
    /// Start of the work, RFC 3339; not in the future.
    start: Instant,
    /// End of the work, RFC 3339, not before the start and not in the future; null if the person is still working on
    /// the step.
    finish: Option<Instant>,
}

/// Reason and time for ending a wait early.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "reason": "Cured under the infrared lamp.", "from": null }))]
pub(super) struct EndWaitBody {
    /// Reason why later steps may begin early.
    reason: Line<500>,
    /// Time when later steps may begin, RFC 3339: not in the past and earlier than before; the current time if null or
    /// left out.
    #[serde(default)]
    from: Option<Instant>,
}

/// Undo the last move of a booking.
///
/// Undoes an arrival, ready, hand-over, no-show, or the cancellation of a confirmed booking. The booking, its place,
/// the people's time and its job are as they were before; a customer who was told of a cancellation is told that the
/// booking is valid again. A second undo takes back the move before. The record of a hand-over is removed with it.
///
/// If something was built on the move, the answer is 409 `undo-first`, and its text says what to undo first: a step
/// that was begun, an invoice, a bay that was given to another car. After the shop's grace period (`undo_minutes` in
/// its terms) a reason is needed, else the answer is 422 `undo-reason-needed`.
#[utoipa::path(tag = "job", request_body = UndoBody,
    params(("id" = Reference, Path, description = "Id of the booking.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The booking as it was before the move.", body = BookingView)))]
#[post("/v1/bookings/{id}/undo")]
pub(super) async fn undo_booking(
    call: Call<Crew>,
    id: Path<String>,
    IfMatch(seen): IfMatch,
    body: Body<UndoBody>,
) -> Answer {
    let (id, reason) = (BookingId::new(id.into_inner()), body.value.reason);
    call.change(move |tx| {
        let reason = reason.as_ref().map(Line::as_str);
        let undone = usecase::undo_booking(tx, &id, seen, reason, not_invoiced_since)?;
        Ok(BookingView::of(undone, tx))
    })
    .await
}

/// Undo the last move of a step.
///
/// Undoes a start, a stop, a finish, a removal, a correction of times or the early end of a wait. The step and its
/// clock are as they were before: after a finish is undone, the clocks that ran before it continue from their original
/// start. A second undo takes back the move before.
///
/// Refused with 409 `undo-first` while later steps that depend on it have begun, or if somebody whose clock would
/// continue has worked on another step or car since; the text names what to undo first. Refused with 409 `person-busy`
/// while somebody whose clock would continue works on another step, and with 422 `undo-reason-needed` if the shop's
/// grace period (`undo_minutes` in its terms) is over and no reason is given.
#[utoipa::path(tag = "job", request_body = UndoBody, params(("id" = Reference, Path, description = "Id of the job."),
        ("code" = Code, Path, description = "Code of the step.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step as it was before the move.", body = StepView)))]
#[post("/v1/jobs/{id}/steps/{code}/undo")]
pub(super) async fn undo(
    call: Call<Crew>,
    path: Path<(String, String)>,
    IfMatch(seen): IfMatch,
    body: Body<UndoBody>,
) -> Answer {
    let reason = body.value.reason;
    go(call, address(path)?, move |tx, id, code| usecase::undo(tx, id, code, seen, reason.as_ref().map(Line::as_str)))
        .await
}

/// Correct the times of a step.
///
/// Replaces all pieces of work of a step that has begun, with a reason. Nobody can have worked on two things at once,
/// on this car or another, and no time may be in the future or before the car came; every impossible time is reported.
/// Technicians can only change their own. If the step was finished when its last piece ended, it counts as finished
/// when that piece ends now, and its drying or curing begins then.
#[utoipa::path(tag = "job", request_body = TimesBody, params(("id" = Reference, Path, description = "Id of the job."),
        ("code" = Code, Path, description = "Code of the step.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step after the change.", body = StepView)))]
#[put("/v1/jobs/{id}/steps/{code}/times")]
pub(super) async fn correct(
    call: Call<Crew>,
    path: Path<(String, String)>,
    IfMatch(seen): IfMatch,
    body: Body<TimesBody>,
) -> Answer {
    let TimesBody { reason, pieces } = body.value;
    let piece = |one: PieceBody| Piece {
        who: PersonId::new(one.person_id),
        from: one.start.0.datetime(),
        until: one.finish.map(|at| at.0.datetime()),
    };
    let pieces: Vec<Piece> = pieces.into_iter().map(piece).collect();
    go(call, address(path)?, move |tx, id, code| usecase::correct(tx, id, code, seen, &pieces, reason.as_str())).await
}

/// End the drying or curing of a step early.
///
/// Later steps may begin from the given time, or from now on; needs a reason, such as an infrared lamp. The label of a
/// product says how long it needs: follow the label, not this program.
#[utoipa::path(tag = "job", request_body = EndWaitBody, params(("id" = Reference, Path, description = "Id of the job."),
        ("code" = Code, Path, description = "Code of the step.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The step after the change.", body = StepView)))]
#[post("/v1/jobs/{id}/steps/{code}/end-wait")]
pub(super) async fn end_wait(
    call: Call<Crew>,
    path: Path<(String, String)>,
    IfMatch(seen): IfMatch,
    body: Body<EndWaitBody>,
) -> Answer {
    let EndWaitBody { reason, from } = body.value;
    let from = from.map(|at| at.0);
    go(call, address(path)?, move |tx, id, code| usecase::end_wait(tx, id, code, seen, from, reason.as_str())).await
}
