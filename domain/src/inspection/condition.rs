//! The condition class: how much extra work the car's state asks for.

use crate::word::words;

words! {
    /// How much extra work a car needs, from what was found on it.
    pub enum ConditionClass("condition class") {
        /// Cared for; less work than usual.
        Light = "LIGHT" "light",
        /// In ordinary use: the condition that base minutes are given for.
        Fair = "FAIR" "fair",
        /// Neglected or worn; clearly more work.
        Heavy = "HEAVY" "heavy",
        /// The worst that is still taken on.
        Severe = "SEVERE" "severe",
    }
}

/// One value for each condition class.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct ByCondition<T> {
    /// For [`ConditionClass::Light`].
    pub light: T,
    /// For [`ConditionClass::Fair`].
    pub fair: T,
    /// For [`ConditionClass::Heavy`].
    pub heavy: T,
    /// For [`ConditionClass::Severe`].
    pub severe: T,
}

impl<T> ByCondition<T> {
    /// The value for one class.
    pub const fn get(&self, class: ConditionClass) -> &T {
        match class {
            ConditionClass::Light => &self.light,
            ConditionClass::Fair => &self.fair,
            ConditionClass::Heavy => &self.heavy,
            ConditionClass::Severe => &self.severe,
        }
    }

    /// Makes one from a function of the class.
    pub fn from_fn(mut value: impl FnMut(ConditionClass) -> T) -> Self {
        Self {
            light: value(ConditionClass::Light),
            fair: value(ConditionClass::Fair),
            heavy: value(ConditionClass::Heavy),
            severe: value(ConditionClass::Severe),
        }
    }

    /// Class and value, lightest first.
    pub fn iter(&self) -> impl Iterator<Item = (ConditionClass, &T)> {
        ConditionClass::ALL.iter().map(|class| (*class, self.get(*class)))
    }
}
