//! Publishing the draft of the menu.

use actix_web::post;
use baywright_core::menu::usecase;
use baywright_core::platform::identity::Owner;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageWrite;
use baywright_http::platform::problem::Problem;

use super::trial;
use crate::platform::form::{Fields, Reading};
use crate::platform::{followed, is_mendable};

/// Publishes the draft from now on; with faults, or changed meanwhile, it is shown again.
#[post("/menu/publish")]
pub(super) async fn publish(page: PageWrite<Owner>) -> Answer {
    let fields = Fields::of_form(page.form());
    let seen = Reading::of(&fields).version().map_err(Problem::from)?;
    let publishing = page.once(move |tx| {
        usecase::publish(tx, seen, None, "")?;
        Ok("/set-up/steps".to_owned())
    });
    match publishing.await {
        Ok(outcome) => followed(outcome),
        Err(problem) if is_mendable(&problem) => {
            let found = page.read(trial::found_plain).await?;
            trial::shown(found, &trial::asked(""), page.form_code(), Some(&problem))
        }
        Err(problem) => Err(problem),
    }
}
