//! Packages as they travel.

use baywright_domain::menu::Package;
use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{SizePricesForm, code, code_form, codes, codes_form};
use crate::http::wire::{Code, Line, Text, at_most, whole};
use crate::platform::refusal::Refused;

/// Package: services that are sold together at a price of their own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuPackage)]
#[serde(deny_unknown_fields)]
pub struct PackageForm {
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
    pub price: SizePricesForm,
    /// Whether the price is multiplied by the condition factor.
    pub by_condition: bool,
    /// Whether customers may ask for the package online.
    pub online: bool,
    /// Sort position in the list, ascending; equal positions are sorted by code.
    #[serde(deserialize_with = "whole::<0, 9_999, _>")]
    #[schema(minimum = 0, maximum = 9_999, example = 10)]
    pub place: u32,
}

impl PackageForm {
    /// The package of the rules; `at` is where the form stands.
    ///
    /// # Errors
    /// 422 that points at a price that can't be read.
    pub fn read(&self, currency: Currency, at: &str) -> Result<Package, Refused> {
        Ok(Package {
            code: code(&self.code)?,
            name: self.name.to_string(),
            summary: self.summary.to_string(),
            services: codes(&self.services)?,
            price: self.price.read(currency, &format!("{at}/price"))?,
            by_condition: self.by_condition,
            tax: code(&self.tax)?,
            online: self.online,
        })
    }

    /// The form of a package at a place in the list.
    ///
    /// # Errors
    /// Where it holds text that no form lets in.
    pub fn of(package: &Package, place: u32, currency: Currency) -> Result<Self, String> {
        Ok(Self {
            code: code_form(&package.code)?,
            name: Line::parse(&package.name)?,
            summary: Text::parse(&package.summary)?,
            tax: code_form(&package.tax)?,
            services: codes_form(&package.services)?,
            price: SizePricesForm::of(&package.price, currency),
            by_condition: package.by_condition,
            online: package.online,
            place,
        })
    }
}
