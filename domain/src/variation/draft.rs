//! Lines that a variation drops from the signed quote, and services that it may not sell again.

use alloc::collections::BTreeSet;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use super::share_of_discounts;
use crate::menu::Code;
use crate::money::Money;
use crate::pricing::Line;
use crate::refusal::{Fault, Kind, Refusal};
use crate::tax::Treatment;
use crate::time::Minutes;

/// Reason why a draft can't be made a variation of what is agreed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadVariation {
    /// It adds no line and drops none.
    #[error("Give at least one line to add or to remove.")]
    Nothing,
    /// It has no reason.
    #[error("Write what was found. The customer reads it.")]
    NoReason,
    /// It drops a line that is not agreed.
    #[error("The signed quote has no such line, or it was removed before.")]
    NotAgreed {
        /// Index in the list of lines to drop.
        at: usize,
    },
    /// It drops a line twice.
    #[error("Name each line once.")]
    Repeated {
        /// Index in the list of lines to drop.
        at: usize,
    },
}

impl Refusal for BadVariation {
    fn kind(&self) -> Kind {
        Kind::Invalid
    }

    fn code(&self) -> &'static str {
        "invalid-value"
    }

    fn faults(&self) -> Vec<Fault> {
        let (pointer, word) = match self {
            Self::Nothing => ("/lines".to_string(), "missing"),
            Self::NoReason => ("/reason".to_string(), "missing"),
            Self::NotAgreed { at } => (format!("/dropped/{at}"), "not_agreed"),
            Self::Repeated { at } => (format!("/dropped/{at}"), "repeated"),
        };
        alloc::vec![Fault { pointer, code: word, detail: self.to_string() }]
    }
}

/// Checks a draft that adds lines or not, for that reason, and drops the signed lines at these indexes; `agreed` are
/// the indexes of those that are still agreed.
///
/// # Errors
/// [`BadVariation`] with the first fault.
pub fn check_draft(adds: bool, reason: &str, agreed: &BTreeSet<usize>, dropped: &[usize]) -> Result<(), BadVariation> {
    if !adds && dropped.is_empty() {
        return Err(BadVariation::Nothing);
    }
    if reason.trim().is_empty() {
        return Err(BadVariation::NoReason);
    }
    for (at, place) in dropped.iter().enumerate() {
        if !agreed.contains(place) {
            return Err(BadVariation::NotAgreed { at });
        }
        if dropped.iter().take(at).any(|before| before == place) {
            return Err(BadVariation::Repeated { at });
        }
    }
    Ok(())
}

/// Share of the line at that index in a quote's discounts. `discounts` are the discounts for each treatment, which its
/// lines share.
pub fn share_of_line(
    discounts: impl IntoIterator<Item = (Treatment, Money)>,
    lines: &[(Treatment, Money)],
    at: usize,
) -> Money {
    let Some((treatment, _)) = lines.get(at) else { return Money::ZERO };
    let alike = |lines: &[(Treatment, Money)]| -> Vec<Money> {
        lines.iter().filter(|(other, _)| other == treatment).map(|(_, amount)| *amount).collect()
    };
    let fell: Money = discounts.into_iter().filter(|(other, _)| other == treatment).map(|(_, amount)| amount).sum();
    let before = alike(lines.get(..at).unwrap_or_default()).len();
    share_of_discounts(fell, &alike(lines), before)
}

/// The line that cancels a signed one: the same with negative quantity and amounts, `share` of the discounts on the
/// whole quote taken into account, and without work.
#[must_use]
pub fn taken_back(line: &Line, share: Money) -> Line {
    let mut less = line.clone();
    if !share.is_zero() {
        less.discount += share;
        less.amount = less.amount - share;
        let reason = less.discount_reason.take().map_or_else(String::new, |reason| format!("{reason}; "));
        less.discount_reason = Some(format!("{reason}its share of the quote's discounts"));
    }
    Line {
        name: format!("Not done: {}", less.name),
        services: Vec::new(),
        quantity: -less.quantity,
        discount: -less.discount,
        amount: -less.amount,
        minutes: Minutes::ZERO,
        required: true,
        explanation: Vec::new(),
        ..less
    }
}

/// The names of the lines that sell a service which stays agreed, so that the customer would pay for it twice.
pub fn sold_again<'l>(
    lines: impl IntoIterator<Item = &'l Line>,
    staying: impl IntoIterator<Item = &'l Line>,
) -> Vec<String> {
    let sold: BTreeSet<&Code> = staying.into_iter().flat_map(|line| &line.services).collect();
    let twice = lines.into_iter().filter(|line| line.services.iter().any(|code| sold.contains(code)));
    twice.map(|line| line.name.clone()).collect()
}

#[cfg(test)]
mod tests {
    use rust_decimal::Decimal;

    use super::*;
    use crate::pricing::Item;
    use crate::tax::{Category, Rate};

    fn taxed(percent: u8) -> Treatment {
        Treatment::new(Category::Standard, Rate::whole(percent)).unwrap()
    }

    fn minor(amount: i64) -> Money {
        Money::from_minor(amount)
    }

    fn line(service: &str) -> Line {
        let code = Code::parse(service).unwrap();
        Line {
            item: Item::Service(code.clone()),
            name: service.to_string(),
            services: alloc::vec![code],
            quantity: Decimal::TWO,
            unit_price: minor(5_000),
            discount: minor(500),
            discount_reason: Some("Regular".to_string()),
            amount: minor(9_500),
            minutes: Minutes::new(60),
            required: false,
            explanation: Vec::new(),
        }
    }

    #[test]
    fn lines_that_are_agreed_fall_away_once_each_for_a_reason() {
        let agreed = BTreeSet::from([0, 2]);
        let check = |reason, dropped: &[usize]| check_draft(false, reason, &agreed, dropped);
        assert_eq!(check("Rust", &[2, 0]), Ok(()));
        assert_eq!(check_draft(true, "Rust", &agreed, &[]), Ok(()));
        assert_eq!(check("Rust", &[]), Err(BadVariation::Nothing));
        assert_eq!(check(" ", &[0]), Err(BadVariation::NoReason));
        assert_eq!(check("Rust", &[0, 1]), Err(BadVariation::NotAgreed { at: 1 }));
        let repeated = check("Rust", &[0, 0]).unwrap_err();
        assert_eq!((repeated.faults()[0].pointer.as_str(), repeated.faults()[0].code), ("/dropped/1", "repeated"));
    }

    #[test]
    fn a_line_has_a_share_only_of_the_discounts_on_lines_that_are_taxed_alike() {
        let (high, low) = (taxed(23), taxed(9));
        let lines = [(high, minor(10_000)), (low, minor(5_000)), (high, minor(30_000))];
        let discounts = [(high, minor(3_000)), (low, minor(400)), (high, minor(1_000))];
        let share = |at| share_of_line(discounts, &lines, at);
        assert_eq!([share(0), share(1), share(2), share(3)], [minor(1_000), minor(400), minor(3_000), Money::ZERO]);
    }

    #[test]
    fn what_falls_away_is_given_back_at_what_it_cost_and_brings_no_work() {
        let back = taken_back(&line("wash"), minor(1_000));
        assert_eq!((back.quantity, back.discount, back.amount), (-Decimal::TWO, minor(-1_500), minor(-8_500)));
        assert_eq!(back.discount_reason.as_deref(), Some("Regular; its share of the quote's discounts"));
        assert_eq!((back.name.as_str(), back.services.len(), back.minutes), ("Not done: wash", 0, Minutes::ZERO));
        assert!(back.required);
        let whole = taken_back(&line("wash"), Money::ZERO);
        assert_eq!((whole.amount, whole.discount_reason.as_deref()), (minor(-9_500), Some("Regular")));
    }

    #[test]
    fn a_service_that_stays_agreed_is_sold_again_by_its_lines() {
        let (wash, coat) = (line("wash"), line("coat"));
        assert_eq!(sold_again([&wash, &coat], [&coat]), ["coat"]);
        assert!(sold_again([&wash], []).is_empty());
    }
}
