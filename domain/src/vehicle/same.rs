//! Whether two notes of a vehicle are of one.

use alloc::string::String;

use super::{Vin, searchable_registration};
use crate::search::fold;

/// What tells one vehicle of a customer from another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Traits {
    /// The vehicle identification number.
    pub vin: Option<Vin>,
    /// The registration as written.
    pub registration: Option<String>,
    /// The maker.
    pub make: String,
    /// The model.
    pub model: String,
    /// The year it was made in.
    pub year: Option<i32>,
    /// The colour.
    pub colour: Option<String>,
}

impl Traits {
    /// Whether both are of one vehicle of the same customer. The identification number decides where both have one (a
    /// plate moves from car to car), else the registration; of vehicles with neither, what they look like.
    pub fn same(&self, other: &Self) -> bool {
        if let (Some(mine), Some(theirs)) = (&self.vin, &other.vin) {
            return mine == theirs;
        }
        if let (Some(mine), Some(theirs)) = (&self.registration, &other.registration) {
            return searchable_registration(mine) == searchable_registration(theirs);
        }
        self.is_unnumbered() && other.is_unnumbered() && self.looks() == other.looks()
    }

    fn is_unnumbered(&self) -> bool {
        self.vin.is_none() && self.registration.is_none()
    }

    fn looks(&self) -> (String, String, Option<i32>, Option<String>) {
        (fold(&self.make), fold(&self.model), self.year, self.colour.as_deref().map(fold))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // The first number is the worked example of 49 CFR 565.15, the second differs from it in its serial number.
    const ONE: &str = "1G4AH59H45G118341";
    const TWO: &str = "1G4AH59H45G118342";

    fn car(vin: Option<&str>, registration: Option<&str>, colour: &str) -> Traits {
        Traits {
            vin: vin.map(|text| Vin::form(text).unwrap()),
            registration: registration.map(String::from),
            make: "Corrigan".into(),
            model: "Estate".into(),
            year: Some(2023),
            colour: Some(colour.into()),
        }
    }

    fn same(one: &Traits, two: &Traits) -> bool {
        assert_eq!(one.same(two), two.same(one));
        one.same(two)
    }

    #[test]
    fn the_identification_number_decides_then_the_plate_then_the_looks() {
        assert!(same(&car(Some(ONE), Some("AB 1"), "red"), &car(Some(ONE), Some("CD 2"), "blue")));
        assert!(!same(&car(Some(ONE), Some("AB 1"), "red"), &car(Some(TWO), Some("AB 1"), "red")));
        assert!(same(&car(None, Some("ab-12"), "red"), &car(Some(ONE), Some("AB 12"), "blue")));
        assert!(!same(&car(None, Some("AB 12"), "red"), &car(None, Some("AB 13"), "red")));
        assert!(same(&car(None, None, "Red"), &car(None, None, "red")));
        assert!(!same(&car(None, None, "red"), &car(None, None, "blue")));
        assert!(!same(&car(Some(ONE), None, "red"), &car(None, Some("AB 12"), "red")));
    }
}
