//! The stored menu: one JSON document, which is the text of the draft, of each revision, and of what a quote freezes.
//!
//! Everything that was ever stored is read for ever, so nothing here refuses a stored value: the rules for new values
//! are with the bodies in `api/http/src/menu/body/mod.rs`. [`MenuForm::read`] turns it into the rules' own [`Menu`],
//! [`MenuForm::of`] back.

mod amounts;
mod frozen;
mod named;
mod package;
mod pointer;
mod product;
mod service;
mod step;
#[cfg(test)]
mod tests;

use baywright_domain::caution::{Caution, Hazard};
use baywright_domain::document::Prices;
use baywright_domain::menu::{self, ChangeoverRates, Checkpoint, Factors, Menu};
use baywright_domain::money::{Currency, Money};
use baywright_domain::vehicle::BySize;
use serde::{Deserialize, Serialize};

use crate::platform::kept::{Amount, Word};
use crate::platform::refusal::Refused;

pub use frozen::{from_json, to_json};
pub use named::for_programs;
pub use package::PackageForm;
pub use pointer::translate;
pub use product::ProductForm;
pub use service::{ConditionForm, PriceForm, PriceKind, ServiceForm, StepUseForm};
pub use step::{BasisKind, DoseForm, SetupForm, StepForm, WaitForm};

/// Complete menu. The shop's settings hold the labour rate, the factors, the price step and the changeover minutes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MenuForm {
    /// Checkpoints of the menu: stages that may begin only when every step of the earlier stages is finished.
    #[serde(rename = "gates", alias = "checkpoints")]
    pub checkpoints: Vec<CheckpointForm>,
    /// Products in use, by code.
    pub products: Vec<ProductForm>,
    /// Steps that services consist of, by stage and code.
    pub steps: Vec<StepForm>,
    /// Services, in the order in which the menu lists them.
    pub services: Vec<ServiceForm>,
    /// Packages, in the order in which the menu lists them.
    pub packages: Vec<PackageForm>,
}

/// Checkpoint: a stage that may begin only when every step of the earlier stages is finished.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct CheckpointForm {
    /// Number of the first stage after the checkpoint.
    pub stage: u32,
    /// Reason for the checkpoint, as people read it.
    pub reason: String,
}

/// The shop's own numbers, which are in its settings and not in its menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Numbers {
    /// Factors, labour rate and price step.
    pub factors: Factors,
    /// Changeover minutes.
    pub changeovers: ChangeoverRates,
    /// The shop's currency.
    pub currency: Currency,
    /// Whether the menu's prices are without tax or with it.
    pub prices: Prices,
}

/// Price for each size class; null if there is none yet, which validation reports.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct SizePricesForm {
    /// Price for a small car, with or before tax as the menu states prices; null if there is none yet.
    pub small: Option<Amount>,
    /// Price for a medium car, with or before tax as the menu states prices; null if there is none yet.
    pub medium: Option<Amount>,
    /// Price for a large car, with or before tax as the menu states prices; null if there is none yet.
    pub large: Option<Amount>,
    /// Price for an extra large car or a van, with or before tax as the menu states prices; null if there is none yet.
    pub extra_large: Option<Amount>,
}

impl MenuForm {
    /// An empty menu.
    pub fn empty() -> Self {
        Self {
            checkpoints: Vec::new(),
            products: Vec::new(),
            steps: Vec::new(),
            services: Vec::new(),
            packages: Vec::new(),
        }
    }

    /// Sorts the lists in the order in which they are stored and shown.
    pub fn sort(&mut self) {
        self.checkpoints.sort_by_key(|checkpoint| checkpoint.stage);
        self.products.sort_by(|one, other| one.code.cmp(&other.code));
        self.steps.sort_by(|one, other| (one.stage, &one.code).cmp(&(other.stage, &other.code)));
        self.services.sort_by(|one, other| (one.position, &one.code).cmp(&(other.position, &other.code)));
        self.packages.sort_by(|one, other| (one.position, &one.code).cmp(&(other.position, &other.code)));
    }

    /// The menu of the rules, with the shop's own numbers.
    ///
    /// # Errors
    /// `Invalid` that points at an amount in another currency, or a mix that can't be read.
    pub fn read(&self, numbers: &Numbers) -> Result<Menu, Refused> {
        let currency = numbers.currency;
        Ok(Menu {
            prices: numbers.prices,
            factors: numbers.factors,
            changeovers: numbers.changeovers,
            checkpoints: self.checkpoints.iter().map(CheckpointForm::read).collect(),
            products: each("/products", &self.products, |form, at| form.read(currency, at))?,
            steps: each("/steps", &self.steps, |form, _| form.read())?,
            services: each("/services", &self.services, |form, at| form.read(currency, at))?,
            packages: each("/packages", &self.packages, |form, at| form.read(currency, at))?,
        })
    }

    /// The form of a menu, without the shop's own numbers.
    pub fn of(menu: &Menu, currency: Currency) -> Self {
        let checkpoint = |checkpoint: &Checkpoint| CheckpointForm {
            stage: u32::from(checkpoint.stage),
            reason: checkpoint.reason.clone(),
        };
        let position = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        let services = menu.services.iter().enumerate();
        let packages = menu.packages.iter().enumerate();
        Self {
            checkpoints: menu.checkpoints.iter().map(checkpoint).collect(),
            products: menu.products.iter().map(|one| ProductForm::of(one, currency)).collect(),
            steps: menu.steps.iter().map(StepForm::of).collect(),
            services: services.map(|(at, one)| ServiceForm::of(one, position(at), currency)).collect(),
            packages: packages.map(|(at, one)| PackageForm::of(one, position(at), currency)).collect(),
        }
    }
}

impl CheckpointForm {
    fn read(&self) -> Checkpoint {
        Checkpoint { stage: stage(self.stage), reason: self.reason.clone() }
    }
}

impl SizePricesForm {
    fn read(&self, currency: Currency, at: &str) -> Result<BySize<Option<Money>>, Refused> {
        let one = |amount: &Option<Amount>, size: &str| money(amount.as_ref(), currency, &format!("{at}/{size}"));
        Ok(BySize {
            small: one(&self.small, "small")?,
            medium: one(&self.medium, "medium")?,
            large: one(&self.large, "large")?,
            extra_large: one(&self.extra_large, "extra_large")?,
        })
    }

    /// The form of prices by size.
    pub fn of(prices: &BySize<Option<Money>>, currency: Currency) -> Self {
        let one = |price: Option<Money>| price.map(|price| Amount::of(price, currency));
        Self {
            small: one(prices.small),
            medium: one(prices.medium),
            large: one(prices.large),
            extra_large: one(prices.extra_large),
        }
    }
}

/// Reads each item of a list with the pointer to it.
fn each<F, T>(list: &str, forms: &[F], read: impl Fn(&F, &str) -> Result<T, Refused>) -> Result<Vec<T>, Refused> {
    forms.iter().enumerate().map(|(at, form)| read(form, &format!("{list}/{at}"))).collect()
}

/// The rules' code for a stored text.
///
/// # Errors
/// `Invalid` if the text is not a code.
pub(in crate::menu) fn code(text: &str) -> Result<menu::Code, Refused> {
    menu::Code::parse(text).map_err(|bad| Refused::of(&bad))
}

fn codes(list: &[String]) -> Result<Vec<menu::Code>, Refused> {
    list.iter().map(|text| code(text)).collect()
}

fn texts(list: &[menu::Code]) -> Vec<String> {
    list.iter().map(ToString::to_string).collect()
}

fn stage(number: u32) -> u16 {
    u16::try_from(number).unwrap_or(u16::MAX)
}

/// Cautions of a step or product, by audience.
#[derive(Default)]
struct CautionLists {
    hazards: Vec<Word<Hazard>>,
    own: Vec<String>,
    for_customer: Vec<String>,
}

/// Cautions that the trade knows, then those in the shop's own words for the crew and for the customer.
fn cautions(hazards: &[Word<Hazard>], own: &[String], for_customer: &[String]) -> Vec<Caution> {
    let known = hazards.iter().map(|hazard| Caution::Known(hazard.0));
    let own = own.iter().cloned().map(Caution::Own);
    let for_customer = for_customer.iter().cloned().map(Caution::ForCustomer);
    known.chain(own).chain(for_customer).collect()
}

fn caution_lists(cautions: &[Caution]) -> CautionLists {
    let mut lists = CautionLists::default();
    for caution in cautions {
        match caution {
            Caution::Known(hazard) => lists.hazards.push(Word(*hazard)),
            Caution::Own(text) => lists.own.push(text.clone()),
            Caution::ForCustomer(text) => lists.for_customer.push(text.clone()),
        }
    }
    lists
}

/// A price that may be missing; `at` is its position.
///
/// # Errors
/// `Invalid` at that pointer, for another currency or text that is no amount.
fn money(price: Option<&Amount>, currency: Currency, at: &str) -> Result<Option<Money>, Refused> {
    price.map(|price| price.sent(currency, at)).transpose()
}
