//! Bodies of requests about variations.

use baywright_core::agreement::kept;
use baywright_core::quote::kept::DraftLine;
use serde::{Deserialize, Deserializer};
use utoipa::ToSchema;

use crate::platform::wire::{Reference, Text, at_most, whole};
use crate::quote::DraftLineBody;

/// Index of a line in the signed quote, from 0.
#[derive(Debug, Clone, Copy, ToSchema)]
#[schema(minimum = 0, maximum = 59)]
pub(super) struct SignedLineIndex(u32);

impl SignedLineIndex {
    /// The index for the rules.
    fn get(self) -> usize {
        usize::try_from(self.0).unwrap_or(usize::MAX)
    }
}

impl<'de> Deserialize<'de> for SignedLineIndex {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        whole::<0, 59, D>(reader).map(Self)
    }
}

/// Content of a variation: added and dropped lines, with the reason.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[schema(as = VariationDraft)]
#[serde(deny_unknown_fields)]
pub(super) struct VariationDraftBody {
    /// Reason why the work changes, as the customer reads it.
    #[schema(example = "Under the dirt the bonnet has deep scratches that one polishing step does not remove.")]
    reason: Text<4000>,
    /// Lines that are added to the signed work; services and packages have the codes of the signed quote's menu.
    #[serde(default, deserialize_with = "at_most::<40, _, _>")]
    #[schema(max_items = 40, required = false)]
    lines: Vec<DraftLineBody>,
    /// Indexes of the lines of the signed quote that are dropped, from 0.
    #[serde(default, deserialize_with = "at_most::<60, _, _>")]
    #[schema(max_items = 60, required = false)]
    dropped: Vec<SignedLineIndex>,
    /// Id of the completed inspection that led to the variation, such as the one after the wash; the condition is taken
    /// from it. Null or left out if there is none.
    #[serde(default)]
    inspection_id: Option<Reference>,
}

impl From<VariationDraftBody> for kept::VariationDraft {
    fn from(sent: VariationDraftBody) -> Self {
        Self {
            reason: sent.reason.into_string(),
            lines: sent.lines.into_iter().map(DraftLine::from).collect(),
            dropped: sent.dropped.into_iter().map(SignedLineIndex::get).collect(),
            inspection_id: sent.inspection_id.map(String::from),
        }
    }
}
