//! The first start: nobody can sign in yet, and a person who can read the program's output creates the shop. Afterwards
//! [`progress()`] says what it still needs.

mod found;
mod progress;
mod test_mail;

use std::sync::Arc;

use baywright_domain::calendar::Zone;
use baywright_domain::id::PersonId;
use baywright_domain::money::{Currency, Money, Percent};
use baywright_domain::people::Role;
use rust_decimal::Decimal;

use super::store;
use crate::access;
use crate::access::usecase::Opened;
use crate::menu;
use crate::menu::usecase::FirstMenu;
use crate::people::usecase::NewPerson;
use crate::platform::clock::UtcTime;
use crate::platform::db::{Conn, Db, Scope};
use crate::platform::door::Door;
use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Actor;
use crate::platform::refusal::{FieldFault, Refused};
use crate::platform::secret::Secret;
use crate::platform::token::{self, Token};
use crate::platform::tx::Tx;
use crate::platform::version::Seen;
use crate::platform::warning::Warning;
use crate::platform::{ids, password};
use crate::shop::usecase::any_shop;

pub use found::{NewShop, found};
pub use progress::{Step, progress};
pub use test_mail::{last_test_mail, send_test_mail};

/// Time for which a setup code is valid, in minutes; every start of the program makes another.
const CODE_MINUTES: i64 = 24 * 60;

/// Letters and digits that are not easily confused when they are typed.
const LETTERS: &[u8; 32] = b"ABCDEFGHJKLMNPQRSTUVWXYZ23456789";

/// Data of the first shop.
#[derive(Debug, Clone)]
pub struct Setup {
    /// The code that the program printed.
    pub code: String,
    /// The shop's trading name.
    pub shop_name: String,
    /// Currency of its documents, which never changes.
    pub currency: Currency,
    /// Its IANA time zone.
    pub zone: String,
    /// Its standard rate of tax on sales in percent; 0 if it charges none.
    pub tax: Decimal,
    /// The owner's name.
    pub owner_name: String,
    /// The address that the owner signs in with.
    pub owner_email: String,
    /// The owner's password.
    pub password: Secret,
    /// Settings for loading the starter menu; `None` for an empty menu.
    pub first_menu: Option<FirstMenu>,
}

/// Checks the parts of a setup that could be read; the password comes with the names from which it could be guessed.
pub fn setup_faults(zone: Option<&str>, tax: Option<Decimal>, password: Option<(&Secret, &[&str])>) -> Vec<FieldFault> {
    let fault = |pointer: &str, code: &str, detail: String| FieldFault {
        pointer: pointer.to_owned(),
        code: code.to_owned(),
        detail,
    };
    let mut faults = Vec::new();
    if let Some(Err(error)) = zone.map(Zone::named) {
        faults.push(fault("/zone", "unknown", format!("{error}.")));
    }
    if let Some(Err(error)) = tax.map(Percent::new) {
        faults.push(fault("/tax_percent", "not_a_percentage", format!("{error}.")));
    }
    if let Some((password, known)) = password
        && let Err(problem) = password::judge("/owner/password", password, known)
    {
        faults.extend_from_slice(problem.errors());
    }
    faults
}

/// A code for the first setup; `None` if there is a shop already. It may be shown on the program's output only.
pub fn setup_code(db: &Db, now: UtcTime) -> Done<Option<String>> {
    if db.read(any_shop)? {
        return Ok(None);
    }
    let bytes = ids::random::<20>().map_err(Fail::unexpected)?;
    let letters: Vec<char> = bytes.iter().map(|byte| char::from(LETTERS[usize::from(byte % 32)])).collect();
    let code = letters.chunks(5).map(String::from_iter).collect::<Vec<_>>().join("-");
    db.write(Scope::Program, |conn| Ok(store::insert(conn, &token::digest(&code), now)?))?;
    Ok(Some(code))
}

/// Creates the first shop and signs its owner in; returns what to check in the settings of its menu.
///
/// # Errors
/// `Conflict` if there is a shop already; `Invalid` with every fault of the form at once.
pub fn set_up(door: &Door, setup: &Setup) -> Done<(Opened, Vec<Warning>)> {
    let keys = &door.program().keys;
    set_up_by(door, setup, |tx, owner| access::usecase::open_for(tx, keys, owner))
}

/// The same for the pages; gives the token for the owner's cookie.
///
/// # Errors
/// As [`set_up`].
pub fn set_up_on_pages(door: &Door, setup: &Setup) -> Done<(Token, Vec<Warning>)> {
    set_up_by(door, setup, access::usecase::open_on_pages)
}

/// Founds the first shop and signs its owner in by `open`.
fn set_up_by<T>(
    door: &Door,
    setup: &Setup,
    mut open: impl FnMut(&mut Tx<'_>, &PersonId) -> Done<T>,
) -> Done<(T, Vec<Warning>)> {
    access::usecase::slow(door)?;
    let code = token::digest(&setup.code.trim().to_uppercase());
    let known = [setup.owner_name.as_str(), &setup.owner_email, &setup.shop_name];
    let mut faults = setup_faults(Some(&setup.zone), Some(setup.tax), Some((&setup.password, &known)));
    if let Some(first) = setup.first_menu.as_ref().filter(|first| first.price_step <= Money::ZERO) {
        let detail = format!("Write a price step above {}.", first.price_step.to_major(setup.currency));
        let (pointer, code) = ("/first_menu/price_step".to_owned(), "not_positive".to_owned());
        faults.push(FieldFault { pointer, code, detail });
    }
    match door.read(|conn| may(conn, &code, door.now())) {
        // A wrong code is one fault among the others; that there already is a shop is a refusal of its own.
        Err(Fail::Refused(problem)) if !problem.errors().is_empty() => {
            faults.splice(0..0, problem.errors().iter().cloned());
        }
        other => other?,
    }
    if !faults.is_empty() {
        let details: Vec<&str> = faults.iter().map(|fault| fault.detail.as_str()).collect();
        return Err(Refused::invalid("invalid-value", details.join(" ")).with_faults(faults.clone()).into());
    }
    let tax = Percent::new(setup.tax).map_err(Fail::unexpected)?;
    let new = NewShop {
        name: setup.shop_name.clone(),
        currency: setup.currency,
        zone: setup.zone.clone(),
        tax,
        owner: NewPerson {
            name: setup.owner_name.clone(),
            email: setup.owner_email.clone(),
            role: Role::Owner,
            password_hash: door.program().passwords.hash(&setup.password)?,
        },
    };
    let config = &door.program().config;
    door.write(|conn| {
        may(conn, &code, door.now())?;
        let (shop, owner) = found(conn, config, door.now(), &new)?;
        store::remove_all(conn)?;
        let mut tx = Tx::for_program(conn, Actor::Operator, &shop, door.now(), Arc::clone(config))?;
        if let Some(first) = &setup.first_menu {
            menu::usecase::load_first(&mut tx, Seen(0), first)?;
        }
        let opened = open(&mut tx, &owner)?;
        let in_form = |warning: Warning| {
            let pointer = format!("/first_menu{}", warning.pointer);
            Warning { pointer, ..warning }
        };
        Ok((opened, std::mem::take(&mut tx.warnings).into_iter().map(in_form).collect()))
    })
}

fn may(conn: &mut Conn, code: &str, now: UtcTime) -> Done<()> {
    if any_shop(conn)? {
        let detail = "There is already a shop. Sign in, or add another shop with `baywright shop create`.";
        return Err(Refused::conflict("set-up-already", detail).into());
    }
    if store::holds(conn, code, now.plus_minutes(-CODE_MINUTES))? {
        return Ok(());
    }
    let detail = "This is not the setup code. Copy the code that the program printed when it started, or start the \
                  program again for a new one.";
    Err(Refused::field("/code", "wrong", detail).into())
}
