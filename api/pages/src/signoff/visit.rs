//! A visitor with a link instead of a sign-in.

use std::future::{Ready, ready};
use std::sync::Arc;

use actix_web::dev::Payload;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use baywright_core::platform::db::{Conn, Scope};
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Actor;
use baywright_core::platform::program::Program;
use baywright_core::platform::rate::counted_as;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::{Origin, Tx};
use baywright_core::shop;
use baywright_core::signoff::usecase::{Link, read_link, shop_of_token};
use baywright_domain::id::{LinkId, ShopId};
use baywright_http::platform::app::App;
use baywright_http::platform::call::{blocking, origin};
use baywright_http::platform::form_code::{Site, form_code, is_form_code};
use baywright_http::platform::problem::Problem;

use crate::platform::Reach;

/// Reason why a page can't be shown, with the studio's contact details, as far as they are known.
pub(crate) struct Stopped {
    pub(crate) problem: Problem,
    pub(crate) studio: Option<Reach>,
}

impl From<Refused> for Stopped {
    fn from(refused: Refused) -> Self {
        Problem::from(refused).into()
    }
}

impl From<Problem> for Stopped {
    fn from(problem: Problem) -> Self {
        Self { problem, studio: None }
    }
}

impl From<Stopped> for Problem {
    fn from(stopped: Stopped) -> Self {
        stopped.problem
    }
}

/// A request to a page behind a link. Nothing is read from the database before [`Visit::read`] or [`Visit::write`].
pub(crate) struct Visit {
    program: Arc<Program>,
    origin: Origin,
    /// The token in the address.
    pub(crate) token: String,
    foreign: bool,
}

impl Visit {
    /// The program.
    pub(crate) fn program(&self) -> &Program {
        &self.program
    }

    /// Runs a read-only use case on the link's shop.
    pub(crate) async fn read<T: Send + 'static>(
        &self,
        f: impl FnOnce(&mut Tx<'_>, &Link) -> Done<T> + Send + 'static,
    ) -> Result<T, Stopped> {
        let (program, origin, token) = (self.program.clone(), self.origin.clone(), self.token.clone());
        let done = blocking(move || {
            program.db.read(|conn| {
                let shop = shop_of_token(conn, &token)?.ok_or_else(|| Refused::not_found("link"))?;
                with_link(conn, &program, &origin, &token, &shop, f)
            })
        });
        self.told(done.await).await
    }

    /// Runs a use case in a transaction on the link's shop; it may run more than once.
    pub(crate) async fn write<T: Send + 'static>(
        &self,
        mut f: impl FnMut(&mut Tx<'_>, &Link) -> Done<T> + Send + 'static,
    ) -> Result<T, Stopped> {
        let (program, origin, token) = (self.program.clone(), self.origin.clone(), self.token.clone());
        let done = blocking(move || {
            let shop = program.db.read(|conn| shop_of_token(conn, &token))?;
            let shop = shop.ok_or_else(|| Refused::not_found("link"))?;
            program.db.write(Scope::Shop(&shop), |conn| with_link(conn, &program, &origin, &token, &shop, &mut f))
        });
        self.told(done.await).await
    }

    async fn told<T>(&self, done: Result<T, Problem>) -> Result<T, Stopped> {
        match self.counted(done) {
            Ok(done) => Ok(done),
            Err(problem) => Err(self.stopped(problem).await),
        }
    }

    /// A problem with the studio to contact: the link's own, or the only one of the program. Nothing is looked up for a
    /// client that tries too often, or while the database does not answer.
    pub(crate) async fn stopped(&self, problem: impl Into<Problem>) -> Stopped {
        let problem = problem.into();
        let status = problem.status();
        if !status.is_client_error() || status == StatusCode::TOO_MANY_REQUESTS {
            return problem.into();
        }
        let (program, token) = (self.program.clone(), self.token.clone());
        let found = blocking(move || {
            program.db.read(|conn| {
                let shop = match shop_of_token(conn, &token)? {
                    Some(shop) => Some(shop),
                    None => shop::usecase::only_shop(conn)?,
                };
                let Some(shop) = shop else { return Ok(None) };
                let nobody = Actor::Customer { link: LinkId::new("") };
                let mut tx = Tx::for_program(conn, nobody, &shop, program.clock.now(), program.config.clone())?;
                let profile = shop::usecase::settings(&mut tx)?.profile;
                let (phone, email) = (profile.phone.unwrap_or_default(), profile.email.unwrap_or_default());
                Ok(Some(Reach { name: profile.name, phone, email }))
            })
        });
        Stopped { problem, studio: found.await.unwrap_or_default() }
    }

    /// Counts guesses at links, per address, so that nobody can try many.
    fn counted<T>(&self, result: Result<T, Problem>) -> Result<T, Problem> {
        match result {
            Err(problem) if problem.status() == StatusCode::NOT_FOUND => {
                let allowance = self.program.misses.take(&counted_as(&self.origin.address));
                Err(allowance.refusal().map_or(problem, Problem::from))
            }
            other => other,
        }
    }

    /// The code in the link's own forms: only somebody who has read the page can send it.
    pub(crate) fn form_code(&self) -> String {
        form_code(&self.program, &self.token)
    }

    /// Refuses a form with 403 if it was not sent from the link's own page.
    pub(crate) fn check_form(&self, code: &str) -> Result<(), Refused> {
        if self.foreign || !is_form_code(&self.program, &self.token, code) {
            return Err(Refused::not_allowed(
                "Open your link again and send the form from there. This form was not sent from its own page.",
            ));
        }
        Ok(())
    }
}

fn with_link<T>(
    conn: &mut Conn,
    program: &Program,
    origin: &Origin,
    token: &str,
    shop: &ShopId,
    f: impl FnOnce(&mut Tx<'_>, &Link) -> Done<T>,
) -> Done<T> {
    let nobody = Actor::Customer { link: LinkId::new("") };
    let mut tx = Tx::for_program(conn, nobody, shop, program.clock.now(), program.config.clone())?;
    tx.origin = origin.clone();
    let link = read_link(&mut tx, token)?;
    tx.actor = Actor::Customer { link: link.id.clone() };
    f(&mut tx, &link)
}

impl FromRequest for Visit {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let Some(app) = request.app_data::<Data<App>>() else { return ready(Err(Problem::unexpected())) };
        let foreign = Site::of(request) == Site::Other;
        let token = request.match_info().get("token").unwrap_or_default().to_owned();
        ready(Ok(Self { program: app.program.clone(), origin: origin(request, app), token, foreign }))
    }
}
