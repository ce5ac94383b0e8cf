//! The details of a person in a form.

use std::collections::BTreeSet;

use baywright_core::menu::usecase::known_words;
use baywright_core::people::usecase::PersonDetails;
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::week;
use baywright_domain::menu::Code;
use baywright_domain::people::Role;
use baywright_http::platform::wire::{Email, Line};

use crate::platform::form::{Fields, Input, Reading, read_week, spaced};

/// Name of the rows of hours.
pub(super) const ROWS: &str = "shifts";

/// Name of the box that stands for the opening hours.
const AS_OPEN: &str = "as_open";

/// What a form brings.
#[derive(Debug, Clone)]
pub(super) struct Typed {
    details: PersonDetails,
    as_open: bool,
}

/// The skills that steps of the menu ask for.
pub(super) fn skills(tx: &mut Tx<'_>) -> Done<BTreeSet<Code>> {
    Ok(known_words(tx)?.skills)
}

/// The inputs for a person, with those skills to tick.
pub(super) fn inputs(skills: &BTreeSet<Code>) -> Vec<Input> {
    let roles = Role::ALL.iter().map(|role| (role.as_str().to_owned(), what_for(*role).to_owned()));
    let roles = std::iter::once((String::new(), "Choose".to_owned())).chain(roles).collect();
    let skills = skills.iter().map(|code| (code.to_string(), spaced(code))).collect();
    let as_open = vec![("yes".to_owned(), "Works on cars whenever the studio is open".to_owned())];
    vec![
        Input::line("name", "Name").hint("As colleagues use it.").autocomplete("off"),
        Input::email("email", "Email address").hint("They sign in with it.").autocomplete("off"),
        Input::line("role", "Role").options(roles),
        Input::ticks("skills", "Skills", skills)
            .hint("Work that needs a skill is planned only for people who have it."),
        Input::ticks(AS_OPEN, "Hours", as_open),
    ]
}

/// A role with what it is for.
const fn what_for(role: Role) -> &'static str {
    match role {
        Role::Owner => "owner: may do everything",
        Role::Desk => "desk: customers, quotes, bookings and invoices",
        Role::Technician => "technician: the work on cars, without prices",
        Role::Accountant => "accountant: sees invoices and payments",
    }
}

/// The person that the form describes, or everything that is wrong with it.
pub(super) fn read(fields: &Fields) -> Result<Typed, Refused> {
    let mut form = Reading::of(fields);
    let name = form.needed("name", Line::<120>::parse);
    let email = form.needed("email", |text| Email::parse(text.trim()));
    let role = form.needed("role", |text| Role::parse(text).map_err(|_| "choose the role".to_owned()));
    let skills = form.codes("skills");
    let shifts = read_week(&mut form, fields, ROWS);
    let details = name.zip(email).zip(role).map(|((name, email), role)| PersonDetails {
        name: name.into_string(),
        email: email.into_string(),
        role,
        skills,
        shifts,
    });
    Ok(Typed { details: form.done(details)?, as_open: fields.yes(AS_OPEN) })
}

impl Typed {
    /// The details, with the opening hours if the person works whenever the studio is open.
    pub(super) fn details(&self, tx: &mut Tx<'_>) -> Done<PersonDetails> {
        let shifts = if self.as_open { week(tx)?.hours } else { self.details.shifts.clone() };
        Ok(PersonDetails { shifts, ..self.details.clone() })
    }
}

/// Whether a person who is there works on cars, in words.
pub(super) fn note(details: &PersonDetails, active: bool) -> String {
    let works = match (active, details.shifts.is_empty()) {
        (false, _) => "no longer has access",
        (true, true) => "does not work on cars yet",
        (true, false) => "works on cars",
    };
    format!("{}, {works}", details.role)
}
