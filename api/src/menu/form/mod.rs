//! The menu as it travels and as it is kept: one JSON document, strict in every field.
//!
//! The same form is sent by the desk, stored with each edition and frozen with each quote, so that what was once
//! written can be read back as it was. [`MenuForm::read`] turns it into the rules' own [`Menu`], [`MenuForm::of`] back.

mod amounts;
mod frozen;
mod package;
mod pointer;
mod product;
mod service;
mod step;

use baywright_domain::caution::{Caution, Hazard};
use baywright_domain::document::Prices;
use baywright_domain::inspection::ConditionClass;
use baywright_domain::menu::{self, ChangeoverRates, Factors, Gate, Menu};
use baywright_domain::money::{Currency, Money};
use baywright_domain::vehicle::{BySize, Powertrain, SizeClass};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::http::wire::{Amount, Code, Line, Word, at_most, whole};
use crate::platform::refusal::Refused;

pub use frozen::{from_json, to_json};
pub use package::PackageForm;
pub use pointer::translate;
pub use product::{ProductForm, UnitWord};
pub use service::{ConditionForm, PriceForm, PriceKind, ServiceForm, StepUseForm};
pub use step::{DoseForm, MOST_MINUTES, StepForm};

// The API document's derive reads a plain name better than one with parameters.
/// A word for [`Hazard`].
pub type HazardWord = Word<Hazard>;
/// A word for [`Prices`].
pub type PricesWord = Word<Prices>;
/// A word for [`SizeClass`].
pub type SizeWord = Word<SizeClass>;
/// A word for [`ConditionClass`].
pub type ConditionWord = Word<ConditionClass>;
/// A word for [`Powertrain`].
pub type PowertrainWord = Word<Powertrain>;

/// Complete menu. The shop's settings hold the labour rate, the factors, the price step and the changeover minutes.
///
/// At most 256 KiB of JSON; a menu of 100 services and 200 steps stays below that.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = Menu)]
#[serde(deny_unknown_fields)]
pub struct MenuForm {
    /// Gates of the menu: stages that may begin only when every step of the earlier stages is finished.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub gates: Vec<GateForm>,
    /// Products in use, by code.
    #[serde(deserialize_with = "at_most::<200, _, _>")]
    #[schema(max_items = 200)]
    pub products: Vec<ProductForm>,
    /// Steps that services consist of, by stage and code.
    #[serde(deserialize_with = "at_most::<200, _, _>")]
    #[schema(max_items = 200)]
    pub steps: Vec<StepForm>,
    /// Services, in the order in which the menu lists them.
    #[serde(deserialize_with = "at_most::<100, _, _>")]
    #[schema(max_items = 100)]
    pub services: Vec<ServiceForm>,
    /// Packages, in the order in which the menu lists them.
    #[serde(deserialize_with = "at_most::<40, _, _>")]
    #[schema(max_items = 40)]
    pub packages: Vec<PackageForm>,
}

/// Gates of a menu.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuGates)]
#[serde(deny_unknown_fields)]
pub struct GatesForm {
    /// Gates of the menu: stages that may begin only when every step of the earlier stages is finished.
    #[serde(deserialize_with = "at_most::<20, _, _>")]
    #[schema(max_items = 20)]
    pub gates: Vec<GateForm>,
}

/// Gate: a stage that may begin only when every step of the earlier stages is finished.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuGate)]
#[serde(deny_unknown_fields)]
pub struct GateForm {
    /// Number of the first stage after the gate.
    #[serde(deserialize_with = "whole::<0, 999, _>")]
    #[schema(minimum = 0, maximum = 999, example = 95)]
    pub stage: u32,
    /// Reason for the gate, as people read it.
    #[schema(example = "nothing wet after masking")]
    pub reason: Line<200>,
}

/// The shop's own numbers, which its settings hold and not its menu.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Numbers {
    /// Factors, labour rate and price step.
    pub factors: Factors,
    /// What changeovers cost.
    pub changeovers: ChangeoverRates,
    /// The shop's currency.
    pub currency: Currency,
    /// Whether the menu's prices are without tax or with it.
    pub prices: Prices,
}

/// Price for each size class; null if there is none yet, which validation reports.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[schema(as = MenuSizePrices)]
#[serde(deny_unknown_fields)]
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
    /// A menu with nothing on it.
    pub fn empty() -> Self {
        Self { gates: Vec::new(), products: Vec::new(), steps: Vec::new(), services: Vec::new(), packages: Vec::new() }
    }

    /// Puts the lists in the order in which they are kept and shown.
    pub fn sort(&mut self) {
        self.gates.sort_by_key(|gate| gate.stage);
        self.products.sort_by(|one, other| one.code.cmp(&other.code));
        self.steps.sort_by(|one, other| (one.stage, &one.code).cmp(&(other.stage, &other.code)));
        self.services.sort_by(|one, other| (one.place, &one.code).cmp(&(other.place, &other.code)));
        self.packages.sort_by(|one, other| (one.place, &one.code).cmp(&(other.place, &other.code)));
    }

    /// The menu of the rules, with the shop's own numbers.
    ///
    /// # Errors
    /// 422 that points at an amount in another currency, or a mix that can't be read.
    pub fn read(&self, numbers: &Numbers) -> Result<Menu, Refused> {
        let currency = numbers.currency;
        Ok(Menu {
            prices: numbers.prices,
            factors: numbers.factors,
            changeovers: numbers.changeovers,
            gates: self.gates.iter().map(GateForm::read).collect(),
            products: each("/products", &self.products, |form, at| form.read(currency, at))?,
            steps: each("/steps", &self.steps, |form, _| form.read())?,
            services: each("/services", &self.services, |form, at| form.read(currency, at))?,
            packages: each("/packages", &self.packages, |form, at| form.read(currency, at))?,
        })
    }

    /// The form of a menu, without the shop's own numbers.
    ///
    /// # Errors
    /// Where it holds text that no form lets in.
    pub fn of(menu: &Menu, currency: Currency) -> Result<Self, String> {
        let gate = |gate: &Gate| Ok(GateForm { stage: u32::from(gate.stage), reason: Line::parse(&gate.reason)? });
        let place = |at: usize| u32::try_from(at).unwrap_or(u32::MAX);
        let services = menu.services.iter().enumerate();
        let packages = menu.packages.iter().enumerate();
        Ok(Self {
            gates: menu.gates.iter().map(gate).collect::<Result<_, String>>()?,
            products: menu.products.iter().map(|one| ProductForm::of(one, currency)).collect::<Result<_, _>>()?,
            steps: menu.steps.iter().map(StepForm::of).collect::<Result<_, _>>()?,
            services: services.map(|(at, one)| ServiceForm::of(one, place(at), currency)).collect::<Result<_, _>>()?,
            packages: packages.map(|(at, one)| PackageForm::of(one, place(at), currency)).collect::<Result<_, _>>()?,
        })
    }
}

impl GateForm {
    fn read(&self) -> Gate {
        Gate { stage: stage(self.stage), reason: self.reason.to_string() }
    }
}

impl SizePricesForm {
    fn read(&self, currency: Currency, at: &str) -> Result<BySize<Option<Money>>, Refused> {
        let one = |amount: &Option<Amount>, size: &str| {
            amount.as_ref().map(|amount| amount.money(currency, &format!("{at}/{size}"))).transpose()
        };
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

/// The rules' code; both kinds have the same letters and length.
pub(in crate::menu) fn code(code: &Code) -> Result<menu::Code, Refused> {
    menu::Code::parse(code.as_str()).map_err(|bad| Refused::of(&bad))
}

fn codes(list: &[Code]) -> Result<Vec<menu::Code>, Refused> {
    list.iter().map(code).collect()
}

fn code_form(code: &menu::Code) -> Result<Code, String> {
    Code::parse(code.as_str())
}

fn codes_form(list: &[menu::Code]) -> Result<Vec<Code>, String> {
    list.iter().map(code_form).collect()
}

fn stage(number: u32) -> u16 {
    u16::try_from(number).unwrap_or(u16::MAX)
}

/// Cautions as a step or product lists them: by whom they are for.
#[derive(Default)]
struct CautionLists {
    hazards: Vec<HazardWord>,
    own: Vec<Line<400>>,
    for_customer: Vec<Line<400>>,
}

/// Cautions that the trade knows, then those in the shop's own words for the crew and for the customer.
fn cautions(hazards: &[HazardWord], own: &[Line<400>], for_customer: &[Line<400>]) -> Vec<Caution> {
    let known = hazards.iter().map(|hazard| Caution::Known(hazard.0));
    let own = own.iter().map(|text| Caution::Own(text.to_string()));
    let for_customer = for_customer.iter().map(|text| Caution::ForCustomer(text.to_string()));
    known.chain(own).chain(for_customer).collect()
}

fn caution_lists(cautions: &[Caution]) -> Result<CautionLists, String> {
    let mut lists = CautionLists::default();
    for caution in cautions {
        match caution {
            Caution::Known(hazard) => lists.hazards.push(Word(*hazard)),
            Caution::Own(text) => lists.own.push(Line::parse(text)?),
            Caution::ForCustomer(text) => lists.for_customer.push(Line::parse(text)?),
        }
    }
    Ok(lists)
}

/// An amount that may be left out.
fn money(amount: Option<&Amount>, currency: Currency, at: &str) -> Result<Option<Money>, Refused> {
    amount.map(|amount| amount.money(currency, at)).transpose()
}
