//! One request of a signed-in person: the only bridge from async handlers to blocking use cases.
//!
//! A handler names its audience in its signature, such as `Call<Desk>`, and runs its use case with [`Call::read`],
//! [`Call::write`], [`Call::change`], [`Call::create`] or [`Call::rehearse`]. Each checks the sign-in again inside the
//! transaction, so that nothing is done for someone who was signed out a moment ago.

mod asked;

use std::any::Any;
use std::future::{Ready, ready};
use std::marker::PhantomData;
use std::net::IpAddr;
use std::pin::pin;

use actix_web::dev::Payload;
use actix_web::http::header::{AUTHORIZATION, USER_AGENT};
use actix_web::{FromRequest, HttpRequest, HttpResponse};
use baywright_core::platform::db::Watch;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::{Audience, Invited};
use baywright_core::platform::keyring::Claims;
use baywright_core::platform::program::Program;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::replay::{self, StoredAnswer};
use baywright_core::platform::tx::{Origin, Tx};
use baywright_core::platform::warning::Confirmed;
use futures_util::future::{Either, select};
use serde::Serialize;

pub(super) use self::asked::Asked;
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
        self.asked.door()
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

fn is_known(tx: &mut Tx<'_>, route: &str, key: Option<&IdempotencyKey>) -> Done<bool> {
    key.map_or(Ok(false), |key| replay::is_known(tx, route, key.as_str()))
}

impl<A: Audience> FromRequest for Call<A> {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(extract(request, A::invited()).map(|asked| Self { asked, audience: PhantomData }))
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

fn extract(request: &HttpRequest, invited: Invited) -> Result<Asked, Problem> {
    let app = App::of(request)?;
    let claims = claims(request)?;
    let confirmed = Confirmed::from_query(request.query_string());
    Ok(Asked::of(request, app, SignIn::Token(claims), invited, confirmed))
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
