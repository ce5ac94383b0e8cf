//! How far a new shop has come: what it needs before its first car, in the order in which that is best entered.
//!
//! No row says that a step was done. Each is read off what the shop has, so that a step that was done by the API counts, and
//! one that was undone is asked for again.

use baywright_domain::message::MessageState;

use crate::menu::kept::MenuForm;
use crate::message::usecase::Wanted;
use crate::platform::fail::Done;
use crate::platform::paging::Paging;
use crate::platform::tx::Tx;
use crate::{menu, message, people, shop};

/// A step of the guided setup.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Step {
    /// The shop's street, country and telephone number, which its documents and mails show.
    Shop,
    /// The tax that new services take.
    Tax,
    /// The opening hours of the usual week.
    Hours,
    /// A bay that cars are put into.
    Bays,
    /// Somebody who works on cars in the usual week.
    People,
    /// A draft of the menu.
    Menu,
    /// Prices that were looked at and are in force.
    Prices,
    /// A mail that went out.
    Mail,
}

/// Every step in order, and whether it is done.
///
/// Hours that are still those of a new shop count as done once somebody has saved them.
pub fn progress(tx: &mut Tx<'_>) -> Done<Vec<(Step, bool)>> {
    let profile = shop::usecase::show(tx)?.found.profile;
    let reachable = profile.address.street.is_some() && profile.address.country.is_some() && profile.phone.is_some();
    let taxed = shop::usecase::taxes(tx)?.iter().any(|tax| tax.usual);
    let looked_at_hours = shop::usecase::week(tx)?.version > 1;
    let has_bay = shop::usecase::bays(tx)?.iter().any(|bay| bay.details.in_use);
    let everyone = people::usecase::everyone(tx)?;
    let has_crew = everyone.iter().any(|person| person.active && !person.details.shifts.is_empty());
    let in_force = menu::usecase::find_in_force(tx)?.is_some();
    let written = in_force || menu::usecase::draft(tx)?.menu != MenuForm::empty();
    Ok(vec![
        (Step::Shop, reachable),
        (Step::Tax, taxed),
        (Step::Hours, looked_at_hours),
        (Step::Bays, has_bay),
        (Step::People, has_crew),
        (Step::Menu, written),
        (Step::Prices, in_force),
        (Step::Mail, has_mailed(tx)?),
    ])
}

/// Whether a mail of the shop was ever taken by the mail server.
fn has_mailed(tx: &mut Tx<'_>) -> Done<bool> {
    let sent = Wanted { states: vec![MessageState::Sent], about: None };
    Ok(!message::usecase::list(tx, &sent, &Paging::first(1))?.items.is_empty())
}
