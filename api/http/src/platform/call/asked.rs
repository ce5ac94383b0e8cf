//! What a request of somebody who has signed in asks for, without the type of its audience, so that it is compiled once.

use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse};
use baywright_core::access::usecase::{end_in_memory, end_this};
use baywright_core::platform::db::{Conn, Scope};
use baywright_core::platform::door::Door;
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::{Actor, Invited, SignedIn};
use baywright_core::platform::program::Program;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::replay::{self, StoredAnswer};
use baywright_core::platform::tx::{Origin, Tx};
use baywright_core::platform::warning::Confirmed;

use super::{Changing, Given, Reading, Writing, aside, given, origin, taken};
use crate::platform::answer::sent;
use crate::platform::app::App;
use crate::platform::door::DoorCall;
use crate::platform::idempotency::{Fingerprint, IdempotencyKey};
use crate::platform::problem::Problem;
use crate::platform::sign_in::SignIn;

/// A request of someone who has signed in, and the people that it is for.
pub(in crate::platform) struct Asked {
    pub(in crate::platform) app: Data<App>,
    pub(super) sign_in: SignIn,
    pub(super) invited: Invited,
    pub(super) origin: Origin,
    pub(super) confirmed: Confirmed,
    pub(super) request: HttpRequest,
}

impl Asked {
    /// A request of that sign-in, which names what it confirms in a query or a form.
    pub(in crate::platform) fn of(
        request: &HttpRequest,
        app: &Data<App>,
        sign_in: SignIn,
        invited: Invited,
        confirmed: Confirmed,
    ) -> Self {
        Self { sign_in, invited, origin: origin(request, app), confirmed, request: request.clone(), app: app.clone() }
    }

    /// The same request outside any transaction.
    pub(in crate::platform) fn door(&self) -> DoorCall {
        DoorCall::new(Door::new(self.app.program.clone(), self.origin.clone()))
    }

    /// Method and path, for which keys of repeated requests are kept. The router decides by the same form of the path, so
    /// one that is spelt in another way, with needless percent-encoding, has the same keys.
    pub(in crate::platform) fn scope_of_keys(&self) -> String {
        format!("{} {}", self.request.method(), self.request.match_info().as_str())
    }

    pub(in crate::platform) async fn read(&self, f: Reading) -> Result<Given, Problem> {
        let (program, sign_in) = (self.app.program.clone(), self.sign_in.clone());
        let (origin, invited) = (self.origin.clone(), self.invited);
        let work = move || -> Done<Given> {
            let given = program.db.read(|conn| run(conn, &program, &sign_in, invited, &origin, f))?;
            sign_in.used(&program);
            Ok(given)
        };
        aside(Box::new(work)).await
    }

    pub(in crate::platform) async fn write(&self, mut f: Writing) -> Result<Given, Problem> {
        let (program, sign_in) = (self.app.program.clone(), self.sign_in.clone());
        let (origin, invited) = (self.origin.clone(), self.invited);
        let confirmed = self.confirmed.clone();
        let mut confirmed = move |tx: &mut Tx<'_>| {
            tx.confirmed = confirmed.clone();
            f(tx)
        };
        let work = move || -> Done<Given> {
            let shop = sign_in.shop(&program)?;
            let scope = Scope::Shop(&shop);
            let given =
                program.db.write(scope, |conn| run(conn, &program, &sign_in, invited, &origin, &mut confirmed))?;
            sign_in.used(&program);
            Ok(given)
        };
        aside(Box::new(work)).await
    }

    /// Ends the sign-in. While the database can't be written, for example because the disk is full, it ends in the memory
    /// of this process, and is written as soon as that is possible.
    pub(in crate::platform) async fn end(&self) -> Result<(), Problem> {
        let written = taken::<()>(self.write(Box::new(|tx| end_this(tx).map(given)))).await;
        match written {
            Err(problem) if problem.status() == StatusCode::SERVICE_UNAVAILABLE => {
                tracing::warn!(%problem, "a sign-in ends without being written");
                let ended = self.app.program.ended.clone();
                let end = self.read(Box::new(move |tx| {
                    end_in_memory(tx, &ended);
                    Ok(given(()))
                }));
                taken(end).await
            }
            done => done,
        }
    }

    /// Runs a change once per key, if the request has a key.
    pub(super) async fn keyed(&self, mut f: Changing) -> Result<HttpResponse, Problem> {
        let (route, Fingerprint(fingerprint)) = (self.scope_of_keys(), Fingerprint::of(&self.request));
        let work: Writing = match IdempotencyKey::sent_with(&self.request)? {
            Some(key) => Box::new(move |tx| replay::once(tx, &route, key.as_str(), &fingerprint, &mut f).map(given)),
            None => Box::new(move |tx| f(tx).map(given)),
        };
        Ok(sent(taken::<StoredAnswer>(self.write(work)).await?))
    }
}

/// Runs the request's use case; if a rule's refusal names a moment, it is written in the shop's local time.
fn run(
    conn: &mut Conn,
    program: &Program,
    sign_in: &SignIn,
    invited: Invited,
    origin: &Origin,
    f: impl FnOnce(&mut Tx<'_>) -> Done<Given>,
) -> Done<Given> {
    let mut tx = open(conn, program, sign_in, invited, origin)?;
    f(&mut tx).map_err(|fail| fail.on_the_wall(&tx.studio.zone))
}

/// The context of the request's use case, if the sign-in is still valid and has the role.
fn open<'c>(
    conn: &'c mut Conn,
    program: &Program,
    sign_in: &SignIn,
    invited: Invited,
    origin: &Origin,
) -> Done<Tx<'c>> {
    let SignedIn { actor, studio, at_tablet } = sign_in.standing(conn, program)?;
    match &actor {
        Actor::Person { role, .. } if invited.roles.contains(role) => {}
        _ => return Err(Fail::from(not_for_you(invited))),
    }
    if at_tablet && !invited.tablets {
        let detail = "Four digits open the pages of the bays alone. Sign in with your email address to see this page.";
        return Err(Refused::not_allowed(detail).into());
    }
    Ok(Tx {
        conn,
        actor,
        studio,
        now: program.clock.now(),
        config: program.config.clone(),
        origin: origin.clone(),
        warnings: Vec::new(),
        confirmed: Confirmed::default(),
    })
}

fn not_for_you(invited: Invited) -> Refused {
    let roles: Vec<&str> = invited.roles.iter().map(|role| role.as_str()).collect();
    Refused::not_allowed(format!("This is for {}. Ask the owner if you need it.", roles.join(", ").to_lowercase()))
}
