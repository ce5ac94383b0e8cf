//! The shop's menu: services with their steps, products and prices.
//!
//! A menu is plain values and may contain any mistake while it is edited; [`Menu::faults`] lists them all, with a JSON
//! pointer for each. Pricing and planning expect a menu without faults and refuse, never panic, if there is one.

mod factors;
mod product;
mod service;
mod step;
mod validate;
mod warnings;

use alloc::string::String;
use alloc::vec::Vec;
use core::fmt;

use crate::document::Prices;
use crate::refusal::{Kind, Refusal};

pub use factors::{ChangeoverRates, Factors};
pub use product::{Basis, Chemistry, Dose, Product, Unit};
pub use service::{ConditionRule, Package, Price, Service, StepUse};
pub use step::{Area, COVER, Cleanliness, Holds, Setup, Side, Split, Step, Wait, WaitWhen};
pub use warnings::Abilities;

/// The short name of a service, step, product, skill or bay feature within one shop: 1 to 40 characters of `a` to `z`,
/// `0` to `9` and single dashes between them, such as `iron-removal`. Codes compare by bytes.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Code(String);

/// Text that is not a [`Code`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a code has 1 to 40 characters of a to z, 0 to 9 and single dashes between them, such as iron-removal")]
pub struct BadCode;

impl Refusal for BadCode {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "bad-code"
    }
}

impl Code {
    /// Reads a code.
    ///
    /// # Errors
    /// [`BadCode`] if it has other characters, too many, or a dash at an end or next to another.
    pub fn parse(text: &str) -> Result<Self, BadCode> {
        let part = |part: &str| {
            !part.is_empty() && part.bytes().all(|byte| byte.is_ascii_lowercase() || byte.is_ascii_digit())
        };
        (text.len() <= 40 && text.split('-').all(part)).then(|| Self(String::from(text))).ok_or(BadCode)
    }

    /// The code as text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl AsRef<str> for Code {
    fn as_ref(&self) -> &str {
        &self.0
    }
}

/// A stage of the work that begins only when everything of earlier stages is finished, such as masking.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Checkpoint {
    /// The first stage after the checkpoint.
    pub stage: u16,
    /// Reason, for people: "nothing wet after masking".
    pub reason: String,
}

/// Everything from which quotes and work plans are made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Menu {
    /// Whether its prices, the labour rate and the prices of products are without tax or with it.
    pub prices: Prices,
    /// Factors, rates and the price step.
    pub factors: Factors,
    /// Changeover minutes between steps.
    pub changeovers: ChangeoverRates,
    /// Checkpoints between stages.
    pub checkpoints: Vec<Checkpoint>,
    /// Products in use.
    pub products: Vec<Product>,
    /// Steps that services are made of.
    pub steps: Vec<Step>,
    /// Services that can be quoted.
    pub services: Vec<Service>,
    /// Sets of services with a price of their own.
    pub packages: Vec<Package>,
}

impl Menu {
    /// The product of that code.
    pub fn product(&self, code: &Code) -> Option<&Product> {
        self.products.iter().find(|product| product.code == *code)
    }

    /// The step of that code.
    pub fn step(&self, code: &Code) -> Option<&Step> {
        self.steps.iter().find(|step| step.code == *code)
    }

    /// The service of that code.
    pub fn service(&self, code: &Code) -> Option<&Service> {
        self.services.iter().find(|service| service.code == *code)
    }

    /// The package of that code.
    pub fn package(&self, code: &Code) -> Option<&Package> {
        self.packages.iter().find(|package| package.code == *code)
    }

    /// Maximum quantity of these services together on one line of a quote: the smallest of their own limits, and `None`
    /// without a service of the menu.
    pub fn largest_quantity(&self, services: &[Code]) -> Option<u32> {
        services.iter().filter_map(|code| self.service(code)).map(|service| service.largest_quantity).min()
    }

    /// Pairs of the given services that exclude each other, in the given order. It is enough that one of the two says
    /// so.
    pub fn excluded_pairs<'a>(&self, services: &'a [Code]) -> Vec<(&'a Code, &'a Code)> {
        let says = |one: &Code, other: &Code| self.service(one).is_some_and(|found| found.excludes.contains(other));
        let mut pairs = Vec::new();
        for (at, one) in services.iter().enumerate() {
            for other in &services[at + 1..] {
                if says(one, other) || says(other, one) {
                    pairs.push((one, other));
                }
            }
        }
        pairs
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_is_lower_case_words_joined_by_single_dashes() {
        for text in ["wash", "iron-removal", "2-step", "a"] {
            assert_eq!(Code::parse(text).map(|code| code.0), Ok(String::from(text)));
        }
        for text in ["", "-", "a-", "-a", "a--b", "Wash", "wash car", "wäsche", &"a".repeat(41)] {
            assert_eq!(Code::parse(text), Err(BadCode), "{text:?}");
        }
    }
}
