//! Days of the week as words.

use chrono::Weekday;

use crate::word::words;

words! {
    /// A day of the week, Monday first (ISO 8601).
    pub enum DayOfWeek("day of the week") {
        /// The first day.
        Monday = "MONDAY" "Monday",
        /// The second day.
        Tuesday = "TUESDAY" "Tuesday",
        /// The third day.
        Wednesday = "WEDNESDAY" "Wednesday",
        /// The fourth day.
        Thursday = "THURSDAY" "Thursday",
        /// The fifth day.
        Friday = "FRIDAY" "Friday",
        /// The sixth day.
        Saturday = "SATURDAY" "Saturday",
        /// The seventh day.
        Sunday = "SUNDAY" "Sunday",
    }
}

impl DayOfWeek {
    /// Its number, 1 for Monday to 7 for Sunday (ISO 8601).
    pub const fn number(self) -> u8 {
        self as u8 + 1
    }

    /// The day of that number; `None` unless it is from 1 to 7.
    pub fn of_number(number: u8) -> Option<Self> {
        Self::ALL.iter().copied().find(|day| day.number() == number)
    }
}

impl From<DayOfWeek> for Weekday {
    fn from(day: DayOfWeek) -> Self {
        match day {
            DayOfWeek::Monday => Self::Mon,
            DayOfWeek::Tuesday => Self::Tue,
            DayOfWeek::Wednesday => Self::Wed,
            DayOfWeek::Thursday => Self::Thu,
            DayOfWeek::Friday => Self::Fri,
            DayOfWeek::Saturday => Self::Sat,
            DayOfWeek::Sunday => Self::Sun,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_numbered_as_iso_8601_does() {
        for day in DayOfWeek::ALL {
            assert_eq!(u32::from(day.number()), Weekday::from(*day).number_from_monday());
            assert_eq!(DayOfWeek::of_number(day.number()), Some(*day));
        }
        assert_eq!((DayOfWeek::of_number(0), DayOfWeek::of_number(8)), (None, None));
    }
}
