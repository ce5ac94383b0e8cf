//! The signed-in person, over HTTP.

use actix_web::{get, post};
use baywright_core::access::usecase;
use baywright_core::platform::identity::{Actor, Anyone};
use serde::Deserialize;
use utoipa::ToSchema;

use super::view::MeView;
use crate::platform::answer::{Answer, nothing, plain};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::problem::Problem;
use crate::platform::wire::Secret;

/// Change of a password.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct PasswordBody {
    /// Current password of the caller.
    current: Secret,
    /// New password: at least 12 characters that are not easily guessed.
    password: Secret,
}

/// Read who is signed in.
///
/// Returns the signed-in person and their shop.
#[utoipa::path(tag = "access", responses((status = 200, description = "The signed-in person and their shop.",
    body = MeView)))]
#[get("/v1/me")]
pub(super) async fn me(call: Call<Anyone>) -> Answer {
    let view = call
        .read(|tx| {
            let account = usecase::me(tx)?;
            Ok(MeView::of(&account, &tx.studio))
        })
        .await?;
    Ok(plain(&view))
}

/// Change my password.
///
/// Ends all other sign-ins of the caller. This one continues. A request that is sent again because its answer was lost
/// gets 204 too.
#[utoipa::path(tag = "access", request_body = PasswordBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 204, description = "The password is changed.")))]
#[post("/v1/me/password")]
pub(super) async fn change_password(call: Call<Anyone>, body: Body<PasswordBody>) -> Answer {
    let PasswordBody { current, password } = body.value;
    let (account, actor) = call.read(|tx| Ok((usecase::me(tx)?, tx.actor.clone()))).await?;
    let Actor::Person { session, .. } = actor else { return Err(Problem::unexpected()) };
    call.door().run(move |door| usecase::change_password(door, &account, &session, &current.0, &password.0)).await?;
    Ok(nothing())
}
