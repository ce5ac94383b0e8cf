//! Claims: they ensure that nothing is invoiced twice. A claim ties what was agreed, or a deposit, to the document that
//! bills or deducts it.

use alloc::collections::BTreeMap;
use alloc::vec::Vec;
use core::fmt;

use crate::id::{InvoiceId, RevisionId, VariationId};
use crate::refusal::{Kind, Refusal};

/// Subject that an invoice bills or deducts.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Claimed {
    /// A signed revision of a quote.
    Revision(RevisionId),
    /// A signed variation.
    Variation(VariationId),
    /// A deposit invoice, which is deducted.
    Deposit(InvoiceId),
}

impl fmt::Display for Claimed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Revision(_) => "the quote",
            Self::Variation(_) => "the variation",
            Self::Deposit(_) => "the deposit",
        })
    }
}

/// Refusal because another invoice already bills or deducts it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{what} is on another invoice already: credit that invoice in full or discard its draft first")]
pub struct InvoicedAlready {
    /// The subject that was claimed twice.
    pub what: Claimed,
    /// The invoice that claimed it first.
    pub by: InvoiceId,
}

impl Refusal for InvoicedAlready {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        "invoiced-already"
    }
}

/// All claims, each with its invoice.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Claims(BTreeMap<Claimed, InvoiceId>);

impl Claims {
    /// Claims all of these for an invoice, or none of them. Earlier claims of the same invoice are not refused.
    ///
    /// # Errors
    /// [`InvoicedAlready`] names the first one that another invoice has claimed.
    pub fn claim(&mut self, invoice: &InvoiceId, what: &[Claimed]) -> Result<(), InvoicedAlready> {
        for each in what {
            if let Some(by) = self.0.get(each).filter(|by| *by != invoice) {
                return Err(InvoicedAlready { what: each.clone(), by: by.clone() });
            }
        }
        self.0.extend(what.iter().map(|each| (each.clone(), invoice.clone())));
        Ok(())
    }

    /// Releases all claims of an invoice that was credited in full, or of a draft that is discarded.
    pub fn release(&mut self, invoice: &InvoiceId) {
        self.0.retain(|_, by| *by != *invoice);
    }

    /// Moves the claims of an invoice that is corrected to its new draft.
    pub fn hand_on(&mut self, from: &InvoiceId, to: &InvoiceId) {
        for by in self.0.values_mut().filter(|by| **by == *from) {
            by.clone_from(to);
        }
    }

    /// The invoice that has claimed it.
    pub fn by(&self, what: &Claimed) -> Option<&InvoiceId> {
        self.0.get(what)
    }

    /// Claims of an invoice.
    pub fn of(&self, invoice: &InvoiceId) -> Vec<&Claimed> {
        self.0.iter().filter(|(_, by)| *by == invoice).map(|(what, _)| what).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_invoiced_is_invoiced_once_until_its_invoice_is_credited() {
        let [first, second] = ["a", "b"].map(InvoiceId::new);
        let quote = Claimed::Revision(RevisionId::new("r"));
        let more = Claimed::Variation(VariationId::new("v"));
        let deposit = Claimed::Deposit(InvoiceId::new("d"));
        let mut claims = Claims::default();
        claims.claim(&first, &[quote.clone(), deposit.clone()]).unwrap();
        assert_eq!(claims.claim(&first, core::slice::from_ref(&quote)), Ok(()));
        // All or nothing: the variation is not claimed.
        let refused = claims.claim(&second, &[more.clone(), deposit.clone()]).unwrap_err();
        assert_eq!((refused.what, refused.by), (deposit.clone(), first.clone()));
        assert_eq!(claims.by(&more), None);
        claims.hand_on(&first, &second);
        assert_eq!((claims.of(&first).len(), claims.of(&second)), (0, alloc::vec![&quote, &deposit]));
        claims.release(&second);
        assert_eq!(claims, Claims::default());
    }
}
