//! Drafts of quotes in answers: the stored draft, with the API's name of a custom item.

use baywright_core::platform::kept::{Amount, AmountOrPercent, Number};
use baywright_core::quote::kept;
use serde::Serialize;

use super::words::{ConditionWord, PricesWord, SizeWord};

/// Content from which a quote is made, as `QuoteDraft` of the API document describes it.
#[derive(Debug, Serialize)]
pub(super) struct QuoteDraftView {
    inspection_id: Option<String>,
    size_class: Option<SizeWord>,
    condition: Option<ConditionWord>,
    prices: Option<PricesWord>,
    lines: Vec<DraftLineView>,
    discounts: Vec<kept::DraftDiscount>,
    deposit: Option<AmountOrPercent>,
    notes: String,
    valid_days: Option<u32>,
}

/// Line of a draft, as `DraftLine` of the API document describes it.
#[derive(Debug, Serialize)]
pub struct DraftLineView {
    item: DraftItemView,
    quantity: Number,
    required: bool,
    tax: Option<String>,
    discount: Option<kept::DraftDiscount>,
}

#[derive(Debug, Serialize)]
#[serde(rename_all = "snake_case")]
enum DraftItemView {
    Service(String),
    Package(String),
    Custom(DraftCustomItemView),
}

#[derive(Debug, Serialize)]
struct DraftCustomItemView {
    name: String,
    price: Amount,
}

impl From<kept::QuoteDraft> for QuoteDraftView {
    fn from(draft: kept::QuoteDraft) -> Self {
        Self {
            inspection_id: draft.inspection_id,
            size_class: draft.size_class.map(Into::into),
            condition: draft.condition.map(Into::into),
            prices: draft.prices.map(Into::into),
            lines: draft.lines.into_iter().map(DraftLineView::from).collect(),
            discounts: draft.discounts,
            deposit: draft.deposit,
            notes: draft.notes,
            valid_days: draft.valid_days,
        }
    }
}

impl From<kept::DraftLine> for DraftLineView {
    fn from(line: kept::DraftLine) -> Self {
        Self {
            item: line.item.into(),
            quantity: line.quantity,
            required: line.required,
            tax: line.tax,
            discount: line.discount,
        }
    }
}

impl From<kept::DraftItem> for DraftItemView {
    fn from(item: kept::DraftItem) -> Self {
        match item {
            kept::DraftItem::Service(code) => Self::Service(code),
            kept::DraftItem::Package(code) => Self::Package(code),
            kept::DraftItem::Custom(custom) => {
                Self::Custom(DraftCustomItemView { name: custom.name, price: custom.price })
            }
        }
    }
}
