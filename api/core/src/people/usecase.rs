//! Use cases of people's accounts and their time.

mod absence;
mod account;
mod working;

pub use absence::{
    Absence, AbsenceDetails, absences, absences_in_words, absences_on_days, absences_within, add_absence,
    away_in_words, remove_absence, replace_absence, show_absence,
};
pub use account::{NewPerson, Person, PersonDetails, add, create, deactivate, everyone, reactivate, replace, show};
pub use working::working;
