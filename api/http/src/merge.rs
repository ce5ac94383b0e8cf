//! Merging over HTTP.

use actix_web::post;
use actix_web::web::Path;
use baywright_core::customer::usecase::Customer;
use baywright_core::merge::usecase::{self, Merge, Mergeable};
use baywright_core::platform::identity::Desk;
use baywright_core::platform::version::Seen;
use baywright_core::vehicle::usecase::Vehicle;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::Answer;
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::etag::IfMatch;
use crate::platform::wire::{Reference, integer};

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(customers).service(undo_customer).service(vehicles).service(undo_vehicle);
}

/// Record to be merged into the record that the path names.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MergeBody {
    /// Id of the record that is merged into the record that the path names.
    other_id: Reference,
    /// Version of that record when it was read, so that nobody merges a state they have not seen.
    #[serde(deserialize_with = "integer")]
    #[schema(minimum = 1, maximum = 9_007_199_254_740_991_i64, example = 1)]
    other_version: i64,
}

/// Merge that was made or undone.
#[derive(Debug, Serialize, ToSchema)]
pub struct MergeView {
    /// Id of the record that the path names.
    id: Reference,
    /// Version of the record that the path names; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Id of the other record.
    other_id: Reference,
    /// Version of the other record.
    #[schema(minimum = 1, maximum = 9_007_199_254_740_991_i64)]
    other_version: i64,
    /// Numbers of records, by kind, that now belong to the other one of the two.
    #[schema(max_items = 100)]
    moved: Vec<MovedView>,
}

/// Moved records of one kind.
#[derive(Debug, Serialize, ToSchema)]
pub struct MovedView {
    /// Kind of the moved records.
    #[schema(max_length = 60, example = "vehicle")]
    kind: String,
    /// Number of moved records.
    #[schema(minimum = 1, maximum = 1_000_000)]
    count: usize,
}

crate::versioned!(MergeView);

impl From<Merge> for MergeView {
    fn from(merge: Merge) -> Self {
        Self {
            id: Reference::from(&merge.id),
            version: merge.version,
            other_id: Reference::from(&merge.other),
            other_version: merge.other_version,
            moved: merge.moved.into_iter().map(|(kind, count)| MovedView { kind, count }).collect(),
        }
    }
}

/// Merges another record into the record that the address names.
async fn merge<R: Mergeable>(call: Call<Desk>, id: Path<String>, seen: Seen, body: Body<MergeBody>) -> Answer {
    let MergeBody { other_id, other_version } = body.value;
    let (id, other) = (R::Id::from(id.into_inner()), R::Id::from(other_id.into_string()));
    call.change(move |tx| Ok(MergeView::from(usecase::merge::<R>(tx, &id, seen, &other, other_version)?))).await
}

/// Undoes the merge of the record that the address names.
async fn undo<R: Mergeable>(call: Call<Desk>, id: Path<String>, seen: Seen) -> Answer {
    let id = R::Id::from(id.into_inner());
    call.change(move |tx| Ok(MergeView::from(usecase::undo::<R>(tx, &id, seen)?))).await
}

/// Merge another record of a customer into this one.
///
/// Use it if a customer was added twice. Vehicles, enquiries, quotes, bookings, invoices and payments of the other
/// record belong to this record from then on; signed and issued documents stay exactly as they are. This record takes
/// over the other one's email addresses and telephone numbers, and its address, VAT number, contact, reference and
/// notes if it has none. For each consent the customer's latest statement counts. The other record stays, with `state`
/// `MERGED` and `merged_into`; nothing new is made for it. Undo the merge at the path of the other record.
#[utoipa::path(tag = "merge", request_body = MergeBody,
    params(("id" = Reference, Path, description = "Id of the customer whose record is kept.")),
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["nothing-in-common"]))),
    responses((status = 200, description = "The merge that was made.", body = MergeView)))]
#[post("/v1/customers/{id}/merge")]
async fn customers(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<MergeBody>) -> Answer {
    merge::<Customer>(call, id, seen, body).await
}

/// Undo the merge of a customer's record.
///
/// Everything that had moved goes back to this record, together with what was made for it since, such as a quote for a
/// vehicle that had moved. Data that the other record took over and has not changed goes back too. If the other record
/// has been merged into a third one since, undo that merge first.
#[utoipa::path(tag = "merge",
    params(("id" = Reference, Path, description = "Id of the customer whose record was merged into another.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The merge that was undone.", body = MergeView)))]
#[post("/v1/customers/{id}/undo-merge")]
async fn undo_customer(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    undo::<Customer>(call, id, seen).await
}

/// Merge another record of a vehicle into this one.
///
/// Use it if a vehicle was added twice to one customer. Inspections, quotes, bookings and enquiries of the other record
/// belong to this record from then on; signed documents stay exactly as they are. This record takes over the other
/// one's registration, identification number, year, colour and notes if it has none. The other record stays, with
/// `state` `MERGED` and `merged_into`. Undo the merge at the path of the other record.
#[utoipa::path(tag = "merge", request_body = MergeBody,
    params(("id" = Reference, Path, description = "Id of the vehicle whose record is kept.")),
    extensions(("x-if-match" = json!(true)), ("x-confirm" = json!(["nothing-in-common"]))),
    responses((status = 200, description = "The merge that was made.", body = MergeView)))]
#[post("/v1/vehicles/{id}/merge")]
async fn vehicles(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch, body: Body<MergeBody>) -> Answer {
    merge::<Vehicle>(call, id, seen, body).await
}

/// Undo the merge of a vehicle's record.
///
/// Everything that had moved goes back to this record, together with what was made for it since. If the other record
/// has been merged into a third one since, undo that merge first.
#[utoipa::path(tag = "merge",
    params(("id" = Reference, Path, description = "Id of the vehicle whose record was merged into another.")),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "The merge that was undone.", body = MergeView)))]
#[post("/v1/vehicles/{id}/undo-merge")]
async fn undo_vehicle(call: Call<Desk>, id: Path<String>, IfMatch(seen): IfMatch) -> Answer {
    undo::<Vehicle>(call, id, seen).await
}
