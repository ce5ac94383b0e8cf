//! The vehicle: size, paint, powertrain and identification.

mod same;
mod vin;

use alloc::string::String;
use alloc::vec::Vec;

use crate::caution::{Caution, Hazard};
use crate::inspection::ConditionClass;
use crate::word::words;

pub use same::{Likeness, Traits};
pub use vin::{BadVin, Market, Vin, VinWarning, check_digit};

words! {
    /// Size class of a vehicle, for prices, budgets and amounts.
    pub enum SizeClass("size class") {
        /// A city car or a two-seater.
        Small = "SMALL" "small",
        /// A compact or a saloon: the size that base minutes are given for.
        Medium = "MEDIUM" "medium",
        /// An estate, a large saloon or a sport utility.
        Large = "LARGE" "large",
        /// A van, a pick-up or a large people carrier.
        ExtraLarge = "EXTRA_LARGE" "extra large",
    }
}

impl SizeClass {
    /// The article before its name.
    pub const fn article(self) -> &'static str {
        match self {
            Self::Small | Self::Medium | Self::Large => "a",
            Self::ExtraLarge => "an",
        }
    }
}

words! {
    /// Paint type, as far as it can be recognised by looking.
    pub enum PaintType("paint type") {
        /// One colour without flakes, under clear coat.
        Solid = "SOLID" "solid",
        /// With metal flakes, under clear coat.
        Metallic = "METALLIC" "metallic",
        /// With mica, under clear coat.
        Pearl = "PEARL" "pearl",
        /// Matte or satin clear coat: never polished to a shine.
        Matte = "MATTE" "matte",
        /// A film over the paint.
        Wrap = "WRAP" "wrap",
        /// Colour without clear coat: colour comes off on the pad.
        SingleStage = "SINGLE_STAGE" "single stage",
        /// Not known.
        Unknown = "UNKNOWN" "unknown",
    }
}

words! {
    /// Powertrain of the vehicle.
    pub enum Powertrain("powertrain") {
        /// An engine alone.
        Combustion = "COMBUSTION" "combustion",
        /// An engine and an electric motor with a high-voltage battery.
        Hybrid = "HYBRID" "hybrid",
        /// An electric motor with a high-voltage battery, or a fuel cell.
        Electric = "ELECTRIC" "electric",
        /// Not known.
        Unknown = "UNKNOWN" "unknown",
    }
}

words! {
    /// Unit of the odometer.
    pub enum OdometerUnit("odometer unit") {
        /// Kilometres.
        Kilometres = "KM" "km",
        /// Miles.
        Miles = "MI" "miles",
    }
}

impl Powertrain {
    /// Cautions for any work on the car. A car whose powertrain isn't known counts as electric.
    pub fn cautions(self) -> Vec<Caution> {
        match self {
            Self::Combustion => Vec::new(),
            Self::Hybrid | Self::Electric | Self::Unknown => alloc::vec![Caution::Known(Hazard::HighVoltage)],
        }
    }
}

/// One value for each size class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct BySize<T> {
    /// For [`SizeClass::Small`].
    pub small: T,
    /// For [`SizeClass::Medium`].
    pub medium: T,
    /// For [`SizeClass::Large`].
    pub large: T,
    /// For [`SizeClass::ExtraLarge`].
    pub extra_large: T,
}

impl<T> BySize<T> {
    /// The value for one class.
    pub const fn get(&self, size: SizeClass) -> &T {
        match size {
            SizeClass::Small => &self.small,
            SizeClass::Medium => &self.medium,
            SizeClass::Large => &self.large,
            SizeClass::ExtraLarge => &self.extra_large,
        }
    }

    /// Makes one from a function of the class.
    pub fn from_fn(mut value: impl FnMut(SizeClass) -> T) -> Self {
        Self {
            small: value(SizeClass::Small),
            medium: value(SizeClass::Medium),
            large: value(SizeClass::Large),
            extra_large: value(SizeClass::ExtraLarge),
        }
    }

    /// Class and value, smallest first.
    pub fn iter(&self) -> impl Iterator<Item = (SizeClass, &T)> {
        SizeClass::ALL.iter().map(|size| (*size, self.get(*size)))
    }
}

/// The oldest year of make that is accepted without a warning: a car of 1923 is rarer than a typing error for 2023
/// (common practice, no source).
const OLDEST_LIKELY_YEAR: i32 = 1950;

/// Whether a number can be a year of make at all.
pub const fn is_possible_year(year: i32) -> bool {
    1880 <= year && year <= 2199
}

/// Whether a year of make is probably a typing error. Makers sell next year's models before this year is over.
pub const fn is_unlikely_year(year: i32, this_year: i32) -> bool {
    year < OLDEST_LIKELY_YEAR || year > this_year + 1
}

/// Whether an odometer shows far more than when it was read `days` days before: often a digit too many. A car that is
/// driven much covers 300 a day; 20,000 more leave room for an earlier wrong reading (common practice, no source).
pub fn is_far_above(before: u32, shown: u32, days: u32) -> bool {
    u64::from(shown) > u64::from(before) + 20_000 + 300 * u64::from(days)
}

/// Facts about a car for pricing and planning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Car {
    /// Size class of the vehicle.
    pub size: SizeClass,
    /// Condition class of the car.
    pub condition: ConditionClass,
    /// Powertrain of the vehicle.
    pub powertrain: Powertrain,
}

/// A registration (number plate) in the form for searching: letters and digits of any script, upper-cased, nothing
/// else. Different spellings of one plate give the same text.
pub fn searchable_registration(written: &str) -> String {
    written.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_registration_is_found_however_it_is_written() {
        for written in ["AB 12-CDE", "ab12cde", " a.b-1 2 c d e ", "AB·12·CDE"] {
            assert_eq!(searchable_registration(written), "AB12CDE");
        }
        assert_eq!(searchable_registration("вм 123 к"), "ВМ123К");
        assert_eq!(searchable_registration("- . "), "");
    }

    #[test]
    fn a_year_of_make_beyond_the_next_one_or_before_most_cars_is_unlikely() {
        for year in [1889, 1949, 2028, 2099] {
            assert!(is_unlikely_year(year, 2026), "{year}");
        }
        for year in [1950, 2026, 2027] {
            assert!(!is_unlikely_year(year, 2026), "{year}");
        }
    }

    #[test]
    fn an_odometer_with_a_digit_too_many_is_far_above_and_a_year_of_driving_is_not() {
        assert!(is_far_above(61_234, 612_340, 365));
        assert!(!is_far_above(61_234, 61_240, 0));
        assert!(!is_far_above(61_234, 161_234, 365));
        assert!(is_far_above(61_234, 161_234, 30));
        assert!(!is_far_above(u32::MAX, u32::MAX, u32::MAX));
    }

    #[test]
    fn a_car_that_may_be_electric_brings_the_high_voltage_caution() {
        assert!(Powertrain::Combustion.cautions().is_empty());
        for powertrain in [Powertrain::Hybrid, Powertrain::Electric, Powertrain::Unknown] {
            assert_eq!(powertrain.cautions(), [Caution::Known(Hazard::HighVoltage)]);
        }
    }
}
