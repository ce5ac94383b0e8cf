//! What is held on a person, over HTTP.

use actix_web::web::Path;
use actix_web::{get, post};
use baywright_domain::customer::Kept;
use baywright_domain::id::CustomerId;
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use super::usecase::{self, Erased, Records};
use crate::media;
use crate::platform::answer::{Answer, kept_change, plain};
use crate::platform::body::{Query, Rehearsal};
use crate::platform::call::{Call, blocking};
use crate::platform::etag::IfMatch;
use crate::platform::identity::{Desk, Owner};
use crate::platform::wire::{Day, Instant, Reference, Word};

crate::wire_words! {
    Kept => "KeptRecord",
}

/// A kind of record as it travels.
type KeptWord = Word<Kept>;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(personal_data).service(erase);
}

/// Everything that is held on a customer.
#[derive(Debug, Serialize, ToSchema)]
struct PersonalDataView {
    /// The customer.
    customer_id: Reference,
    /// When it was put together.
    made_at: Instant,
    /// How to read it.
    #[schema(max_length = 2000)]
    notes: &'static str,
    /// The records, feature by feature.
    #[schema(max_items = 1000)]
    records: Vec<RecordsView>,
}

/// The records of one kind.
#[derive(Debug, Serialize, ToSchema)]
struct RecordsView {
    /// The part of the program that holds them.
    #[schema(max_length = 40, example = "vehicle")]
    feature: &'static str,
    /// What they are.
    #[schema(max_length = 60, example = "vehicle")]
    kind: &'static str,
    /// The records, each with all that is kept of it.
    #[schema(max_items = 100_000)]
    items: Vec<Value>,
}

const NOTES: &str = "Each item is one record with everything that we store about it. Amounts have their currency, and \
    times are the local time of the studio. Photographs are at /v1/photos/ with their id. Entries of the log say what \
    was done with a record, by whom and when.";

impl From<Records> for RecordsView {
    fn from(records: Records) -> Self {
        Self { feature: records.feature, kind: records.table, items: records.rows }
    }
}

/// What became of a customer's records.
#[derive(Debug, Serialize, ToSchema)]
struct ErasureView {
    /// The customer's id; it stays, so that what is kept still belongs to somebody.
    customer_id: Reference,
    /// Counts the changes of the customer; the same as the ETag.
    #[schema(minimum = 1)]
    version: i64,
    /// When they were erased.
    erased_at: Option<Instant>,
    /// Records that were blanked.
    #[schema(max_items = 20)]
    removed: Vec<RemovedView>,
    /// What tax law makes the shop keep, as it was sealed.
    #[schema(max_items = 20)]
    kept: Vec<KeptView>,
}

/// Records of one kind that were blanked.
#[derive(Debug, Serialize, ToSchema)]
struct RemovedView {
    /// Kind of record.
    record: KeptWord,
    /// How many.
    #[schema(minimum = 1, maximum = 1_000_000)]
    count: usize,
    /// What goes, and what stays of it.
    #[schema(max_length = 300)]
    what: &'static str,
}

/// Records of one kind that are kept.
#[derive(Debug, Serialize, ToSchema)]
struct KeptView {
    /// Kind of record.
    record: KeptWord,
    /// How many.
    #[schema(minimum = 1, maximum = 1_000_000)]
    count: usize,
    /// The last day on which the last of them must be kept.
    until: Day,
    /// Why they are kept.
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

/// Read everything that is held on a customer.
///
/// One document to hand to the customer who asks what is held on them: their record, vehicles, first calls, inspections,
/// quotes, sign-offs, bookings, work, invoices, payments, mails and the log's entries about these. The secrets of links
/// are left out. Of a record that was merged into another one, all that is held on the customer is answered.
#[utoipa::path(tag = "privacy", params(("id" = Reference, Path, description = "The customer.")),
    responses((status = 200, description = "What is held.", body = PersonalDataView)))]
#[get("/v1/customers/{id}/personal-data")]
async fn personal_data(call: Call<Desk>, id: Path<String>) -> Answer {
    let id = CustomerId::new(id.into_inner());
    let view = call
        .read(move |tx| {
            let (id, records) = usecase::held(tx, &id)?;
            let records = records.into_iter().map(RecordsView::from).collect();
            let made_at = Instant(tx.now);
            Ok(PersonalDataView { customer_id: Reference::from(&id), made_at, notes: NOTES, records })
        })
        .await?;
    Ok(plain(&view))
}

/// Erase a customer.
///
/// For good, at the customer's wish: names, addresses, numbers, notes, registrations, photographs, mails and what was
/// offered and never signed are blanked everywhere. What was signed, invoiced or paid is kept as it was sealed for as
/// many years as the shop's terms say, since tax law asks for it. Refused while a booking, an invoice or a credit is open.
/// The log says that a customer was erased, and not who they were. Records that were merged into theirs are erased too. A
/// digest of each mail address and telephone number is kept, from which nobody reads them, so that an old list that is
/// imported again doesn't bring them back. Backups made before still have them: let those end too. With `validate_only`,
/// nothing is erased: the answer says what would go and what would be kept and why.
#[utoipa::path(tag = "privacy", params(("id" = Reference, Path, description = "The customer."), Rehearsal),
    extensions(("x-unkeyed" = json!(true)), ("x-if-match" = json!(true))),
    responses((status = 200, description = "What became of their records.", body = ErasureView)))]
#[post("/v1/customers/{id}/erase")]
async fn erase(call: Call<Owner>, id: Path<String>, query: Query<Rehearsal>, seen: IfMatch) -> Answer {
    let id = CustomerId::new(id.into_inner());
    if query.0.is_asked() {
        let would = call.write(move |tx| tx.rehearse(|tx| usecase::erase(tx, &id, seen))).await?;
        return Ok(plain(&ErasureView::from(would)));
    }
    let (erased, shop) = call.write(move |tx| Ok((usecase::erase(tx, &id, seen)?, tx.studio.id.clone()))).await?;
    let data = call.app().config.data.clone();
    let files = erased.files.clone();
    blocking(move || {
        media::usecase::sweep(&data, &shop, &files);
        Ok(())
    })
    .await?;
    Ok(kept_change(&ErasureView::from(erased), &[])?.into_response())
}
