//! One request of a signed-in person: the only bridge from async handlers to blocking use cases.
//!
//! A handler names its audience in its signature, such as `Call<Desk>`, and runs its use case with [`Call::read`],
//! [`Call::write`], [`Call::change`], [`Call::create`] or [`Call::rehearse`]. Each checks the sign-in again inside the
//! transaction, so that nothing is done for someone who was signed out a moment ago.

use std::any::Any;
use std::future::{Ready, ready};
use std::marker::PhantomData;
use std::net::IpAddr;
use std::pin::pin;

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::http::header::{AUTHORIZATION, USER_AGENT};
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest, HttpResponse};
use baywright_core::access::usecase::{end_in_memory, end_this};
use baywright_core::platform::db::{Conn, Scope, Watch};
use baywright_core::platform::door::Door;
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::{Actor, Audience};
use baywright_core::platform::keyring::Claims;
use baywright_core::platform::program::Program;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::replay::{self, StoredAnswer};
use baywright_core::platform::tx::{Origin, Tx};
use baywright_core::platform::warning::Confirmed;
use baywright_domain::people::Role;
use futures_util::future::{Either, select};
use serde::Serialize;

use super::answer::{Created, Versioned, kept_change, kept_nothing, kept_plain, sent};
use super::app::App;
use super::door::DoorCall;
use super::idempotency::{Fingerprint, IdempotencyKey};
use super::problem::Problem;
use super::sign_in::SignIn;

/// Result of a use case without its type, so that the code between handler and transaction is compiled once and not for each
/// of more than a hundred handlers.
pub(super) type Given = Box<dyn Any + Send>;
type Reading = Box<dyn FnOnce(&mut Tx<'_>) -> Done<Given> + Send>;
type Writing = Box<dyn FnMut(&mut Tx<'_>) -> Done<Given> + Send>;
type Changing = Box<dyn FnMut(&mut Tx<'_>) -> Done<StoredAnswer> + Send>;

pub(super) fn given<T: Send + 'static>(value: T) -> Given {
    Box::new(value)
}

/// Waits for the result, and restores its type.
pub(super) async fn taken<T: 'static>(work: impl Future<Output = Result<Given, Problem>>) -> Result<T, Problem> {
    work.await?.downcast().map(|value| *value).map_err(|_| Problem::unexpected())
}

/// Runs blocking work on a thread that may block.
pub fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Done<T> + Send + 'static,
) -> impl Future<Output = Result<T, Problem>> {
    taken(aside(Box::new(move || work().map(given))))
}

#[allow(clippy::disallowed_methods, reason = "the one place that it is for")]
async fn aside(work: Box<dyn FnOnce() -> Done<Given> + Send>) -> Result<Given, Problem> {
    let (span, watch) = (tracing::Span::current(), Watch::default());
    let watched = watch.clone();
    let done = actix_web::web::block(move || watched.over(|| span.in_scope(work)));
    match select(pin!(done), pin!(watch.no_answer())).await {
        Either::Left((Ok(result), _)) => result.map_err(Problem::from),
        Either::Left((Err(_), _)) => {
            tracing::error!("a use case panicked");
            Err(Problem::unexpected())
        }
        // The thread keeps its connection until the server answers or the client is gone; after a while, other requests
        // get the answer that no connection is free.
        Either::Right(_) => {
            tracing::error!("the database does not answer; a request is given up while its thread still waits");
            Err(Problem::from(Refused::unavailable(
                "The database does not answer. Try again in a moment. A change may have been saved all the same, so send it \
                 with the same Idempotency-Key, or read the record first.",
            )))
        }
    }
}

/// A request of someone in the audience `A`.
pub struct Call<A> {
    asked: Asked,
    audience: PhantomData<A>,
}

/// A request of someone who has signed in, and the roles that it is for.
pub(super) struct Asked {
    pub(super) app: Data<App>,
    sign_in: SignIn,
    roles: &'static [Role],
    origin: Origin,
    confirmed: Confirmed,
    request: HttpRequest,
}

impl<A: Audience> Call<A> {
    /// State that the server's workers share.
    pub fn app(&self) -> &App {
        &self.asked.app
    }

    /// The program.
    pub fn program(&self) -> &Program {
        &self.asked.app.program
    }

    /// Id of the shop that its access token is for.
    pub(super) fn shop(&self) -> &str {
        self.asked.sign_in.claims().map_or("", |claims| claims.shop.as_str())
    }

    /// Ends the caller's sign-in, even while the database can't be written.
    pub async fn end(&self) -> Result<(), Problem> {
        self.asked.end().await
    }

    /// The same request outside any transaction, for a use case that must wait for a password to be hashed; the caller
    /// has read before who is signed in, with [`Call::read`].
    pub fn door(&self) -> DoorCall {
        DoorCall::new(Door::new(self.asked.app.program.clone(), self.asked.origin.clone()))
    }

    /// Runs a use case that changes nothing.
    pub fn read<T: Send + 'static>(
        &self,
        f: impl FnOnce(&mut Tx<'_>) -> Done<T> + Send + 'static,
    ) -> impl Future<Output = Result<T, Problem>> {
        taken(self.asked.read(Box::new(move |tx| f(tx).map(given))))
    }

    /// Runs a use case in a transaction; it may run more than once.
    pub fn write<T: Send + 'static>(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<T> + Send + 'static,
    ) -> impl Future<Output = Result<T, Problem>> {
        taken(self.asked.write(Box::new(move |tx| f(tx).map(given))))
    }

    /// Runs a use case that makes a record. For this and all changes below: if the request has a key, a repeated request gets
    /// the first one's answer, even if the record has changed since and its old tag would be refused. An operation that needs
    /// a key has [`IdempotencyKey`] in its handler's signature.
    pub fn create<V: Serialize + Versioned + Send + 'static>(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<Created<V>> + Send + 'static,
    ) -> impl Future<Output = Result<HttpResponse, Problem>> {
        self.asked.keyed(Box::new(move |tx| f(tx)?.into_kept(&tx.warnings)))
    }

    /// Like [`create`](Self::create), after a check that may refuse at once. The check only reads, so a rush of requests that
    /// can't succeed doesn't queue for the shop's one writer. A repeated request is not checked, because the record that it
    /// made could be the reason for a refusal.
    pub async fn create_after_look<V: Serialize + Versioned + Send + 'static>(
        &self,
        look: impl FnOnce(&mut Tx<'_>) -> Done<()> + Send + 'static,
        f: impl FnMut(&mut Tx<'_>) -> Done<Created<V>> + Send + 'static,
    ) -> Result<HttpResponse, Problem> {
        let (route, key) = (self.asked.scope_of_keys(), IdempotencyKey::sent_with(&self.asked.request)?);
        let look = move |tx: &mut Tx<'_>| if is_known(tx, &route, key.as_ref())? { Ok(()) } else { look(tx) };
        self.read(look).await?;
        self.create(f).await
    }

    /// Runs a use case that makes a record, and rolls it back: 200 with the record that would be made. Nothing is
    /// stored under a key.
    pub async fn rehearse<V: Serialize + Send + 'static>(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<Created<V>> + Send + 'static,
    ) -> Result<HttpResponse, Problem> {
        let would_be = self.write(move |tx| {
            let made = tx.rehearse(&mut f)?;
            kept_plain(&made.view, &tx.warnings)
        });
        Ok(sent(would_be.await?))
    }

    /// Runs a use case that changes a record.
    pub fn change<V: Serialize + Versioned + Send + 'static>(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<V> + Send + 'static,
    ) -> impl Future<Output = Result<HttpResponse, Problem>> {
        self.asked.keyed(Box::new(move |tx| kept_change(&f(tx)?, &tx.warnings)))
    }

    /// Like [`change`](Self::change), for a use case that leaves work to be done after its transaction, such as files to
    /// delete; `None` if the request is a repeated one, for which nothing was done.
    pub async fn change_leaving<V: Serialize + Versioned + Send + 'static, T: Send + 'static>(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<(V, T)> + Send + 'static,
    ) -> Result<(HttpResponse, Option<T>), Problem> {
        let (route, Fingerprint(fingerprint)) = (self.asked.scope_of_keys(), Fingerprint::of(&self.asked.request));
        let key = IdempotencyKey::sent_with(&self.asked.request)?;
        let work = move |tx: &mut Tx<'_>| -> Done<(StoredAnswer, Option<T>)> {
            let mut left = None;
            let mut change = |tx: &mut Tx<'_>| -> Done<StoredAnswer> {
                let (view, rest) = f(tx)?;
                left = Some(rest);
                kept_change(&view, &tx.warnings)
            };
            let kept = match &key {
                Some(key) => replay::once(tx, &route, key.as_str(), &fingerprint, &mut change)?,
                None => change(tx)?,
            };
            Ok((kept, left))
        };
        let (kept, left) = self.write(work).await?;
        Ok((sent(kept), left))
    }

    /// The same for an answer without a version, such as a report on an imported list.
    pub fn change_unversioned<V: Serialize + Send + 'static>(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<V> + Send + 'static,
    ) -> impl Future<Output = Result<HttpResponse, Problem>> {
        self.asked.keyed(Box::new(move |tx| kept_plain(&f(tx)?, &tx.warnings)))
    }

    /// Runs a use case that removes a record: 204.
    pub fn remove(
        &self,
        mut f: impl FnMut(&mut Tx<'_>) -> Done<()> + Send + 'static,
    ) -> impl Future<Output = Result<HttpResponse, Problem>> {
        self.asked.keyed(Box::new(move |tx| f(tx).map(|()| kept_nothing())))
    }

    /// Whether the request's key was used before on this route, so that its answer is stored.
    pub async fn is_known(&self) -> Result<bool, Problem> {
        let (route, key) = (self.asked.scope_of_keys(), IdempotencyKey::sent_with(&self.asked.request)?);
        self.read(move |tx| is_known(tx, &route, key.as_ref())).await
    }
}

impl Asked {
    /// A request of that sign-in, which names what it confirms in a query or a form.
    pub(super) fn of(
        request: &HttpRequest,
        app: &Data<App>,
        sign_in: SignIn,
        roles: &'static [Role],
        confirmed: Confirmed,
    ) -> Self {
        Self { sign_in, roles, origin: origin(request, app), confirmed, request: request.clone(), app: app.clone() }
    }

    /// Method and path, for which keys of repeated requests are kept. The router decides by the same form of the path, so
    /// one that is spelt in another way, with needless percent-encoding, has the same keys.
    pub(super) fn scope_of_keys(&self) -> String {
        format!("{} {}", self.request.method(), self.request.match_info().as_str())
    }

    pub(super) async fn read(&self, f: Reading) -> Result<Given, Problem> {
        let (program, sign_in) = (self.app.program.clone(), self.sign_in.clone());
        let (origin, roles) = (self.origin.clone(), self.roles);
        let work = move || -> Done<Given> {
            let given = program.db.read(|conn| run(conn, &program, &sign_in, roles, &origin, f))?;
            sign_in.used(&program);
            Ok(given)
        };
        aside(Box::new(work)).await
    }

    pub(super) async fn write(&self, mut f: Writing) -> Result<Given, Problem> {
        let (program, sign_in) = (self.app.program.clone(), self.sign_in.clone());
        let (origin, roles) = (self.origin.clone(), self.roles);
        let confirmed = self.confirmed.clone();
        let mut confirmed = move |tx: &mut Tx<'_>| {
            tx.confirmed = confirmed.clone();
            f(tx)
        };
        let work = move || -> Done<Given> {
            let shop = sign_in.shop(&program)?;
            let scope = Scope::Shop(&shop);
            let given =
                program.db.write(scope, |conn| run(conn, &program, &sign_in, roles, &origin, &mut confirmed))?;
            sign_in.used(&program);
            Ok(given)
        };
        aside(Box::new(work)).await
    }

    /// Ends the sign-in. While the database can't be written, for example because the disk is full, it ends in the memory
    /// of this process, and is written as soon as that is possible.
    pub(super) async fn end(&self) -> Result<(), Problem> {
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
    async fn keyed(&self, mut f: Changing) -> Result<HttpResponse, Problem> {
        let (route, Fingerprint(fingerprint)) = (self.scope_of_keys(), Fingerprint::of(&self.request));
        let work: Writing = match IdempotencyKey::sent_with(&self.request)? {
            Some(key) => Box::new(move |tx| replay::once(tx, &route, key.as_str(), &fingerprint, &mut f).map(given)),
            None => Box::new(move |tx| f(tx).map(given)),
        };
        Ok(sent(taken::<StoredAnswer>(self.write(work)).await?))
    }
}

fn is_known(tx: &mut Tx<'_>, route: &str, key: Option<&IdempotencyKey>) -> Done<bool> {
    key.map_or(Ok(false), |key| replay::is_known(tx, route, key.as_str()))
}

/// Runs the request's use case; if a rule's refusal names a moment, it is written in the shop's local time.
fn run(
    conn: &mut Conn,
    program: &Program,
    sign_in: &SignIn,
    roles: &[Role],
    origin: &Origin,
    f: impl FnOnce(&mut Tx<'_>) -> Done<Given>,
) -> Done<Given> {
    let mut tx = open(conn, program, sign_in, roles, origin)?;
    f(&mut tx).map_err(|fail| fail.on_the_wall(&tx.studio.zone))
}

/// The context of the request's use case, if the sign-in is still valid and has the role.
fn open<'c>(conn: &'c mut Conn, program: &Program, sign_in: &SignIn, roles: &[Role], origin: &Origin) -> Done<Tx<'c>> {
    let (actor, studio) = sign_in.standing(conn, program)?;
    match &actor {
        Actor::Person { role, .. } if roles.contains(role) => {}
        _ => return Err(Fail::from(not_for_you(roles))),
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

fn not_for_you(roles: &[Role]) -> Refused {
    let roles: Vec<&str> = roles.iter().map(|role| role.as_str()).collect();
    Refused::not_allowed(format!("This is for {}. Ask the owner if you need it.", roles.join(", ").to_lowercase()))
}

impl<A: Audience> FromRequest for Call<A> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(extract(request, A::ROLES).map(|asked| Self { asked, audience: PhantomData }))
    }
}

/// The bearer token of a request (RFC 6750, section 2.1).
pub fn bearer(request: &HttpRequest) -> Option<&str> {
    let (scheme, token) = request.headers().get(AUTHORIZATION)?.to_str().ok()?.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim())
}

/// The claims of the request's access token, if it is one of ours and valid.
pub(super) fn claims(request: &HttpRequest) -> Result<Claims, Problem> {
    let app = App::of(request)?;
    let token = bearer(request).ok_or_else(|| {
        Problem::from(Refused::unauthenticated(
            "Sign in at /v1/sessions, then send the access token as a bearer token.",
        ))
    })?;
    app.program.keys.verify(token, app.program.clock.now()).map_err(|_| {
        Problem::from(Refused::unauthenticated(
            "The access token is not valid or has expired. Refresh it, or sign in again.",
        ))
    })
}

fn extract(request: &HttpRequest, roles: &'static [Role]) -> Result<Asked, Problem> {
    let app = App::of(request)?;
    let claims = claims(request)?;
    let confirmed = Confirmed::from_query(request.query_string());
    Ok(Asked::of(request, app, SignIn::Token(claims), roles, confirmed))
}

/// Address of a request's client, or empty if it is unknown; a proxy's header counts only if the settings say that there is
/// a proxy.
pub(super) fn address(request: &HttpRequest, app: &App) -> String {
    let peer = request.peer_addr().map(|a| a.ip());
    let address = if app.program.config.behind_proxy {
        // The last entry of the last line is the one that our own proxy wrote.
        let forwarded = request.headers().get_all("x-forwarded-for").last().and_then(|h| h.to_str().ok());
        let last = forwarded.and_then(|list| list.rsplit(',').next()).map(str::trim);
        last.and_then(|last| last.parse::<IpAddr>().ok()).or(peer)
    } else {
        peer
    };
    // A socket for both kinds of addresses shows IPv4 addresses inside IPv6 ones (RFC 4291, section 2.5.5.2).
    address.map(|ip| ip.to_canonical().to_string()).unwrap_or_default()
}

/// Address and other origin of a request.
pub fn origin(request: &HttpRequest, app: &App) -> Origin {
    let agent = request.headers().get(USER_AGENT).and_then(|h| h.to_str().ok()).unwrap_or_default();
    Origin { address: address(request, app), agent: agent.chars().take(300).collect() }
}
