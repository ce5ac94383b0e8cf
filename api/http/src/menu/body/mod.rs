//! The menu in requests: one JSON document, strict in every field, and its items one by one. Answers contain the stored
//! menu, which has the same shape, with the API's names of fields ([`Shown`]).

mod package;
mod product;
mod service;
mod step;
#[cfg(test)]
mod tests;

use baywright_core::menu::kept::{CheckpointForm, MenuForm, SizePricesForm, for_programs};
use baywright_core::platform::kept;
use serde::ser::Error;
use serde::{Deserialize, Serialize, Serializer};
use utoipa::ToSchema;

use crate::platform::wire::{Amount, Line, Word, at_most, whole};

pub use package::PackageBody;
pub use product::ProductBody;
pub use service::ServiceBody;
pub use step::StepBody;

/// Complete menu. The shop's settings hold the labour rate, the factors, the price step and the changeover minutes.
///
/// At most 256 KiB of JSON; a menu of 100 services and 200 steps stays below that.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = Menu)]
#[serde(deny_unknown_fields)]
pub struct MenuBody {
    /// Checkpoints of the menu: stages that may begin only when every step of the earlier stages is finished.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub checkpoints: Vec<CheckpointBody>,
    /// Products in use, by code.
    #[serde(deserialize_with = "at_most::<200, _, _>")]
    #[schema(max_items = 200)]
    pub products: Vec<ProductBody>,
    /// Steps that services consist of, by stage and code.
    #[serde(deserialize_with = "at_most::<200, _, _>")]
    #[schema(max_items = 200)]
    pub steps: Vec<StepBody>,
    /// Services, in the order in which the menu lists them.
    #[serde(deserialize_with = "at_most::<100, _, _>")]
    #[schema(max_items = 100)]
    pub services: Vec<ServiceBody>,
    /// Packages, in the order in which the menu lists them.
    #[serde(deserialize_with = "at_most::<40, _, _>")]
    #[schema(max_items = 40)]
    pub packages: Vec<PackageBody>,
}

/// Checkpoints of a menu.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuCheckpoints)]
#[serde(deny_unknown_fields)]
pub struct CheckpointsBody {
    /// Checkpoints of the menu: stages that may begin only when every step of the earlier stages is finished.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub checkpoints: Vec<CheckpointBody>,
}

/// Checkpoint: a stage that may begin only when every step of the earlier stages is finished.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuCheckpoint)]
#[serde(deny_unknown_fields)]
pub struct CheckpointBody {
    /// Number of the first stage after the checkpoint.
    #[serde(deserialize_with = "whole::<0, 999, _>")]
    #[schema(minimum = 0, maximum = 999, example = 95)]
    pub stage: u32,
    /// Reason for the checkpoint, as people read it.
    #[schema(example = "nothing wet after masking")]
    pub reason: Line<200>,
}

/// Price for each size class; null if there is none yet, which validation reports.
#[derive(Debug, Clone, PartialEq, Eq, Default, Deserialize, ToSchema)]
#[schema(as = MenuSizePrices)]
#[serde(deny_unknown_fields)]
pub struct SizePricesBody {
    /// Price for a small car, with or before tax as the menu states prices; null if there is none yet.
    pub small: Option<Amount>,
    /// Price for a medium car, with or before tax as the menu states prices; null if there is none yet.
    pub medium: Option<Amount>,
    /// Price for a large car, with or before tax as the menu states prices; null if there is none yet.
    pub large: Option<Amount>,
    /// Price for an extra large car or a van, with or before tax as the menu states prices; null if there is none yet.
    pub extra_large: Option<Amount>,
}

impl From<MenuBody> for MenuForm {
    fn from(body: MenuBody) -> Self {
        Self {
            checkpoints: all(body.checkpoints),
            products: all(body.products),
            steps: all(body.steps),
            services: all(body.services),
            packages: all(body.packages),
        }
    }
}

impl From<CheckpointBody> for CheckpointForm {
    fn from(body: CheckpointBody) -> Self {
        Self { stage: body.stage, reason: body.reason.into() }
    }
}

impl From<SizePricesBody> for SizePricesForm {
    fn from(body: SizePricesBody) -> Self {
        Self {
            small: body.small.map(Into::into),
            medium: body.medium.map(Into::into),
            large: body.large.map(Into::into),
            extra_large: body.extra_large.map(Into::into),
        }
    }
}

/// A stored menu, or an item of one, as answers contain it.
#[derive(Debug, Clone)]
pub struct Shown<T>(pub T);

impl<T: Serialize> Serialize for Shown<T> {
    fn serialize<S: Serializer>(&self, writer: S) -> Result<S::Ok, S::Error> {
        for_programs(&self.0).map_err(S::Error::custom)?.serialize(writer)
    }
}

/// The stored items of a list.
pub(super) fn all<B, F: From<B>>(list: Vec<B>) -> Vec<F> {
    list.into_iter().map(F::from).collect()
}

fn texts<T: Into<String>>(list: Vec<T>) -> Vec<String> {
    list.into_iter().map(Into::into).collect()
}

fn words<T>(list: Vec<Word<T>>) -> Vec<kept::Word<T>> {
    list.into_iter().map(kept::Word::from).collect()
}
