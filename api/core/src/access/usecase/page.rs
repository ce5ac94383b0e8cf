//! Sign-ins of the pages: an opaque token in a cookie, of which only the digest is kept.
//!
//! They are no pairs of tokens as the API has them. A refresh token that comes twice ends its sign-in, so two tabs of one
//! browser would sign each other out. The limits are the same: tries are counted alike, and a sign-in ends after 30 minutes
//! without use and after 12 hours in any case.
//!
//! **A use is written down every five minutes at most,** since a page that is only read would otherwise cost a write. In
//! between, and while the database can't be written, the program's memory says when the sign-in was used last.

use baywright_domain::id::PersonId;

use super::Account;
use super::session::{account_of, begin, with_password};
use crate::access::store;
use crate::platform::db::Scope;
use crate::platform::door::Door;
use crate::platform::fail::Done;
use crate::platform::identity::IDLE_MINUTES;
use crate::platform::program::Program;
use crate::platform::secret::Secret;
use crate::platform::token::Token;
use crate::platform::tx::Tx;

/// Minutes for which a use is not written down again.
const NOTED_MINUTES: i64 = 5;

/// Signs in with address and password; gives the token for the cookie.
pub fn sign_in_on_pages(door: &Door, email: &str, password: &Secret) -> Done<Token> {
    with_password(door, email, password, opened)
}

/// Opens a sign-in of the pages for a person of the shop; gives the token for the cookie.
pub fn open_on_pages(tx: &mut Tx<'_>, person: &PersonId) -> Done<Token> {
    let account = account_of(tx, person)?;
    opened(tx, &account)
}

/// Opens a sign-in of the pages for the account; gives the token for the cookie.
pub(super) fn opened(tx: &mut Tx<'_>, account: &Account) -> Done<Token> {
    let token = Token::new()?;
    begin(tx, account, Some(&token.digest()))?;
    Ok(token)
}

/// Notes that the sign-in behind the digest of a page's token was used. That it can't be written down refuses nothing.
pub fn used_on_pages(program: &Program, digest: &str) {
    let now = program.clock.now();
    let idle_end = now.plus_minutes(IDLE_MINUTES);
    if program.prolonged.end_of(digest) > idle_end.plus_minutes(-NOTED_MINUTES) {
        return;
    }
    program.prolonged.keep(digest, idle_end, now);
    if let Err(fail) = program.db.write(Scope::Program, |conn| Ok(store::session::note_use(conn, digest, now)?)) {
        tracing::warn!(?fail, "the use of a sign-in is not written down");
    }
}
