//! Warnings about allowed but suspicious values of a menu: a price of zero, work that nobody can do.

use alloc::collections::BTreeSet;
use alloc::format;
use alloc::string::{String, ToString};
use alloc::vec::Vec;

use rust_decimal::Decimal;

use super::{COVER, Code, Holds, Menu, Package, Price, Service, Step};
use crate::inspection::ConditionClass;
use crate::money::Money;
use crate::pricing::{package_price, service_price};
use crate::refusal::Fault;
use crate::time::Minutes;
use crate::vehicle::{BySize, Car, Powertrain, SizeClass};

/// Number of hours of labour above which a price counts as a typing error (common practice, no source).
const MOST_HOURS: u32 = 200;

/// Number of hours of one person's work above which the time of one step counts as a typing error (common practice, no
/// source).
const MOST_STEP_HOURS: u32 = 100;

/// Skills of the shop's people and features of its bays.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Abilities {
    /// The skills of each person who works at cars.
    pub people: Vec<BTreeSet<Code>>,
    /// The features of each bay in use.
    pub bays: Vec<BTreeSet<Code>>,
    /// Maximum number of bays that one car is in, one after another.
    pub most_stays: u32,
}

impl Abilities {
    fn someone_has(&self, skills: &[Code]) -> bool {
        self.people.iter().any(|person| skills.iter().all(|skill| person.contains(skill)))
    }

    fn a_bay_has(&self, features: &BTreeSet<Code>) -> bool {
        self.bays.iter().any(|bay| features.is_subset(bay))
    }

    /// The minimum number of bays, one after another, in which these steps can be done by stage and code. Each step must
    /// have a bay.
    fn stays_for(&self, steps: &[&Step]) -> u32 {
        let mut order = steps.to_vec();
        order.sort_by_key(|step| (step.stage, &step.code));
        let (mut stays, mut here): (u32, Vec<&BTreeSet<Code>>) = (1, self.bays.iter().collect());
        for features in order.into_iter().map(features_of) {
            let fits = |bay: &&BTreeSet<Code>| features.is_subset(bay);
            // Staying for as long as a bay serves never needs more bays than leaving it sooner.
            if !here.iter().any(fits) {
                stays += 1;
                here = self.bays.iter().collect();
            }
            here.retain(fits);
        }
        stays
    }
}

impl Menu {
    /// Allowed but suspicious values, with a JSON pointer into the menu for each: steps, duplicate names, then services
    /// and packages in the order of the document. Steps that no service needs are skipped. The menu should be without
    /// [`faults`](Self::faults).
    pub fn warnings(&self, abilities: &Abilities) -> Vec<Fault> {
        let mut look = Look { menu: self, abilities, keeps_step: self.keeps_step(), warnings: Vec::new() };
        let used: BTreeSet<&Code> =
            self.services.iter().flat_map(|service| &service.steps).map(|used| &used.step).collect();
        for (at, step) in self.steps.iter().enumerate().filter(|(_, step)| used.contains(&step.code)) {
            look.step(at, step);
        }
        // These come before the prices, which may have more warnings than an answer carries.
        look.names();
        for (at, service) in self.services.iter().enumerate() {
            look.service(at, service);
        }
        for (at, package) in self.packages.iter().enumerate() {
            look.package(at, package);
        }
        look.warnings
    }

    /// Whether most fixed prices are multiples of the price step, so that another one may be a typing error. A menu
    /// priced at 59.90 throughout uses its step only for built prices.
    fn keeps_step(&self) -> bool {
        let services = self.services.iter().filter_map(|service| match &service.price {
            Price::Fixed(prices) => Some(prices),
            Price::Built => None,
        });
        let packages = self.packages.iter().map(|package| &package.price);
        let fixed = services.chain(packages).flat_map(BySize::iter).filter_map(|(_, price)| *price);
        let fixed: Vec<Money> = fixed.filter(|price| !price.is_zero()).collect();
        let off = fixed.iter().filter(|price| is_off_step(**price, self.factors.price_step)).count();
        off * 2 < fixed.len()
    }
}

/// Whether a price is no multiple of the price step.
fn is_off_step(price: Money, step: Money) -> bool {
    price.minor().checked_rem(step.minor()).is_some_and(|over| over != 0)
}

struct Look<'a> {
    menu: &'a Menu,
    abilities: &'a Abilities,
    keeps_step: bool,
    warnings: Vec<Fault>,
}

impl Look<'_> {
    fn warn(&mut self, pointer: String, code: &'static str, detail: String) {
        self.warnings.push(Fault { pointer, code, detail });
    }

    fn step(&mut self, at: usize, step: &Step) {
        if !step.skills.is_empty() && !self.abilities.someone_has(&step.skills) {
            let detail = format!(
                "nobody in the shop has the skills that {} needs ({}): it can't be booked until one person has them",
                step.name,
                listed(&step.skills)
            );
            self.warn(format!("/steps/{at}/skills"), "nobody_has_skill", detail);
        }
        let features = features_of(step);
        if !features.is_empty() && !self.abilities.a_bay_has(&features) {
            let detail = format!(
                "no bay in use has what {} needs ({}): it can't be booked until one bay has it",
                step.name,
                listed(&features)
            );
            self.warn(format!("/steps/{at}/bay_features"), "no_bay_has_features", detail);
        }
        if step.minutes > Minutes::new(MOST_STEP_HOURS * 60) {
            let detail = format!(
                "{} takes more than {MOST_STEP_HOURS} hours of work on a medium car: check its minutes for a slip",
                step.name
            );
            self.warn(format!("/steps/{at}/minutes"), "step_long", detail);
        }
        let wait = step.wait;
        if wait.minutes > Minutes::ZERO && wait.holds == Holds::After && (wait.needs_bay || wait.needs_cover) {
            let place = if wait.needs_bay { "stay in its bay" } else { "be under cover" };
            let detail = format!(
                "the car must {place} while {} dries or cures, but the wait lets other work go on and move it: let the wait \
                 hold the car",
                step.name
            );
            self.warn(format!("/steps/{at}/wait/holds"), "wait_must_hold_car", detail);
        }
    }

    fn service(&mut self, at: usize, service: &Service) {
        match &service.price {
            Price::Fixed(prices) => self.prices(&format!("/services/{at}/price"), &service.name, prices),
            Price::Built if self.menu.factors.labour_rate == Money::ZERO => {
                let detail = format!("the price of {} is built from a labour rate of 0", service.name);
                self.warn(format!("/services/{at}/price"), "price_zero", detail);
            }
            Price::Built => self.built_price(at, service),
        }
        let steps: Vec<&Step> = service.steps.iter().filter_map(|used| self.menu.step(&used.step)).collect();
        let each = steps.iter().all(|step| {
            let features = features_of(step);
            features.is_empty() || self.abilities.a_bay_has(&features)
        });
        let all: BTreeSet<Code> = steps.iter().flat_map(|step| features_of(step)).collect();
        if !each || all.is_empty() || self.abilities.a_bay_has(&all) {
            return;
        }
        let (stays, most) = (self.abilities.stays_for(&steps), self.abilities.most_stays.max(1));
        if most > 1 && stays > most {
            let detail = format!(
                "a car for {} would be in {stays} bays one after another ({}), and the shop's terms allow {most}",
                service.name,
                listed(&all)
            );
            self.warn(format!("/services/{at}/steps"), "no_bay_has_features", detail);
        } else if stays > most {
            let detail = format!(
                "no single bay in use has everything that {} needs ({}), so it can't be booked in one visit{}",
                service.name,
                listed(&all),
                self.where_it_fails(&steps)
            );
            self.warn(format!("/services/{at}/steps"), "no_bay_has_features", detail);
        }
    }

    /// The first step whose features no bay has together with those of the steps before it, as the end of a sentence.
    fn where_it_fails(&self, steps: &[&Step]) -> String {
        let mut so_far = BTreeSet::new();
        for step in steps {
            let own = features_of(step);
            so_far.extend(own.iter().cloned());
            if !self.abilities.a_bay_has(&so_far) {
                return format!(": {} needs {}, and no bay has that together with the rest", step.name, listed(&own));
            }
        }
        String::new()
    }

    /// A price by time of more than a sensible number of hours of labour, for the smallest size that has one.
    fn built_price(&mut self, at: usize, service: &Service) {
        let most = self.menu.factors.labour_rate.decimal().checked_mul(Decimal::from(MOST_HOURS));
        for size in SizeClass::ALL {
            let car = Car { size: *size, condition: ConditionClass::Fair, powertrain: Powertrain::Unknown };
            let Ok(priced) = service_price(self.menu, service, car) else { continue };
            if most.is_some_and(|most| priced.price.decimal() > most) {
                let (name, a) = (&service.name, size.article());
                let detail = format!(
                    "by its time, {name} costs more than {MOST_HOURS} hours of labour for {a} {size} car in fair \
                     condition: check the minutes of its steps for a slip"
                );
                self.warn(format!("/services/{at}/price"), "price_high", detail);
                return;
            }
        }
    }

    fn prices(&mut self, at: &str, name: &str, prices: &BySize<Option<Money>>) {
        let (labour, step) = (self.menu.factors.labour_rate.decimal(), self.menu.factors.price_step);
        let most = labour.checked_mul(Decimal::from(MOST_HOURS)).filter(|_| labour > Decimal::ZERO);
        let mut off_step = Vec::new();
        for (size, price) in prices.iter() {
            let Some(price) = price else { continue };
            let (pointer, a) = (format!("{at}/{}", size.as_str()), size.article());
            if *price == Money::ZERO {
                let detail = format!("{name} costs nothing for {a} {size} car: give it a price unless it is a gift");
                self.warn(pointer, "price_zero", detail);
            } else if most.is_some_and(|most| price.decimal() > most) {
                let detail = format!(
                    "{name} costs more than {MOST_HOURS} hours of labour for {a} {size} car: check the price for a slip"
                );
                self.warn(pointer, "price_high", detail);
            } else if self.keeps_step && is_off_step(*price, step) {
                off_step.push(size);
            }
        }
        if let Some(first) = off_step.first() {
            let detail = format!(
                "{name} has prices that are no multiple of the shop's price step (size {}): check them for a slip",
                listed(&off_step)
            );
            self.warn(format!("{at}/{}", first.as_str()), "price_off_step", detail);
        }
    }

    /// Services and packages that are easily confused on a quote.
    fn names(&mut self) {
        let menu = self.menu;
        let services = menu.services.iter().enumerate().map(|(at, one)| (format!("/services/{at}/name"), &one.name));
        let packages = menu.packages.iter().enumerate().map(|(at, one)| (format!("/packages/{at}/name"), &one.name));
        let mut seen = BTreeSet::new();
        for (pointer, name) in services.chain(packages) {
            if !seen.insert(name.trim().to_lowercase()) {
                let detail = format!("another service or package is called {name} too: give each a name of its own");
                self.warn(pointer, "same_name", detail);
            }
        }
    }

    fn package(&mut self, at: usize, package: &Package) {
        self.prices(&format!("/packages/{at}/price"), &package.name, &package.price);
        for size in SizeClass::ALL {
            let car = Car { size: *size, condition: ConditionClass::Fair, powertrain: Powertrain::Unknown };
            let Ok((_, saving)) = package_price(self.menu, package, car) else { continue };
            if saving.price > saving.sum_of_services {
                let a = size.article();
                let detail = format!(
                    "for {a} {size} car in fair condition {} costs more than its services one by one: lower its price",
                    package.name
                );
                self.warn(format!("/packages/{at}/price/{}", size.as_str()), "dearer_than_parts", detail);
            }
        }
    }
}

/// Features that a step and the wait after it need in the bay.
fn features_of(step: &Step) -> BTreeSet<Code> {
    let cover = step.wait.needs_cover && step.wait.minutes > Minutes::ZERO;
    let cover = cover.then(|| Code::parse(COVER).ok()).flatten();
    step.features.iter().cloned().chain(cover).collect()
}

fn listed<'a, T: ToString + 'a>(values: impl IntoIterator<Item = &'a T>) -> String {
    values.into_iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}
