//! Drafts of variations as they are stored: the content that a variation is made from until it is sent.

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
    /// An empty draft.
    pub fn nothing() -> Self {
        Self { reason: String::new(), lines: Vec::new(), dropped: Vec::new(), inspection_id: None }
    }

    /// Id of the inspection that led to the variation.
    pub fn inspection(&self) -> Option<InspectionId> {
        self.inspection_id.as_deref().map(InspectionId::new)
    }

    /// Reads a stored draft.
    ///
    /// # Errors
    /// If the text was not written by this program.
    pub fn parse(text: &str) -> Result<Self, DbError> {
        serde_json::from_str(text).map_err(|error| DbError::Corrupt(format!("a variation's draft: {error}")))
    }

    /// The draft of a quote with the same content, for that car in those prices; dropped lines are left out.
    pub fn as_quote(&self, car: Car, prices: Prices) -> QuoteDraft {
        QuoteDraft {
            inspection_id: self.inspection_id.clone(),
            size_class: Some(Word(car.size)),
            condition: if self.inspection_id.is_some() { None } else { Some(Word(car.condition)) },
            prices: Some(Word(prices)),
            lines: self.lines.clone(),
            discounts: Vec::new(),
            // A deposit is paid before the work, and a variation comes up during it.
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
