//! Sign-ins over HTTP.

use actix_web::post;
use baywright_core::access::usecase;
use baywright_core::platform::identity::Anyone;
use serde::Deserialize;
use utoipa::ToSchema;

use super::view::{SessionView, opened};
use crate::platform::answer::{Answer, nothing, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::door::DoorCall;
use crate::platform::wire::{Email, Secret};

/// Email address and password of a person who signs in.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SignInBody {
    /// Email address of the account.
    #[schema(example = "owner@example.com")]
    email: Email,
    /// Password of the account.
    password: Secret,
}

/// Refresh token of the session to be continued.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RefreshBody {
    /// Latest refresh token of the session.
    refresh_token: Secret,
}

/// Sign a person in.
///
/// After a few wrong passwords the next try has to wait, as `Retry-After` says.
#[utoipa::path(tag = "access", request_body = SignInBody, security(()),
    responses((status = 201, description = "Tokens of the new sign-in.", body = SessionView),
        (status = 401, description = "Email address or password is wrong.")))]
#[post("/v1/sessions")]
pub(super) async fn sign_in(door: DoorCall, body: Body<SignInBody>) -> Answer {
    let SignInBody { email, password } = body.value;
    Ok(opened(door.run(move |door| usecase::sign_in(door, email.as_str(), &password.0)).await?))
}

/// Refresh a session.
///
/// Returns the next pair of tokens. A refresh token that is used a second time ends the whole session, because one of
/// its two users must have stolen it. While the database cannot be written, for example because the disk is full, the
/// same refresh token is returned again; the access token can then be used for reading.
#[utoipa::path(tag = "access", request_body = RefreshBody, security(()),
    responses((status = 200, description = "Next pair of tokens.", body = SessionView),
        (status = 401, description = "The session has ended.")))]
#[post("/v1/sessions/refresh")]
pub(super) async fn refresh(door: DoorCall, body: Body<RefreshBody>) -> Answer {
    let token = body.value.refresh_token.0;
    let opened = door.run(move |door| usecase::refresh(door, &token)).await?;
    Ok(plain(&SessionView::from(opened)))
}

/// Sign out here.
///
/// While the database cannot be written, for example because the disk is full, the session ends in the memory of the
/// process that answers; it is written as soon as that is possible.
#[utoipa::path(tag = "access",
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 204, description = "The session has ended.")))]
#[post("/v1/sessions/end")]
pub(super) async fn end(call: Call<Anyone>) -> Answer {
    call.end().await?;
    Ok(nothing())
}

/// Sign out everywhere.
///
/// Ends every session of the caller, including this one.
#[utoipa::path(tag = "access",
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 204, description = "All sessions of the caller have ended.")))]
#[post("/v1/sessions/end-all")]
pub(super) async fn end_all(call: Call<Anyone>) -> Answer {
    call.write(|tx| {
        let me = usecase::me(tx)?;
        usecase::end_all(tx, &me.id)
    })
    .await?;
    Ok(nothing())
}
