//! Faults of a menu: all at once, each with its position.

use alloc::collections::BTreeMap;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::{Code, Dose, Menu, Package, Price, Product, Service, Step, Unit};
use crate::money::Money;
use crate::precedence::Precedence;
use crate::refusal::Fault;
use crate::time::Minutes;
use crate::vehicle::BySize;

/// Maximum duration of one step or wait: thirty days.
const LONGEST: Minutes = Minutes::new(30 * 24 * 60);

impl Menu {
    /// Every fault of the menu with a JSON pointer into it (`/services/3/steps/1`), in the order of the document; empty
    /// for a menu that can be used.
    pub fn faults(&self) -> Vec<Fault> {
        let mut check = Check { menu: self, faults: Vec::new() };
        check.factors();
        check.duplicates("/products", self.products.iter().map(|product| &product.code));
        check.duplicates("/steps", self.steps.iter().map(|step| &step.code));
        check.duplicates("/services", self.services.iter().map(|service| &service.code));
        check.duplicates("/packages", self.packages.iter().map(|package| &package.code));
        for (at, product) in self.products.iter().enumerate() {
            check.product(&format!("/products/{at}"), product);
        }
        for (at, step) in self.steps.iter().enumerate() {
            check.step(&format!("/steps/{at}"), step);
        }
        check.cycles();
        for (at, service) in self.services.iter().enumerate() {
            check.service(&format!("/services/{at}"), service);
        }
        for (at, package) in self.packages.iter().enumerate() {
            check.package(&format!("/packages/{at}"), package);
        }
        check.faults
    }

    /// The order among all steps of the menu, by `after` and by checkpoints; steps by their index.
    pub(crate) fn precedence(&self) -> Precedence {
        let mut all = Precedence::new(self.steps.len());
        for (then, step) in self.steps.iter().enumerate() {
            for before in &step.after {
                if let Some(first) = self.steps.iter().position(|other| other.code == *before) {
                    all.add(first, then);
                }
            }
            for checkpoint in self.checkpoints.iter().filter(|checkpoint| step.stage >= checkpoint.stage) {
                for (first, other) in self.steps.iter().enumerate() {
                    if other.stage < checkpoint.stage {
                        all.add(first, then);
                    }
                }
            }
        }
        all
    }
}

struct Check<'a> {
    menu: &'a Menu,
    faults: Vec<Fault>,
}

impl Check<'_> {
    fn fault(&mut self, pointer: String, code: &'static str, detail: impl Into<String>) {
        self.faults.push(Fault { pointer, code, detail: detail.into() });
    }

    fn factors(&mut self) {
        let factors = &self.menu.factors;
        let sizes = factors.size.iter().map(|(size, value)| (format!("/factors/size/{}", size.as_str()), *value));
        let conditions = factors.condition.iter();
        let conditions = conditions.map(|(class, value)| (format!("/factors/condition/{}", class.as_str()), *value));
        for (pointer, value) in sizes.chain(conditions).collect::<Vec<_>>() {
            self.factor(pointer, value);
        }
        if factors.price_step <= Money::ZERO {
            self.fault("/factors/price_step".into(), "not_positive", "the price step must be above zero, such as 1.00");
        }
        if factors.labour_rate < Money::ZERO {
            self.fault("/factors/labour_rate".into(), "negative", "the labour rate can't be below zero");
        }
    }

    fn factor(&mut self, pointer: String, value: Decimal) {
        let fits = value > Decimal::ZERO && value <= Decimal::TEN && value.normalize().scale() <= 4;
        if !fits {
            let detail = format!("the factor {value} must be above 0, at most 10, with at most 4 decimals");
            self.fault(pointer, "bad_factor", detail);
        }
    }

    fn duplicates<'c>(&mut self, list: &str, codes: impl Iterator<Item = &'c Code>) {
        let mut first: BTreeMap<&Code, usize> = BTreeMap::new();
        for (at, code) in codes.enumerate() {
            match first.get(code) {
                Some(earlier) => {
                    let detail = format!("the code {code} is already used by number {}", earlier + 1);
                    self.fault(format!("{list}/{at}/code"), "duplicate", detail);
                }
                None => {
                    first.insert(code, at);
                }
            }
        }
    }

    /// Faults of a list of codes: one named twice, or one that `known` doesn't know.
    fn references(&mut self, list: &str, codes: &[&Code], what: &str, known: impl Fn(&Code) -> bool) {
        for (at, code) in codes.iter().enumerate() {
            if !known(code) {
                self.fault(format!("{list}/{at}"), "unknown", format!("the menu has no {what} {code}"));
            }
            if codes[..at].contains(code) {
                self.fault(format!("{list}/{at}"), "duplicate", format!("{code} is named twice"));
            }
        }
    }

    fn name(&mut self, at: &str, name: &str) {
        if name.trim().is_empty() || name.chars().count() > 200 {
            self.fault(format!("{at}/name"), "bad_name", "give it a name of 1 to 200 characters");
        }
    }

    fn product(&mut self, at: &str, product: &Product) {
        self.name(at, &product.name);
        let menu = self.menu;
        let others: Vec<&Code> = product.never_with.iter().collect();
        self.references(&format!("{at}/never_with"), &others, "product", |code| menu.product(code).is_some());
        if product.mix.is_some() && product.unit != Unit::Millilitre {
            self.fault(
                format!("{at}/mix"),
                "not_a_liquid",
                "only a product counted in millilitres is mixed with water",
            );
        }
        if product.price.is_some_and(Money::is_negative) {
            self.fault(format!("{at}/price"), "negative", "the price can't be below zero");
        }
        if product.acid_meets_chlorine(product) {
            let detail = "a product can't be both an acid and chlorine bleach: check its safety data sheet";
            self.fault(format!("{at}/chemistry"), "dangerous", detail);
        }
    }

    fn step(&mut self, at: &str, step: &Step) {
        self.name(at, &step.name);
        if step.minutes > LONGEST {
            self.fault(format!("{at}/minutes"), "too_long", "a step takes at most 43,200 minutes (thirty days)");
        }
        if step.wait.minutes > LONGEST {
            self.fault(format!("{at}/wait/minutes"), "too_long", "a wait takes at most 43,200 minutes (thirty days)");
        }
        if let Some(share) = step.two_hands
            && !(share >= Decimal::new(5, 1) && share <= Decimal::ONE && share.normalize().scale() <= 4)
        {
            let detail = format!("two people take from 0.5 to 1 of the time of one, not {share}");
            self.fault(format!("{at}/two_hands"), "bad_factor", detail);
        }
        if step.split.is_some_and(|split| split.piece == Minutes::ZERO) {
            self.fault(format!("{at}/split/piece"), "not_positive", "the smallest piece has at least one minute");
        }
        let menu = self.menu;
        let after: Vec<&Code> = step.after.iter().collect();
        self.references(&format!("{at}/after"), &after, "step", |code| menu.step(code).is_some());
        self.doses(&format!("{at}/doses"), &step.doses);
    }

    fn doses(&mut self, list: &str, doses: &[Dose]) {
        let menu = self.menu;
        let codes: Vec<&Code> = doses.iter().map(|dose| &dose.product).collect();
        self.references(list, &codes, "product", |code| menu.product(code).is_some());
        for (at, dose) in doses.iter().enumerate() {
            let fits = |value: Decimal| value > Decimal::ZERO && value <= Decimal::from(100_000_u32);
            if !fits(dose.basis.units()) || !fits(dose.rate) {
                let detail = "area or count and rate must be above 0 and at most 100,000";
                self.fault(format!("{list}/{at}"), "bad_amount", detail);
            }
            let Some(product) = menu.product(&dose.product) else { continue };
            for earlier in &doses[..at] {
                if let Some(other) = menu.product(&earlier.product)
                    && product.clashes_with(other)
                {
                    let detail =
                        format!("{} and {} must never meet: put them in separate steps", other.name, product.name);
                    self.fault(format!("{list}/{at}"), "dangerous", detail);
                }
            }
        }
    }

    fn cycles(&mut self) {
        for cycle in self.menu.precedence().cycles() {
            let mut names: Vec<&str> = cycle.iter().map(|at| self.menu.steps[*at].name.as_str()).collect();
            if let (Some(first), Some(at)) = (names.first().copied(), cycle.first()) {
                names.push(first);
                let detail = format!("these steps wait for one another: {}", names.join(" → "));
                self.fault(format!("/steps/{at}/after"), "cycle", detail);
            }
        }
    }

    fn prices(&mut self, at: &str, prices: &BySize<Option<Money>>) {
        for (size, price) in prices.iter() {
            match price {
                None => {
                    let detail = format!("give a price for the size class {size}");
                    self.fault(format!("{at}/{}", size.as_str()), "missing", detail);
                }
                Some(price) if price.is_negative() => {
                    self.fault(format!("{at}/{}", size.as_str()), "negative", "the price can't be below zero");
                }
                Some(_) => {}
            }
        }
    }

    fn service(&mut self, at: &str, service: &Service) {
        self.name(at, &service.name);
        let menu = self.menu;
        let steps: Vec<&Code> = service.steps.iter().map(|used| &used.step).collect();
        self.references(&format!("{at}/steps"), &steps, "step", |code| menu.step(code).is_some());
        for (nth, used) in service.steps.iter().enumerate() {
            if used.minutes.is_some_and(|minutes| minutes > LONGEST) {
                let detail = "a step takes at most 43,200 minutes (thirty days)";
                self.fault(format!("{at}/steps/{nth}/minutes"), "too_long", detail);
            }
        }
        match &service.price {
            Price::Fixed(prices) => self.prices(&format!("{at}/price"), prices),
            Price::Built if service.steps.is_empty() => {
                let detail = "a price built from steps needs a step: add one or give fixed prices";
                self.fault(format!("{at}/steps"), "missing", detail);
            }
            Price::Built => self.condition_counted_twice(at, service),
        }
        if !(1..=1000).contains(&service.largest_quantity) {
            let detail = "the largest quantity is from 1 to 1,000";
            self.fault(format!("{at}/largest_quantity"), "out_of_range", detail);
        }
        let excluded: Vec<&Code> = service.excludes.iter().collect();
        self.references(&format!("{at}/excludes"), &excluded, "service", |code| menu.service(code).is_some());
        if let Some(nth) = service.excludes.iter().position(|code| *code == service.code) {
            self.fault(format!("{at}/excludes/{nth}"), "excludes_itself", "a service can't exclude itself");
        }
    }

    /// A built price whose minutes already grew with the condition must not be multiplied by it again.
    fn condition_counted_twice(&mut self, at: &str, service: &Service) {
        let counted = service.steps.iter().filter_map(|used| self.menu.step(&used.step)).find(|step| step.by_condition);
        if let Some(step) = counted.filter(|_| service.condition.priced) {
            let detail = format!(
                "the condition would be charged twice, in the minutes of {} and in the price: leave one of them out",
                step.name
            );
            self.fault(format!("{at}/condition/priced"), "counted_twice", detail);
        }
    }

    fn package(&mut self, at: &str, package: &Package) {
        self.name(at, &package.name);
        let menu = self.menu;
        let services: Vec<&Code> = package.services.iter().collect();
        self.references(&format!("{at}/services"), &services, "service", |code| menu.service(code).is_some());
        if package.services.is_empty() {
            self.fault(format!("{at}/services"), "missing", "a package needs at least one service");
        }
        for (one, other) in menu.excluded_pairs(&package.services) {
            let name = |code: &Code| menu.service(code).map_or_else(|| code.to_string(), |found| found.name.clone());
            let detail = format!("{} and {} exclude each other: leave one out", name(one), name(other));
            let nth = package.services.iter().position(|code| code == other).unwrap_or_default();
            self.fault(format!("{at}/services/{nth}"), "excluded", detail);
        }
        self.prices(&format!("{at}/price"), &package.price);
    }
}
