//! What is done to people's accounts.

use baywright_domain::id::{PersonId, SessionId};
use serde_json::json;

use super::store;
use crate::platform::fail::{Done, Fail};
use crate::platform::identity::Role;
use crate::platform::problem::Problem;
use crate::platform::tx::Tx;
use crate::platform::{ids, record};

/// What a new account needs.
#[derive(Debug, Clone)]
pub struct NewPerson {
    /// The name as colleagues say it.
    pub name: String,
    /// The address to sign in with.
    pub email: String,
    /// What they may do.
    pub role: Role,
    /// The digest of their password (PHC string), made beforehand: it takes long.
    pub password_hash: String,
}

/// Adds an account; gives its id.
pub fn add(tx: &mut Tx<'_>, new: &NewPerson) -> Done<String> {
    let id: PersonId = ids::new();
    let row = store::NewPersonRow {
        id: id.to_string(),
        shop_id: tx.shop().to_string(),
        name: new.name.clone(),
        email: new.email.clone(),
        email_key: new.email.to_lowercase(),
        role: new.role.as_str().to_owned(),
        password_hash: new.password_hash.clone(),
        active: true,
        version: 1,
        created_at: tx.now.ms(),
        updated_at: tx.now.ms(),
    };
    store::insert_person(tx.conn, &row).map_err(|error| {
        if error.is_taken() {
            Problem::field("/email", "taken", "Someone signs in with this address already. Use another.").into()
        } else {
            Fail::from(error)
        }
    })?;
    record::write(tx, "person.added", ("person", id.as_str()), json!({ "role": new.role.as_str() }))?;
    Ok(id.to_string())
}

/// Opens a sign-in for a person; gives its id.
pub fn open_session(tx: &mut Tx<'_>, person: &PersonId) -> Done<SessionId> {
    let id: SessionId = ids::new();
    let row = store::NewSessionRow {
        id: id.to_string(),
        shop_id: tx.shop().to_string(),
        person_id: person.to_string(),
        created_at: tx.now.ms(),
    };
    store::insert_session(tx.conn, &row)?;
    Ok(id)
}
