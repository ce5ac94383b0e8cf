//! Unpaid invoices from before the shop used this program.

use actix_web::post;
use baywright_core::invoice::usecase::{self, NewOpening};
use baywright_core::platform::identity::Owner;
use baywright_domain::id::CustomerId;
use serde::Deserialize;
use utoipa::ToSchema;

use super::view;
use crate::platform::answer::{Answer, Created};
use crate::platform::body::Body;
use crate::platform::call::Call;
use crate::platform::idempotency::IdempotencyKey;
use crate::platform::wire::{Amount, Day, Line, Reference};

/// Unpaid invoice that another program issued.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(example = json!({
    "customer_id": "0198c0de-0000-7000-8000-000000000011", "number": "2026/417", "issued_on": "2026-02-01",
    "due_on": "2026-02-15", "open": { "amount": "123.00", "currency": "EUR" }
}))]
pub struct OpeningBody {
    /// Id of the customer.
    customer_id: Reference,
    /// Number of the invoice, as it was issued.
    number: Line<40>,
    /// Date of its issue.
    issued_on: Day,
    /// Due date, the last day to pay in time.
    due_on: Day,
    /// Amount that is still unpaid, with tax; above zero.
    open: Amount,
}

/// Take over an unpaid invoice.
///
/// Adds an invoice that another program issued before the shop used this one, with its unpaid amount. It can be paid,
/// disputed and written off, and reminders go out; it can't be credited here, and it is not in the register.
#[utoipa::path(tag = "invoice", request_body = OpeningBody, extensions(("x-idempotency-key" = json!(true))),
    responses((status = 201, description = "The invoice that was taken over.", body = super::InvoiceView)))]
#[post("/v1/opening-invoices")]
pub(super) async fn opening(call: Call<Owner>, _: IdempotencyKey, body: Body<OpeningBody>) -> Answer {
    call.create(move |tx| {
        let new = NewOpening {
            customer: CustomerId::new(body.value.customer_id.as_str()),
            number: body.value.number.to_string(),
            issued_on: body.value.issued_on.0,
            due_on: body.value.due_on.0,
            open: body.value.open.positive(tx.studio.currency, "/open")?,
        };
        let made = usecase::open_earlier(tx, &new)?;
        Ok(Created { location: format!("/v1/invoices/{}", made.id), view: view(tx, &made)? })
    })
    .await
}
