//! Packages in requests.

use baywright_core::menu::kept::PackageForm;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{SizePricesBody, texts};
use crate::platform::wire::{Code, Line, Text, at_most, whole};

/// Package: services that are sold together at a price of their own.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize, ToSchema)]
#[schema(as = MenuPackage)]
#[serde(deny_unknown_fields)]
pub struct PackageBody {
    /// Code of the package within the shop.
    #[schema(example = "inside-and-out")]
    pub code: Code,
    /// Name of the package as people read it.
    #[schema(example = "Inside and out")]
    pub name: Line<200>,
    /// Description of what the customer gets, in a sentence or two.
    pub summary: Text<1000>,
    /// Code of the tax, as in the shop's settings.
    #[schema(example = "standard")]
    pub tax: Code,
    /// Codes of the services in the package.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub services: Vec<Code>,
    /// Prices of the package by size class.
    pub price: SizePricesBody,
    /// Whether the price is multiplied by the condition factor.
    pub by_condition: bool,
    /// Whether customers may ask for the package online.
    pub online: bool,
    /// Sort position in the list, ascending; equal positions are sorted by code.
    #[serde(deserialize_with = "whole::<0, 9_999, _>")]
    #[schema(minimum = 0, maximum = 9_999, example = 10)]
    pub position: u32,
}

impl From<PackageBody> for PackageForm {
    fn from(body: PackageBody) -> Self {
        Self {
            code: body.code.into(),
            name: body.name.into(),
            summary: body.summary.into(),
            tax: body.tax.into(),
            services: texts(body.services),
            price: body.price.into(),
            by_condition: body.by_condition,
            online: body.online,
            position: body.position,
        }
    }
}
