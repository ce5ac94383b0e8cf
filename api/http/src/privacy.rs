//! Data about a person, over HTTP.

use std::time::Duration;

use actix_web::web::Path;
use actix_web::{HttpResponse, get, post};
use baywright_core::platform::fail::Fail;
use baywright_core::platform::identity::{Desk, Owner};
use baywright_core::privacy::usecase::{self, Erased, Records};
use baywright_domain::customer::Kept;
use baywright_domain::id::CustomerId;
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::{Answer, kept_plain, sent};
use crate::platform::body::{Query, Rehearsal};
use crate::platform::call::{Call, blocking};
use crate::platform::etag::IfMatch;
use crate::platform::turn::HeavyWork;
use crate::platform::wire::{Day, Instant, Reference, Word};

/// A kind of record as it is sent over HTTP.
type KeptWord = Word<Kept>;

/// Compiling a document takes several times its memory, so only one is compiled at a time.
static COMPILING: HeavyWork = HeavyWork::one_at_a_time(
    Duration::from_secs(15),
    "Several other documents are being compiled right now. Ask again in a moment.",
);

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(personal_data).service(erase);
}

/// All data that is stored about a customer.
#[derive(Debug, Serialize, ToSchema)]
struct PersonalDataView {
    /// Id of the customer.
    customer_id: Reference,
    /// Time when the document was compiled, RFC 3339 in UTC.
    made_at: Instant,
    /// IANA time zone of the studio, in which the local times of the records are given.
    #[schema(max_length = 60, example = "Europe/Dublin")]
    zone: String,
    /// Explanation of how to read the document.
    #[schema(max_length = 2000)]
    notes: &'static str,
    /// Records about the customer, feature by feature.
    #[schema(max_items = 1000)]
    records: Vec<RecordsView>,
}

/// Records of one kind.
#[derive(Debug, Serialize, ToSchema)]
struct RecordsView {
    /// Part of the program that stores the records.
    #[schema(max_length = 40, example = "vehicle")]
    feature: &'static str,
    /// Kind of the records.
    #[schema(max_length = 60, example = "vehicle")]
    kind: &'static str,
    /// Records with all their stored data.
    #[schema(max_items = 100_000)]
    items: Vec<Value>,
}

const NOTES: &str = "Each item is one record with everything that we store about it. Amounts have their currency, and \
    times are the local time of the studio, in the zone that `zone` names; a time that ends with Z is in UTC. \
    Photographs are at /v1/photos/ with their id. Entries of the log say what \
    was done with a record, by whom and when.";

impl From<Records> for RecordsView {
    fn from(records: Records) -> Self {
        Self { feature: records.feature, kind: records.table, items: records.rows }
    }
}

/// Result of erasing a customer.
#[derive(Debug, Serialize, ToSchema)]
struct ErasureView {
    /// Id of the customer; it remains, so that the kept records still belong to somebody.
    customer_id: Reference,
    /// Version of the customer record, which every change raises by one; the same number as in the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// Time of the erasure, RFC 3339 in UTC; null if nothing was erased.
    erased_at: Option<Instant>,
    /// Records that were blanked, by kind.
    #[schema(max_items = 20)]
    removed: Vec<RemovedView>,
    /// Records that tax law requires the shop to keep, by kind; they stay as sealed.
    #[schema(max_items = 20)]
    kept: Vec<KeptView>,
}

/// Records of one kind that were blanked.
#[derive(Debug, Serialize, ToSchema)]
struct RemovedView {
    /// Kind of the records.
    record: KeptWord,
    /// Number of records.
    #[schema(minimum = 1, maximum = 1_000_000)]
    count: usize,
    /// Description of what is removed and what remains.
    #[schema(max_length = 300)]
    what: &'static str,
}

/// Records of one kind that are kept.
#[derive(Debug, Serialize, ToSchema)]
struct KeptView {
    /// Kind of the records.
    record: KeptWord,
    /// Number of records.
    #[schema(minimum = 1, maximum = 1_000_000)]
    count: usize,
    /// Last day on which any of them must be kept, in the shop's time zone.
    until: Day,
    /// Reason for keeping them.
    #[schema(max_length = 300)]
    why: &'static str,
}

crate::versioned!(ErasureView);

impl From<Erased> for ErasureView {
    fn from(erased: Erased) -> Self {
        let kept = erased.kept.into_iter();
        Self {
            customer_id: Reference::from(&erased.customer.id),
            version: erased.customer.version,
            erased_at: erased.customer.erased_at.map(Instant),
            removed: erased
                .removed
                .into_iter()
                .map(|(record, count)| RemovedView { record: Word(record), count, what: record.what_goes() })
                .collect(),
            kept: kept
                .map(|(record, count, until)| KeptView {
                    record: Word(record),
                    count,
                    until: Day(until),
                    why: record.why_kept(),
                })
                .collect(),
        }
    }
}

/// Read all data that is stored about a customer.
///
/// Returns one document for a customer who asks for their data: their record, vehicles, first calls, inspections,
/// quotes, sign-offs, bookings, work, invoices, payments, mails and the log's entries about these. The secrets of links
/// are left out. For a record that was merged into another one, the answer contains all data about the customer.
#[utoipa::path(tag = "privacy", params(("id" = Reference, Path, description = "Id of the customer.")),
    responses((status = 200, description = "All data about the customer.", body = PersonalDataView)))]
#[get("/v1/customers/{id}/personal-data")]
async fn personal_data(call: Call<Desk>, id: Path<String>) -> Answer {
    let id = CustomerId::new(id.into_inner());
    let document = COMPILING
        .read(&call, move |tx| {
            let (id, records) = usecase::held(tx, &id)?;
            let records = records.into_iter().map(RecordsView::from).collect();
            let made_at = Instant(tx.now);
            let zone = tx.studio.zone.clone();
            let view = PersonalDataView { customer_id: Reference::from(&id), made_at, zone, notes: NOTES, records };
            // Serialised here, so that the records are no longer in memory when the turn ends.
            serde_json::to_string(&view).map_err(Fail::unexpected)
        })
        .await?;
    Ok(HttpResponse::Ok().content_type("application/json").body(document))
}

/// Erase a customer.
///
/// Permanently blanks names, addresses, numbers, notes, registrations, photographs, mails and unsigned offers
/// everywhere, at the customer's wish. Records that were signed, invoiced or paid are kept as sealed for as many years
/// as the shop's terms say, because tax law requires it. Refused while a booking, an invoice or a credit is open. The
/// log says that a customer was erased, but not who. Records that were merged into theirs are erased too. A digest of
/// each email address and telephone number is kept, from which nobody can read them, so that importing an old list does
/// not bring them back. Backups made earlier still contain the data: delete those too. With `validate_only`, nothing is
/// erased: the answer says what would be erased, what would be kept and why. Enquiries that name no customer, but whose
/// caller has the same telephone number or email address, are not erased; the warnings name them.
#[utoipa::path(tag = "privacy", params(("id" = Reference, Path, description = "Id of the customer."), Rehearsal),
    extensions(("x-if-match" = json!(true))),
    responses((status = 200, description = "Result of the erasure.", body = ErasureView)))]
#[post("/v1/customers/{id}/erase")]
async fn erase(call: Call<Owner>, id: Path<String>, query: Query<Rehearsal>, IfMatch(seen): IfMatch) -> Answer {
    let id = CustomerId::new(id.into_inner());
    if query.0.is_asked() {
        let would = call.write(move |tx| {
            let would = tx.rehearse(|tx| usecase::erase(tx, &id, seen))?;
            kept_plain(&ErasureView::from(would), &tx.warnings)
        });
        return Ok(sent(would.await?));
    }
    let (answer, left) = call
        .change_leaving(move |tx| {
            let erased = usecase::erase(tx, &id, seen)?;
            let files = erased.files.clone();
            Ok((ErasureView::from(erased), (files, tx.studio.id.clone())))
        })
        .await?;
    if let Some((files, shop)) = left {
        let program = call.app().program.clone();
        if let Err(problem) = blocking(move || usecase::clean_up(&program, &shop, &files)).await {
            tracing::error!(%problem, "older pages of an erased customer stay in the database's log for now");
        }
    }
    Ok(answer)
}
