//! Suppositions over HTTP.

mod body;
mod view;

use actix_web::post;
use baywright_core::platform::identity::Desk;
use baywright_core::platform::refusal::Refused;
use baywright_core::what_if::usecase;
use utoipa_actix_web::service_config::ServiceConfig;

use self::body::WhatIfBody;
use self::view::WhatIfView;
use crate::platform::answer::{Answer, plain};
use crate::platform::body::Body;
use crate::platform::call::{Call, blocking};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(ask);
}

/// Ask what a supposed change would do.
///
/// Answers questions such as: which promises would move if a colleague is away on Friday, and how many days would one more
/// dust-free bay save? For a change that takes time (an absence, a closure, or more work on a car), the booked cars that
/// can't keep their places are placed again as by a rescheduling, with as few moved promises as possible. For a change that
/// gives time (extra hours, one more bay or person), the answer names the cars that would be finished sooner, and the days
/// saved. The search takes a few seconds at most. Nothing is stored or changed.
#[utoipa::path(tag = "what_if", request_body = WhatIfBody,
    extensions(("x-unkeyed" = json!(true))),
    responses((status = 200, description = "Effect of the supposed change.", body = WhatIfView),
        (status = 409, description = "The work of the supposed variation is not under way.")))]
#[post("/v1/what-if")]
async fn ask(call: Call<Desk>, body: Body<WhatIfBody>) -> Answer {
    let question = body.value.into_question()?;
    let busy = |_| Refused::unavailable("Other questions like this are being calculated. Try again in a few seconds.");
    let place = call.app().thinking.clone().try_acquire_owned().map_err(busy)?;
    let asked = call.read(move |tx| usecase::ask(tx, &question)).await?;
    let answer = blocking(move || {
        // Held as long as the search runs, even if the client that asked has disconnected.
        let _place = place;
        usecase::think(&asked)
    })
    .await?;
    Ok(plain(&WhatIfView::from(answer)))
}
