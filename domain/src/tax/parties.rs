//! The parties that a document must name for its customer to owe the tax.

use super::{Category, Treatment};
use crate::refusal::{Kind, Refusal};

/// The identification of seller and customer for the tax office.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Parties {
    /// Whether the customer buys for a business.
    pub buyer_is_business: bool,
    /// Whether the customer's VAT number is known (BT-48).
    pub buyer_has_vat_id: bool,
    /// Whether the seller's VAT number is known (BT-31).
    pub seller_has_vat_id: bool,
}

/// Reason why a document can't be under reverse charge: the customer owes the tax only as a business with a VAT number
/// (Council Directive 2006/112/EC, articles 194 to 199 and 226(4); EN 16931-1, BR-AE-02).
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum NoReverseCharge {
    /// The customer is a private one.
    #[error(
        "a private customer can't owe the tax (reverse charge): choose another tax for the lines, or make the customer a \
         trade customer with a VAT number"
    )]
    PrivateBuyer,
    /// The customer's number is missing.
    #[error("reverse charge needs the customer's VAT number: enter it, or choose another tax for the lines")]
    BuyerVatId,
    /// The shop's own number is missing.
    #[error(
        "reverse charge needs the shop's own VAT number: enter it in the shop's profile, or choose another tax for the lines"
    )]
    SellerVatId,
}

impl Refusal for NoReverseCharge {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        "reverse-charge-parties"
    }
}

impl Parties {
    /// Whether a document between them can have items with these treatments.
    ///
    /// # Errors
    /// [`NoReverseCharge`] if the customer would owe the tax of one and can't.
    pub fn check(self, treatments: impl IntoIterator<Item = Treatment>) -> Result<(), NoReverseCharge> {
        if treatments.into_iter().all(|treatment| treatment.category() != Category::ReverseCharge) {
            return Ok(());
        }
        match self {
            Self { buyer_is_business: false, .. } => Err(NoReverseCharge::PrivateBuyer),
            Self { buyer_has_vat_id: false, .. } => Err(NoReverseCharge::BuyerVatId),
            Self { seller_has_vat_id: false, .. } => Err(NoReverseCharge::SellerVatId),
            _ => Ok(()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tax::Rate;

    #[test]
    fn only_a_business_with_a_number_owes_the_tax_to_a_seller_with_one() {
        let standard = Treatment::new(Category::Standard, Rate::whole(23)).unwrap();
        let reverse = Treatment::new(Category::ReverseCharge, Rate::ZERO).unwrap();
        let parties = |buyer_is_business, buyer_has_vat_id, seller_has_vat_id| Parties {
            buyer_is_business,
            buyer_has_vat_id,
            seller_has_vat_id,
        };
        for (between, said) in [
            (parties(true, true, true), Ok(())),
            (parties(false, true, true), Err(NoReverseCharge::PrivateBuyer)),
            (parties(true, false, true), Err(NoReverseCharge::BuyerVatId)),
            (parties(true, true, false), Err(NoReverseCharge::SellerVatId)),
        ] {
            assert_eq!(between.check([standard, reverse]), said);
            assert_eq!(between.check([standard]), Ok(()));
        }
    }
}
