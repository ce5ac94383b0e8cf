//! Invites over HTTP.

use actix_web::web::Path;
use actix_web::{HttpResponse, post};
use baywright_domain::id::PersonId;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::view::{SessionView, opened};
use crate::access::usecase;
use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::door::Door;
use crate::platform::identity::Owner;
use crate::platform::wire::{Instant, Reference, Secret};

/// An invite, which is told this once.
#[derive(Serialize, ToSchema)]
pub(super) struct InviteView {
    /// What the person sends to `/v1/invites/accept` with the password of their choice.
    #[schema(max_length = 64)]
    token: String,
    /// Until when it holds.
    ends_at: Instant,
}

/// A password chosen with an invite.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct AcceptBody {
    /// The invite's token.
    token: Secret,
    /// The password: at least 12 characters that are not easily guessed.
    password: Secret,
}

/// Invite a person.
///
/// Gives a token with which they choose a password, the first one or a new one. Hand it to them yourself: whoever has
/// it gets in. Earlier invites of theirs hold no more.
#[utoipa::path(tag = "access", params(("id" = Reference, Path, description = "The person.")),
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "The invite.", body = InviteView)))]
#[post("/v1/people/{id}/invite")]
pub(super) async fn invite(call: Call<Owner>, id: Path<String>) -> Answer {
    let id = PersonId::new(id.into_inner());
    // Told once and kept nowhere: so it takes no idempotency key, which would keep the answer.
    let invite = call.write(move |tx| usecase::invite(tx, &id)).await?;
    Ok(HttpResponse::Ok().json(InviteView { token: invite.token, ends_at: Instant(invite.ends_at) }))
}

/// Accept an invite.
///
/// Chooses the password, ends all earlier sign-ins of the person and signs in.
#[utoipa::path(tag = "access", request_body = AcceptBody, security(()),
    responses((status = 201, description = "Signed in.", body = SessionView),
        (status = 410, description = "The invite was used or has ended.")))]
#[post("/v1/invites/accept")]
pub(super) async fn accept(door: Door, body: Body<AcceptBody>) -> Answer {
    let AcceptBody { token, password } = body.value;
    Ok(opened(door.run(move |door| usecase::accept(door, &token, &password)).await?))
}
