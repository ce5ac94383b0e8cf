//! Drafts of variations as they are kept: what a variation is made from until it is sent.

use baywright_domain::document::Prices;
use baywright_domain::id::InspectionId;
use baywright_domain::vehicle::Car;
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::platform::fail::DbError;
use crate::platform::kept::{AmountOrPercent, Number, Word};
use crate::quote::kept::{DraftLine, QuoteDraft};

/// Content of a variation: added and dropped lines, with the reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct VariationDraft {
    /// Reason why the work changes, as the customer reads it.
    pub reason: String,
    /// Lines that are added to the signed work; services and packages have the codes of the signed quote's menu.
    #[serde(default)]
    pub lines: Vec<DraftLine>,
    /// Indexes of the lines of the signed quote that are dropped, from 0.
    #[serde(default)]
    pub dropped: Vec<usize>,
    /// Id of the completed inspection that led to the variation, such as the one after the wash; the condition is taken
    /// from it. Null if there is none.
    #[serde(default)]
    pub inspection_id: Option<String>,
}

impl VariationDraft {
    /// A draft of nothing.
    pub fn nothing() -> Self {
        Self { reason: String::new(), lines: Vec::new(), dropped: Vec::new(), inspection_id: None }
    }

    /// The inspection that showed it.
    pub fn inspection(&self) -> Option<InspectionId> {
        self.inspection_id.as_deref().map(InspectionId::new)
    }

    /// Reads a kept draft.
    ///
    /// # Errors
    /// If the text is none that this program wrote.
    pub fn parse(text: &str) -> Result<Self, DbError> {
        serde_json::from_str(text).map_err(|error| DbError::Corrupt(format!("a variation's draft: {error}")))
    }

    /// The same as the draft of a quote for that car in those prices, without the lines that fall away.
    pub fn as_quote(&self, car: Car, prices: Prices) -> QuoteDraft {
        QuoteDraft {
            inspection_id: self.inspection_id.clone(),
            size_class: Some(Word(car.size)),
            condition: if self.inspection_id.is_some() { None } else { Some(Word(car.condition)) },
            prices: Some(Word(prices)),
            lines: self.lines.clone(),
            discounts: Vec::new(),
            // A deposit is asked for before the work, and this is in the middle of it.
            deposit: Some(AmountOrPercent::Percent(Number(Decimal::ZERO))),
            notes: self.reason.clone(),
            valid_days: None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::platform::kept::golden::written_back;
    use crate::quote::kept::DraftItem;

    #[test]
    fn a_kept_draft_is_read_and_written_back() {
        let draft: VariationDraft = written_back(include_str!("../../../../tests/data/kept/variation-draft-1.json"));
        assert_eq!(draft.lines[0].item, DraftItem::Service("wheel-coating".to_owned()));
        assert_eq!((draft.dropped.as_slice(), draft.inspection_id.is_some()), ([3].as_slice(), true));
    }

    #[test]
    fn a_kept_draft_is_held_to_no_rule_of_today() {
        let reason = "a".repeat(9000);
        let text = format!(r#"{{"reason":"{reason}","dropped":[700],"since":"gone"}}"#);
        let draft = VariationDraft::parse(&text).unwrap();
        assert_eq!((draft.reason, draft.dropped, draft.lines), (reason, vec![700], Vec::new()));
    }
}
