//! Deposits of a job that is called off: a setting of the shop decides what happens to them.

use crate::word::words;

words! {
    /// Treatment of a paid deposit when the customer calls the job off.
    pub enum DepositAfterCancellation("way with a deposit of a job that is called off") {
        /// The deposit invoice is credited, and the money is the customer's credit, to be refunded or used.
        GiveBack = "GIVE_BACK" "given back",
        /// The money is kept as the price of a service that was ready to be used: the deposit invoice and its tax
        /// remain valid.
        KeepAsPrice = "KEEP_AS_PRICE" "kept as a price",
        /// The money is kept as compensation for the loss: the deposit invoice is credited, and a document without tax
        /// replaces it.
        KeepAsCompensation = "KEEP_AS_COMPENSATION" "kept as compensation",
    }
}

impl DepositAfterCancellation {
    /// Whether the deposit invoice is credited in full.
    ///
    /// Sources: Court of Justice of the European Union. C-277/05: a deposit kept when a customer calls off is
    /// compensation, which is outside the scope of tax. C-250/14: the price of an unused ticket that is not refunded is
    /// taxed, since the service was ready. The shop and its adviser decide which of them applies.
    pub const fn credits_the_deposit(self) -> bool {
        !matches!(self, Self::KeepAsPrice)
    }

    /// Whether a document outside the scope of tax (category O) for the same amount is issued.
    pub const fn charges_compensation(self) -> bool {
        matches!(self, Self::KeepAsCompensation)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_deposit_is_given_back_kept_with_its_tax_or_kept_without() {
        let ways = DepositAfterCancellation::ALL.iter();
        let ways: alloc::vec::Vec<_> =
            ways.map(|way| (way.as_str(), way.credits_the_deposit(), way.charges_compensation())).collect();
        assert_eq!(
            ways,
            [("GIVE_BACK", true, false), ("KEEP_AS_PRICE", false, false), ("KEEP_AS_COMPENSATION", true, true)]
        );
    }
}
