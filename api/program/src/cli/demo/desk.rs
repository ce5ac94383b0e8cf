//! The desk of the demo: a client of the API, with a clock that is moved by hand.

use std::sync::Arc;

use baywright_core::access::usecase::open_session;
use baywright_core::clockwork::Clockwork;
use baywright_core::platform::clock::{Clock, UtcTime};
use baywright_core::platform::config::Config;
use baywright_core::platform::db::{Db, Scope};
use baywright_core::platform::identity::Actor;
use baywright_core::platform::ids;
use baywright_core::platform::keyring::Keyring;
use baywright_core::platform::program::Program;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{PersonId, ShopId};
use serde_json::Value;

use crate::cli::Trouble;
use crate::cli::operator::said;

/// Minutes between two runs of the scheduled jobs while time is moved.
const TURN_MINUTES: i64 = 6 * 60;

/// Minutes after which the desk signs in again; well inside a token's life.
const TOKEN_MINUTES: i64 = 10;

/// The desk.
pub(super) struct Desk {
    base: String,
    agent: ureq::Agent,
    db: Db,
    clock: Clock,
    config: Arc<Config>,
    clockwork: Clockwork,
    keys: Keyring,
    shop: ShopId,
    owner: PersonId,
    token: String,
    token_until: UtcTime,
    turned: UtcTime,
}

impl Desk {
    /// The desk of a program that listens at `base`, with its owner.
    pub(super) fn of(program: &Program, base: &str, clockwork: Clockwork, (shop, owner): (ShopId, PersonId)) -> Self {
        let now = program.clock.now();
        Self {
            base: base.to_owned(),
            agent: ureq::Agent::config_builder().http_status_as_error(false).build().into(),
            db: program.db.clone(),
            clock: program.clock.clone(),
            config: program.config.clone(),
            clockwork,
            keys: program.keys.clone(),
            shop,
            owner,
            token: String::new(),
            token_until: now,
            turned: now,
        }
    }

    /// Whether the id is the owner's, who is at the desk.
    pub(super) fn is_owner(&self, person: &Value) -> bool {
        person == self.owner.as_str()
    }

    /// The demo's time.
    pub(super) fn now(&self) -> UtcTime {
        self.clock.now()
    }

    /// Moves the clock forward; scheduled jobs run on the way.
    pub(super) fn wait_until(&mut self, moment: UtcTime) {
        while self.turned.plus_minutes(TURN_MINUTES) <= moment {
            self.turned = self.turned.plus_minutes(TURN_MINUTES);
            if self.turned > self.clock.now() {
                self.clock.set(self.turned);
            }
            self.turn();
        }
        if moment > self.clock.now() {
            self.clock.set(moment);
        }
    }

    /// Runs the jobs that are due, and sends the waiting mails.
    pub(super) fn turn(&self) {
        self.clockwork.turn(&|| false);
    }

    fn sign_in(&mut self) -> Result<(), Trouble> {
        let now = self.clock.now();
        if now < self.token_until {
            return Ok(());
        }
        let session = self.db.write(Scope::Shop(&self.shop), |conn| {
            let mut tx = Tx::for_program(conn, Actor::Operator, &self.shop, now, self.config.clone())?;
            open_session(&mut tx, &self.owner)
        });
        let session = session.map_err(said)?;
        self.token = self.keys.sign(self.owner.as_str(), session.as_str(), self.shop.as_str(), now)?;
        self.token_until = now.plus_minutes(TOKEN_MINUTES);
        Ok(())
    }

    fn ask(&mut self, method: &str, path: &str, seen: Option<&Value>, body: Option<&Value>) -> Result<Value, Trouble> {
        let body = body.map(|body| ("application/json", body.to_string().into_bytes()));
        self.send(method, path, seen, body)
    }

    /// Uploads a photograph.
    pub(super) fn post_photo(&mut self, jpeg: Vec<u8>) -> Result<Value, Trouble> {
        self.send("POST", "/v1/photos", None, Some(("image/jpeg", jpeg)))
    }

    fn send(
        &mut self,
        method: &str,
        path: &str,
        seen: Option<&Value>,
        body: Option<(&str, Vec<u8>)>,
    ) -> Result<Value, Trouble> {
        self.sign_in()?;
        let mut request = ureq::http::Request::builder()
            .method(method)
            .uri(format!("{}{path}", self.base))
            .header("authorization", format!("Bearer {}", self.token));
        if let Some(seen) = seen {
            request = request.header("if-match", format!("\"{}\"", seen["version"]));
        }
        if method == "POST" {
            request = request.header("idempotency-key", ids::new::<String>());
        }
        let asked = match &body {
            Some(("application/json", bytes)) => String::from_utf8_lossy(bytes).into_owned(),
            _ => String::new(),
        };
        let mut answer = match body {
            Some((kind, bytes)) => self.agent.run(request.header("content-type", kind).body(bytes)?)?,
            None => self.agent.run(request.body(())?)?,
        };
        let text = answer.body_mut().read_to_string()?;
        if !answer.status().is_success() {
            return Err(format!("{} of the demo: {method} {path} {asked}: {text}", self.now()).into());
        }
        Ok(if text.is_empty() { Value::Null } else { serde_json::from_str(&text)? })
    }

    /// Sends a GET request.
    pub(super) fn get(&mut self, path: &str) -> Result<Value, Trouble> {
        self.ask("GET", path, None, None)
    }

    /// Creates a record.
    pub(super) fn post(&mut self, path: &str, body: &Value) -> Result<Value, Trouble> {
        self.ask("POST", path, None, Some(body))
    }

    /// Replaces a record in the version that was read.
    pub(super) fn put(&mut self, path: &str, seen: &Value, body: &Value) -> Result<Value, Trouble> {
        self.ask("PUT", path, Some(seen), Some(body))
    }

    /// Makes a move on a record in the version that was read.
    pub(super) fn act(&mut self, path: &str, seen: &Value, body: Option<&Value>) -> Result<Value, Trouble> {
        self.ask("POST", path, Some(seen), body)
    }
}
