//! Withdrawing a published revision over HTTP.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::menu::usecase;
use baywright_core::platform::identity::Owner;
use baywright_core::quote::usecase::waiting_since;
use baywright_domain::id::MenuRevisionId;
use serde::Deserialize;
use utoipa::ToSchema;

use super::publish::MenuRevisionView;
use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::wire::{Line, Reference};

/// Reason for withdrawing a menu revision.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({ "reason": "The prices were those of last year." }))]
pub(super) struct WithdrawBody {
    /// Reason for the withdrawal; needed once the shop's grace period is over (`undo_minutes` in its terms). Before
    /// that it may be null or left out.
    #[serde(default)]
    reason: Option<Line<500>>,
}

/// Withdraw a published menu revision.
///
/// Undoes a publication: the menu revision before is in force again, and the draft stays as it is. Only the menu
/// revision in force, or one that is not in force yet, can be withdrawn. Signed quotes keep their prices. While quotes
/// with its prices wait for an answer, the answer is 409 `undo-first` and names them.
#[utoipa::path(tag = "menu", request_body = WithdrawBody,
    params(("id" = Reference, Path, description = "Id of the menu revision.")),
    responses((status = 200, description = "The withdrawn menu revision.", body = MenuRevisionView)))]
#[post("/v1/menu/revisions/{id}/withdraw")]
pub(super) async fn withdraw(call: Call<Owner>, id: Path<String>, body: Body<WithdrawBody>) -> Answer {
    let (id, reason) = (MenuRevisionId::new(id.into_inner()), body.value.reason);
    call.change(move |tx| {
        let revision = usecase::withdraw(tx, &id, reason.as_ref().map(Line::as_str), waiting_since)?;
        Ok(MenuRevisionView::of(revision, false))
    })
    .await
}
