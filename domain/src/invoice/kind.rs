//! Kinds of documents that a shop issues for money.

use super::State;
use crate::word::words;

words! {
    /// Purpose of a document.
    pub enum InvoiceKind("kind of invoice") {
        /// All of the work, or goods and fees.
        Final = "FINAL" "invoice",
        /// A payment before the work.
        Deposit = "DEPOSIT" "deposit invoice",
        /// A reduction of an invoice that was issued before.
        CreditNote = "CREDIT_NOTE" "credit note",
        /// An invoice that another program issued before the shop used this one; only its unpaid amount is known.
        Opening = "OPENING" "earlier invoice",
    }
}

impl InvoiceKind {
    /// The type code in documents (EN 16931-1, BT-3; code list UNTDID 1001).
    pub const fn type_code(self) -> &'static str {
        match self {
            Self::Final | Self::Opening => "380",
            Self::Deposit => "386",
            Self::CreditNote => "381",
        }
    }

    /// Whether a document of this kind and state bills the work of its quote, so that nothing more can be agreed on it:
    /// an issued final invoice does. A paid deposit and an invoice that was credited in full do not.
    pub const fn bills_its_quote(self, state: State) -> bool {
        matches!(self, Self::Final) && !matches!(state, State::Draft | State::Credited)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_paid_deposit_and_a_credited_invoice_leave_the_quote_open() {
        for &state in State::ALL {
            let open = matches!(state, State::Draft | State::Credited);
            assert_eq!(InvoiceKind::Final.bills_its_quote(state), !open, "{state:?}");
            assert!(!InvoiceKind::Deposit.bills_its_quote(state));
            assert!(!InvoiceKind::CreditNote.bills_its_quote(state));
            assert!(!InvoiceKind::Opening.bills_its_quote(state));
        }
        let codes: alloc::vec::Vec<_> = InvoiceKind::ALL.iter().map(|kind| kind.type_code()).collect();
        assert_eq!(codes, ["380", "386", "381", "380"]);
    }
}
