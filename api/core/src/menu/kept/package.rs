//! Packages as they are stored.

use baywright_domain::menu::Package;
use baywright_domain::money::Currency;
use serde::{Deserialize, Serialize};

use super::{SizePricesForm, code, codes, texts};
use crate::platform::refusal::Refused;

/// Package: services that are sold together at a price of their own.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct PackageForm {
    /// Code of the package within the shop.
    pub code: String,
    /// Name of the package as people read it.
    pub name: String,
    /// Description of what the customer gets, in a sentence or two.
    pub summary: String,
    /// Code of the tax, as in the shop's settings.
    pub tax: String,
    /// Codes of the services in the package.
    pub services: Vec<String>,
    /// Prices of the package by size class.
    pub price: SizePricesForm,
    /// Whether the price is multiplied by the condition factor.
    pub by_condition: bool,
    /// Whether customers may ask for the package online.
    pub online: bool,
    /// Sort position in the list, ascending; equal positions are sorted by code.
    #[serde(rename = "place", alias = "position")]
    pub position: u32,
}

impl PackageForm {
    /// The package of the rules; `at` is the position of the form.
    ///
    /// # Errors
    /// `Invalid` that points at a price that can't be read.
    pub fn read(&self, currency: Currency, at: &str) -> Result<Package, Refused> {
        Ok(Package {
            code: code(&self.code)?,
            name: self.name.clone(),
            summary: self.summary.clone(),
            services: codes(&self.services)?,
            price: self.price.read(currency, &format!("{at}/price"))?,
            by_condition: self.by_condition,
            tax: code(&self.tax)?,
            online: self.online,
        })
    }

    /// The form of a package at a position in the list.
    pub fn of(package: &Package, position: u32, currency: Currency) -> Self {
        Self {
            code: package.code.to_string(),
            name: package.name.clone(),
            summary: package.summary.clone(),
            tax: package.tax.to_string(),
            services: texts(&package.services),
            price: SizePricesForm::of(&package.price, currency),
            by_condition: package.by_condition,
            online: package.online,
            position,
        }
    }
}
