//! Lists over HTTP, and their rows read as the bodies of single creations.

pub mod customers;
mod row;
pub mod vehicles;

use actix_web::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use actix_web::{HttpResponse, get, post};
use baywright_core::exchange::sheet::{CellFault, MOST_BYTES, MOST_ROWS};
use baywright_core::exchange::usecase::{self, Report, Told};
use baywright_core::platform::identity::Desk;
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::answer::Answer;
use crate::platform::call::Call;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::problem::KnownRecord;
use crate::platform::upload::{FileKind, Upload};
use crate::platform::wire::Reference;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(export_customers).service(export_vehicles).service(import_customers).service(import_vehicles);
}

/// A list in a request.
struct List;

impl FileKind for List {
    const MEDIA_TYPES: &'static [&'static str] = &["text/csv"];
    const BYTES: usize = MOST_BYTES;
}

/// List to import, as CSV text.
#[derive(ToSchema)]
#[schema(min_length = 1, max_length = 1_048_576)]
#[allow(dead_code, reason = "describes a body that is text")]
struct ListText(String);

/// Exported list, as CSV text.
#[derive(ToSchema)]
#[schema(max_length = 67_108_864)]
#[allow(dead_code, reason = "describes a body that is text")]
struct ExportText(String);

/// Result of an import.
#[derive(Debug, Serialize, ToSchema)]
struct ImportView {
    /// Number of rows in the list.
    #[schema(minimum = 0, maximum = 2000, example = 3)]
    rows: usize,
    /// Number of records that were added.
    #[schema(minimum = 0, maximum = 2000, example = 1)]
    added: usize,
    /// Rows whose record existed already; nothing was added for them.
    #[schema(max_items = 2000)]
    already_here: Vec<HereView>,
    /// Rows whose record may exist already, by its telephone number, email address, name, identification number or
    /// registration. They were left out: import them with the confirmation if they are different records.
    #[schema(max_items = 2000)]
    known: Vec<KnownRowView>,
    /// Rows that were refused; the other rows were imported.
    #[schema(max_items = 2000)]
    refused: Vec<RowView>,
    /// Rows that were added but should be checked.
    #[schema(max_items = 2000)]
    row_warnings: Vec<RowView>,
}

/// Row whose record existed already.
#[derive(Debug, Serialize, ToSchema)]
struct HereView {
    /// Line number of the row in the file.
    #[schema(minimum = 1, maximum = 1_048_576, example = 2)]
    line: u64,
    /// Id of the existing record.
    id: Reference,
}

/// Row whose record may exist already.
#[derive(Debug, Serialize, ToSchema)]
struct KnownRowView {
    /// Line number of the row in the file.
    #[schema(minimum = 1, maximum = 1_048_576, example = 3)]
    line: u64,
    /// Existing records that the row may be about.
    #[schema(max_items = 10)]
    records: Vec<KnownRecord>,
}

/// Faults or warnings of one row.
#[derive(Debug, Serialize, ToSchema)]
struct RowView {
    /// Line number of the row in the file.
    #[schema(minimum = 1, maximum = 1_048_576, example = 3)]
    line: u64,
    /// Faults or warnings, cell by cell.
    #[schema(max_items = 100)]
    faults: Vec<CellView>,
}

/// Fault or warning of one cell.
#[derive(Debug, Serialize, ToSchema)]
struct CellView {
    /// Name of the column; empty if the whole row is concerned.
    #[schema(max_length = 60, example = "emails")]
    column: String,
    /// Stable code of the fault or warning.
    #[schema(max_length = 80, example = "invalid")]
    code: String,
    /// Description of the fault and how to correct it.
    #[schema(max_length = 2000, example = "Write an email address such as name@example.com.")]
    detail: String,
}

impl From<Told> for RowView {
    fn from(told: Told) -> Self {
        let cell = |fault: CellFault| CellView { column: fault.column, code: fault.code, detail: fault.detail };
        Self { line: told.line, faults: told.faults.into_iter().map(cell).collect() }
    }
}

impl From<Report> for ImportView {
    fn from(report: Report) -> Self {
        let here = report.already_here.iter();
        Self {
            rows: report.rows,
            added: report.added,
            already_here: here.map(|here| HereView { line: here.line, id: Reference::from(&here.id) }).collect(),
            known: report
                .known
                .into_iter()
                .map(|known| KnownRowView {
                    line: known.line,
                    records: known.records.iter().map(KnownRecord::from).collect(),
                })
                .collect(),
            refused: report.refused.into_iter().map(RowView::from).collect(),
            row_warnings: report.warnings.into_iter().map(RowView::from).collect(),
        }
    }
}

/// Import customers from a list.
///
/// The body is CSV text in UTF-8, at most 1 MiB and 2,000 rows. Its first row names the columns: `reference`, `kind`,
/// `name`, `contact_name`, `emails` and `phones` (several with semicolons between them), `address_line_1` to
/// `address_line_4`, `city`, `postcode`, `region`, `country`, `vat_id`, `purchase_order_required` (yes or no),
/// `prices`, `language`, `consent_mail` (how it was given) and `consent_mail_at` (when), the same for `phone`,
/// `marketing` and `photos`, and `notes`. Only `name` is needed. Refused rows are reported and the others are imported.
/// A row is skipped if the customer exists already, with the same reference, or with the same name and an email
/// address or telephone number in common. A row that shares only some of that with a customer is left out and reported
/// in `known`, unless the request confirms `known-customer`. A row about somebody whose data was erased is refused,
/// unless the request confirms `erased-customer`.
#[utoipa::path(tag = "exchange",
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["known-customer", "erased-customer"]))),
    request_body(content = ListText, content_type = "text/csv",
        example = "name,emails,phones\nAoife Byrne,aoife@example.com,+353 20 910 0000\n"),
    responses((status = 200, description = "Result of the import, row by row.", body = ImportView),
        (status = 408, description = "The list took too long to arrive.")))]
#[post("/v1/imports/customers")]
async fn import_customers(call: Call<Desk>, _: IdempotencyKey, file: Upload<List>) -> Answer {
    let bytes = file.bytes;
    let rows = call.read(move |_| Ok(customers::of(&bytes, MOST_ROWS)?)).await?;
    call.change_unversioned(move |tx| Ok(ImportView::from(usecase::import_customers(tx, &rows)?))).await
}

/// Import vehicles from a list.
///
/// The body is CSV text in UTF-8, at most 1 MiB and 2,000 rows. Its first row names the columns: `customer_reference`,
/// `customer_name`, `customer_email` and `customer_phone`, of which enough must be filled in to identify one customer;
/// `registration`, `registration_country`, `vin`, `market`, `make`, `model`, `year`, `colour`, `size_class`,
/// `paint_type`, `powertrain`, `odometer_unit` and `notes`. `make`, `model` and `size_class` are needed. Refused rows
/// are reported and the others are imported. A row is skipped if the customer has the vehicle already, with the same
/// identification number or else the same registration. A row whose number or registration another vehicle has is left
/// out and reported in `known`, unless the request confirms `known-vehicle`.
#[utoipa::path(tag = "exchange",
    extensions(("x-idempotency-key" = json!(true)), ("x-confirm" = json!(["known-vehicle"]))),
    request_body(content = ListText, content_type = "text/csv",
        example = "customer_email,registration,make,model,size_class\naoife@example.com,231-D-10101,Corrigan,Estate 2.0,MEDIUM\n"),
    responses((status = 200, description = "Result of the import, row by row.", body = ImportView),
        (status = 408, description = "The list took too long to arrive.")))]
#[post("/v1/imports/vehicles")]
async fn import_vehicles(call: Call<Desk>, _: IdempotencyKey, file: Upload<List>) -> Answer {
    let bytes = file.bytes;
    let rows = call.read(move |_| Ok(vehicles::of(&bytes, MOST_ROWS)?)).await?;
    call.change_unversioned(move |tx| Ok(ImportView::from(usecase::import_vehicles(tx, &rows)?))).await
}

/// Export all customers as a list.
///
/// Returns CSV text that `POST /v1/imports/customers` accepts. Text that a spreadsheet would run as a formula is
/// preceded by an apostrophe, which the import removes again.
#[utoipa::path(tag = "exchange",
    responses((status = 200, description = "List of all customers.", content_type = "text/csv", body = ExportText)))]
#[get("/v1/exports/customers")]
async fn export_customers(call: Call<Desk>) -> Answer {
    Ok(list("customers", call.read(usecase::export_customers).await?))
}

/// Export all vehicles as a list.
///
/// Returns CSV text that `POST /v1/imports/vehicles` accepts. Text that a spreadsheet would run as a formula is
/// preceded by an apostrophe, which the import removes again.
#[utoipa::path(tag = "exchange",
    responses((status = 200, description = "List of all vehicles.", content_type = "text/csv", body = ExportText)))]
#[get("/v1/exports/vehicles")]
async fn export_vehicles(call: Call<Desk>) -> Answer {
    Ok(list("vehicles", call.read(usecase::export_vehicles).await?))
}

fn list(name: &str, text: String) -> HttpResponse {
    HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "text/csv; charset=utf-8; header=present"))
        .insert_header((CONTENT_DISPOSITION, format!("attachment; filename=\"{name}.csv\"")))
        .body(text)
}
