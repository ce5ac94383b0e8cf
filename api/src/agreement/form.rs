//! What a variation is made from, as it travels and as it is kept while it is a draft.

use baywright_domain::document::Prices;
use baywright_domain::id::InspectionId;
use baywright_domain::vehicle::Car;
use rust_decimal::Decimal;
use serde::{Deserialize, Deserializer, Serialize};
use utoipa::ToSchema;

use crate::http::wire::{Number, Reference, Text, Word, at_most, whole};
use crate::platform::fail::DbError;
use crate::quote::form::{DraftLine, DraftSize, QuoteDraft};

/// Index of a line in the signed quote, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[schema(minimum = 0, maximum = 59)]
pub struct SignedPlace(u32);

impl SignedPlace {
    /// The place as the rules take it.
    pub fn get(self) -> usize {
        usize::try_from(self.0).unwrap_or(usize::MAX)
    }
}

impl<'de> Deserialize<'de> for SignedPlace {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        whole::<0, 59, D>(reader).map(Self)
    }
}

/// Content of a variation: added and dropped lines, with the reason.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VariationDraft {
    /// Reason why the work changes, as the customer reads it.
    #[schema(example = "Under the dirt the bonnet has deep scratches that one polishing step does not remove.")]
    pub reason: Text<4000>,
    /// Lines that are added to the signed work; services and packages have the codes of the signed quote's menu.
    #[serde(default, deserialize_with = "at_most::<40, _, _>")]
    #[schema(max_items = 40, required = false)]
    pub lines: Vec<DraftLine>,
    /// Indexes of the lines of the signed quote that are dropped, from 0.
    #[serde(default, deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60, required = false)]
    pub dropped: Vec<SignedPlace>,
    /// Id of the completed inspection that led to the variation, such as the one after the wash; the condition is taken
    /// from it. Null or left out if there is none.
    #[serde(default)]
    pub inspection_id: Option<Reference>,
}

impl VariationDraft {
    /// A draft of nothing.
    pub fn nothing() -> Self {
        Self { reason: Text::default(), lines: Vec::new(), dropped: Vec::new(), inspection_id: None }
    }

    /// The inspection that showed it.
    pub fn inspection(&self) -> Option<InspectionId> {
        self.inspection_id.as_ref().map(|id| InspectionId::new(id.as_str()))
    }

    /// Reads a kept draft.
    ///
    /// # Errors
    /// Where the text is none that this program wrote.
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
            deposit: Some(DraftSize::Percent(Number(Decimal::ZERO))),
            notes: self.reason.clone(),
            valid_days: None,
        }
    }
}
