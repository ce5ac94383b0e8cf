//! Variations: changes to the signed scope, agreed before their work is done.

mod draft;

use crate::life::life;
use crate::money::Money;
use crate::money::split::split;
use crate::refusal::{Kind, Refusal, WrongState};
use crate::signoff::Method;
use crate::word::words;

pub use draft::{BadVariation, check_draft, share_of_line, sold_again, taken_back};

words! {
    /// State of a variation.
    pub enum VariationState("variation state") {
        /// Being written.
        Draft = "DRAFT" "draft",
        /// Frozen and with the customer.
        Sent = "SENT" "sent",
        /// Agreed.
        Signed = "SIGNED" "signed",
        /// Turned down.
        Declined = "DECLINED" "declined",
    }
}

words! {
    /// Moves of a variation.
    pub enum VariationMove("variation move") {
        /// Freeze it and send it to the customer.
        Send = "SEND" "sent",
        /// Agree to it.
        Sign = "SIGN" "signed",
        /// Turn it down.
        Decline = "DECLINE" "declined",
    }
}

life!(
    VariationState,
    VariationMove,
    "variation",
    [(Draft, Send, Sent), (Sent, Sign, Signed), (Sent, Decline, Declined),]
);

/// The agreement that a variation needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Agreement {
    /// The customer's signature, by link or in person.
    Signature,
    /// A recorded phone call is enough.
    NotedCall,
}

/// The agreement that a variation needs: a signature, unless the shop has set a tolerance and the change, up or down,
/// is within it. No tolerance is the default.
pub fn agreement(change: Money, tolerance: Option<Money>) -> Agreement {
    match tolerance {
        Some(most) if change.abs() <= most => Agreement::NotedCall,
        _ => Agreement::Signature,
    }
}

/// Share of one line in the discounts on a whole quote: in proportion to the lines' amounts, by the largest remainder,
/// so that the shares of all lines add up to the discounts. A dropped line is credited at its price after discounts.
fn share_of_discounts(discounts: Money, amounts: &[Money], line: usize) -> Money {
    split(discounts, amounts).get(line).copied().unwrap_or(Money::ZERO)
}

/// Reason why a variation isn't agreed, or its work can't begin.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum VariationRefusal {
    /// Its state doesn't allow the move.
    #[error(transparent)]
    State(#[from] WrongState),
    /// A phone call isn't enough.
    #[error("a phone call isn't enough for this change: let the customer sign it by link or in the studio")]
    NeedsSignature,
    /// It isn't agreed yet.
    #[error("this variation is {0}: its work begins only once the customer has signed it")]
    NotAgreed(VariationState),
}

impl Refusal for VariationRefusal {
    fn kind(&self) -> Kind {
        Kind::Conflict
    }

    fn code(&self) -> &'static str {
        match self {
            Self::State(state) => state.code(),
            Self::NeedsSignature => "needs-signature",
            Self::NotAgreed(_) => "variation-not-agreed",
        }
    }
}

impl VariationState {
    fn hint(self, wanted: VariationMove) -> &'static str {
        match (self, wanted) {
            (Self::Draft, _) => "; send it first",
            (Self::Signed | Self::Declined, _) => "; write a new variation",
            (Self::Sent, _) => "",
        }
    }

    /// Whether its lines may be changed: only in a draft.
    ///
    /// # Errors
    /// [`WrongState`] from the moment it was sent.
    pub fn edit(self) -> Result<(), WrongState> {
        if self == Self::Draft {
            return Ok(());
        }
        let hint = "; its lines are fixed, so write a new variation";
        Err(WrongState { record: "variation", state: self.label(), wanted: "edited", hint })
    }

    /// Sends a draft.
    ///
    /// # Errors
    /// [`WrongState`] if it is no draft.
    pub fn send(self) -> Result<Self, WrongState> {
        self.go(VariationMove::Send)
    }

    /// Records an agreement that is sufficient for it.
    ///
    /// # Errors
    /// [`VariationRefusal`] if it isn't with the customer, or a call is not enough.
    pub fn sign(self, method: Method, needed: Agreement) -> Result<Self, VariationRefusal> {
        let signed = self.go(VariationMove::Sign)?;
        if method == Method::Phone && needed == Agreement::Signature {
            return Err(VariationRefusal::NeedsSignature);
        }
        Ok(signed)
    }

    /// Turns it down.
    ///
    /// # Errors
    /// [`WrongState`] if it isn't with the customer.
    pub fn decline(self) -> Result<Self, WrongState> {
        self.go(VariationMove::Decline)
    }

    /// Whether its work may begin: a variation needs a new yes before.
    ///
    /// # Errors
    /// [`VariationRefusal::NotAgreed`] otherwise.
    pub fn may_begin(self) -> Result<(), VariationRefusal> {
        if self == Self::Signed { Ok(()) } else { Err(VariationRefusal::NotAgreed(self)) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_variation_needs_a_yes_before_its_work_starts() {
        for state in VariationState::ALL {
            assert_eq!(state.may_begin().is_ok(), *state == VariationState::Signed);
        }
    }

    #[test]
    fn a_noted_call_is_enough_only_within_the_tolerance_of_the_shop() {
        let euros = |whole: i64| Money::from_minor(whole * 100);
        assert_eq!(agreement(euros(1), None), Agreement::Signature);
        assert_eq!(agreement(euros(50), Some(euros(50))), Agreement::NotedCall);
        assert_eq!(agreement(euros(-50), Some(euros(50))), Agreement::NotedCall);
        assert_eq!(agreement(euros(51), Some(euros(50))), Agreement::Signature);
        let sent = VariationState::Sent;
        assert_eq!(sent.sign(Method::Phone, Agreement::NotedCall), Ok(VariationState::Signed));
        assert_eq!(sent.sign(Method::Phone, Agreement::Signature), Err(VariationRefusal::NeedsSignature));
        assert_eq!(sent.sign(Method::Link, Agreement::Signature), Ok(VariationState::Signed));
    }
}
