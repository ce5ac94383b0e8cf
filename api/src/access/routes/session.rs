//! Sign-ins over HTTP.

use actix_web::post;
use serde::Deserialize;
use utoipa::ToSchema;

use super::view::{SessionView, opened};
use crate::access::usecase;
use crate::platform::answer::{Answer, nothing, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::door::Door;
use crate::platform::identity::Anyone;
use crate::platform::wire::{Email, Secret};

/// Someone who signs in.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SignInBody {
    /// The address of the account.
    #[schema(example = "owner@example.com")]
    email: Email,
    /// The password.
    password: Secret,
}

/// A sign-in to go on with.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RefreshBody {
    /// The refresh token that was given last.
    refresh_token: Secret,
}

/// Sign in.
///
/// A few wrong tries must wait before the next one, as `Retry-After` says.
#[utoipa::path(tag = "access", request_body = SignInBody, security(()),
    responses((status = 201, description = "Signed in.", body = SessionView),
        (status = 401, description = "Address or password is wrong.")))]
#[post("/v1/sessions")]
pub(super) async fn sign_in(door: Door, body: Body<SignInBody>) -> Answer {
    let SignInBody { email, password } = body.value;
    Ok(opened(door.run(move |door| usecase::sign_in(door, email.as_str(), &password)).await?))
}

/// Go on with a sign-in.
///
/// Gives the next two tokens. A refresh token that comes a second time ends the whole sign-in, because one of the two
/// who had it stole it. While the database can't be written, a full disk say, the same refresh token is given again: the
/// access token then serves for reading.
#[utoipa::path(tag = "access", request_body = RefreshBody, security(()),
    responses((status = 200, description = "The next tokens.", body = SessionView),
        (status = 401, description = "The sign-in has ended.")))]
#[post("/v1/sessions/refresh")]
pub(super) async fn refresh(door: Door, body: Body<RefreshBody>) -> Answer {
    let token = body.value.refresh_token;
    let opened = door.run(move |door| usecase::refresh(door, &token)).await?;
    Ok(plain(&SessionView::from(opened)))
}

/// Sign out here.
#[utoipa::path(tag = "access",
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 204, description = "Signed out.")))]
#[post("/v1/sessions/end")]
pub(super) async fn end(call: Call<Anyone>) -> Answer {
    call.write(usecase::end_this).await?;
    Ok(nothing())
}

/// Sign out everywhere.
///
/// Ends every sign-in of the caller, this one too.
#[utoipa::path(tag = "access",
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 204, description = "Signed out everywhere.")))]
#[post("/v1/sessions/end-all")]
pub(super) async fn end_all(call: Call<Anyone>) -> Answer {
    call.write(|tx| {
        let me = usecase::me(tx)?;
        usecase::end_all(tx, &me.id)
    })
    .await?;
    Ok(nothing())
}
