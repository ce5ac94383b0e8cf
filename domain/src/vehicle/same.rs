//! Whether two records are of one vehicle.

use alloc::string::String;
use alloc::vec::Vec;

use super::{Vin, searchable_registration};
use crate::country::Country;
use crate::search::fold;
use crate::word::words;

words! {
    /// Properties that a new vehicle has in common with a known one.
    pub enum Likeness("likeness") {
        /// The vehicle identification number.
        Vin = "VIN" "vehicle identification number",
        /// The registration.
        Registration = "REGISTRATION" "registration",
    }
}

/// Details that distinguish one vehicle of a customer from another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Traits {
    /// The vehicle identification number.
    pub vin: Option<Vin>,
    /// The registration as written.
    pub registration: Option<String>,
    /// The country of the registration.
    pub country: Option<Country>,
    /// The maker.
    pub make: String,
    /// The model.
    pub model: String,
    /// Year in which it was made.
    pub year: Option<i32>,
    /// The colour.
    pub colour: Option<String>,
}

impl Traits {
    /// Whether both are the same vehicle of the same customer. The identification number decides if both have one (a
    /// plate moves from car to car), else the registration; for vehicles with neither, make, model and other details.
    pub fn same(&self, other: &Self) -> bool {
        if let (Some(mine), Some(theirs)) = (&self.vin, &other.vin) {
            return mine == theirs;
        }
        if let (Some(mine), Some(theirs)) = (&self.registration, &other.registration) {
            return searchable_registration(mine) == searchable_registration(theirs);
        }
        self.is_unnumbered() && other.is_unnumbered() && self.looks() == other.looks()
    }

    /// Whether anything indicates that two records of one customer are of one vehicle: a number in common, or the make
    /// and model if no number of both can be compared.
    pub fn has_in_common(&self, other: &Self) -> bool {
        let comparable = (self.vin.is_some() && other.vin.is_some())
            || (self.registration.is_some() && other.registration.is_some());
        let model = |traits: &Self| (fold(&traits.make), fold(&traits.model));
        !self.likeness(other).is_empty() || (!comparable && model(self) == model(other))
    }

    /// Properties that both have in common, whoever owns them; empty if nothing indicates that they may be one vehicle.
    /// Two countries may issue the same registration, so a different country means a different plate. Two different
    /// identification numbers mean two vehicles, whose plate was moved or should be checked.
    pub fn likeness(&self, other: &Self) -> Vec<Likeness> {
        let vin = self.vin.is_some() && self.vin == other.vin;
        let key = |traits: &Self| traits.registration.as_deref().map(searchable_registration);
        let abroad = self.country.is_some() && other.country.is_some() && self.country != other.country;
        let plate = self.registration.is_some() && key(self) == key(other) && !abroad;
        let said = [(vin, Likeness::Vin), (plate, Likeness::Registration)];
        said.into_iter().filter(|(shared, _)| *shared).map(|(_, likeness)| likeness).collect()
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
            country: None,
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

    #[test]
    fn two_records_have_a_number_in_common_or_the_model_if_no_number_can_be_compared() {
        let one = car(Some(ONE), Some("AB 1"), "red");
        assert!(one.has_in_common(&car(Some(ONE), Some("CD 2"), "red")));
        assert!(one.has_in_common(&car(Some(TWO), Some("AB 1"), "red")));
        assert!(!one.has_in_common(&car(Some(TWO), None, "red")));
        assert!(!one.has_in_common(&car(None, Some("CD 2"), "red")));
        assert!(one.has_in_common(&car(None, None, "blue")));
        assert!(!one.has_in_common(&Traits { model: "Van".into(), ..car(None, None, "red") }));
    }

    #[test]
    fn an_identification_number_or_a_plate_in_common_asks_for_a_second_look() {
        let known = Traits { country: Country::parse("IE").ok(), ..car(Some(ONE), Some("231-D-10101"), "red") };
        let like = |vin, plate| car(vin, plate, "blue").likeness(&known);
        assert_eq!(like(Some(ONE), None), [Likeness::Vin]);
        assert_eq!(like(None, Some("231 d 10101")), [Likeness::Registration]);
        assert_eq!(like(Some(TWO), Some("231D10101")), [Likeness::Registration], "a plate that was moved");
        assert_eq!(like(Some(ONE), Some("231D10101")), [Likeness::Vin, Likeness::Registration]);
        assert!(like(None, None).is_empty() && like(Some(TWO), Some("231-D-10102")).is_empty());
        let abroad = Traits { country: Country::parse("FR").ok(), ..car(None, Some("231-D-10101"), "red") };
        assert!(abroad.likeness(&known).is_empty());
    }
}
