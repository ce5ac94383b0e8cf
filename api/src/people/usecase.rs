//! What is done to people's accounts, their time and their sign-ins.

mod absence;
mod account;
mod session;
mod working;

pub use absence::{Absence, AbsenceDetails, absences, add_absence, remove_absence, replace_absence, show_absence};
pub use account::{NewPerson, Person, PersonDetails, add, create, deactivate, everyone, reactivate, replace, show};
pub use session::open_session;
pub use working::working;
