//! A customer's account over HTTP.

use actix_web::get;
use actix_web::web::Path;
use baywright_core::payment::usecase;
use baywright_core::platform::identity::Accounts;
use baywright_domain::id::CustomerId;
use serde::Serialize;
use utoipa::ToSchema;

use crate::platform::answer::{Answer, plain};
use crate::platform::call::Call;
use crate::platform::wire::{Amount, Reference};

/// Account of a customer: debts, credit and totals. `invoiced` less `credited` is always `paid` less `refunded` plus `open`
/// plus `written_off` less `credit`.
#[derive(Debug, Serialize, ToSchema)]
pub struct AccountView {
    /// Id of the customer.
    customer_id: Reference,
    /// Unpaid amount of all invoices of the customer, with tax.
    open: Amount,
    /// Overdue part of the unpaid amount, with tax.
    overdue: Amount,
    /// Credit: the amount that the customer overpaid, with tax, to be used for later invoices or given back.
    credit: Amount,
    /// Total of all issued invoices, with tax.
    invoiced: Amount,
    /// Total of all credit notes, with tax.
    credited: Amount,
    /// Total of all payments received, without those that were undone.
    paid: Amount,
    /// Total of all refunds, without those that were undone.
    refunded: Amount,
    /// Written-off amount of all invoices, with tax; the customer owes it nevertheless.
    written_off: Amount,
}

/// Read a customer's account.
///
/// Returns the unpaid amount of all invoices of the customer, the overdue part of it, the amount they overpaid, and the
/// totals from which these follow.
#[utoipa::path(tag = "payment", params(("id" = Reference, Path, description = "Id of the customer.")),
    responses((status = 200, description = "Account of the customer.", body = AccountView)))]
#[get("/v1/customers/{id}/account")]
pub(super) async fn account(call: Call<Accounts>, id: Path<String>) -> Answer {
    let id = CustomerId::new(id.into_inner());
    let found = call
        .read(move |tx| {
            let balance = usecase::balance(tx, &id)?;
            let amount = |money| Amount::of(money, tx.studio.currency);
            let sums = balance.sums;
            Ok(AccountView {
                customer_id: Reference::from(&id),
                open: amount(balance.open),
                overdue: amount(balance.overdue),
                credit: amount(balance.credit),
                invoiced: amount(sums.invoiced),
                credited: amount(sums.credited),
                paid: amount(sums.paid),
                refunded: amount(sums.refunded),
                written_off: amount(sums.written_off),
            })
        })
        .await?;
    Ok(plain(&found))
}
