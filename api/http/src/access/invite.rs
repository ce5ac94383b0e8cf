//! Invites over HTTP.

use actix_web::web::Path;
use actix_web::{HttpResponse, post};
use baywright_core::access::usecase;
use baywright_core::platform::identity::Owner;
use baywright_domain::id::PersonId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::view::{SessionView, opened};
use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::door::DoorCall;
use crate::platform::wire::{Instant, Reference, Secret};

/// Invite of a person, shown in this answer only.
#[derive(Serialize, ToSchema)]
pub(super) struct InviteView {
    /// Token that the person sends to `/v1/invites/accept` with the password of their choice.
    #[schema(max_length = 64)]
    token: String,
    /// Time when the invite ends, RFC 3339 in UTC.
    ends_at: Instant,
}

/// Password chosen with an invite.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AcceptBody {
    /// Token of the invite.
    token: Secret,
    /// New password: at least 12 characters that are not easily guessed.
    password: Secret,
}

/// Invite a person.
///
/// Creates a token with which the person chooses a password, the first one or a new one. Hand it over yourself, because
/// anyone who has it can sign in. Earlier invites of the same person end.
#[utoipa::path(tag = "access", params(("id" = Reference, Path, description = "Id of the person.")),
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "Invite with its token.", body = InviteView)))]
#[post("/v1/people/{id}/invite")]
pub(super) async fn invite(call: Call<Owner>, id: Path<String>) -> Answer {
    let id = PersonId::new(id.into_inner());
    // The token is shown once and stored nowhere, so this takes no idempotency key, which would keep the answer.
    let invite = call.write(move |tx| usecase::invite(tx, &id)).await?;
    Ok(HttpResponse::Ok().json(InviteView { token: invite.token, ends_at: Instant(invite.ends_at) }))
}

/// Accept an invite.
///
/// Sets the password, ends all earlier sign-ins of the person and signs them in.
#[utoipa::path(tag = "access", request_body = AcceptBody, security(()),
    responses((status = 201, description = "Tokens of the new sign-in.", body = SessionView),
        (status = 410, description = "The invite was used already or has ended.")))]
#[post("/v1/invites/accept")]
pub(super) async fn accept(door: DoorCall, body: Body<AcceptBody>) -> Answer {
    let AcceptBody { token, password } = body.value;
    Ok(opened(door.run(move |door| usecase::accept(door, &token.0, &password.0)).await?))
}
