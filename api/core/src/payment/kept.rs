//! The stored receipt of a refund, which is sealed.

use baywright_domain::payment::Method;
use serde::{Deserialize, Serialize};

use crate::invoice::kept::InvoiceSeller;
use crate::platform::fail::DbError;
use crate::platform::kept::{Amount, Day, Word};

/// Number of the form that this program writes.
pub const FORM: u32 = 1;

/// Receipt of money that was given back to a customer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RefundReceipt {
    /// Version of this document's format, counted up when fields are added.
    pub form: u32,
    /// Number of the receipt.
    pub number: String,
    /// Date on which the money was given back.
    pub paid_on: Day,
    /// Date on which the receipt was issued.
    pub issued_on: Day,
    /// Studio that gave the money back.
    pub seller: InvoiceSeller,
    /// Id of the customer.
    pub customer_id: String,
    /// Name of the customer.
    pub customer_name: String,
    /// Address of the customer, line by line; empty if unknown.
    pub customer_address: Vec<String>,
    /// Amount that was given back.
    pub amount: Amount,
    /// Method of the refund.
    pub method: Word<Method>,
    /// Reference on the bank statement; empty if there is none.
    pub reference: String,
    /// Reason for the refund.
    pub reason: String,
}

impl RefundReceipt {
    /// Reads the stored text.
    ///
    /// # Errors
    /// If the text was not written by this program.
    pub fn parse(text: &str) -> Result<Self, DbError> {
        serde_json::from_str(text).map_err(|error| DbError::Corrupt(format!("a receipt of a refund: {error}")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::platform::kept::golden::written_back;

    #[test]
    fn a_kept_receipt_is_read_and_written_back() {
        let receipt: RefundReceipt = written_back(include_str!("../../../../tests/data/kept/refund-1.json"));
        assert_eq!((receipt.form, receipt.number.as_str()), (FORM, "RFD-2026-0001"));
        assert_eq!(receipt.amount.to_string(), "EUR 23.00");
    }
}
