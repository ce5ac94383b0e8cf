//! One running program with a shop in it.

use std::net::TcpListener;
use std::path::Path;
use std::sync::{Arc, mpsc};
use std::thread::JoinHandle;

use actix_web::dev::ServerHandle;
use baywright::server;
use baywright_core::access::usecase::open_session;
use baywright_core::clockwork::Clockwork;
use baywright_core::people::usecase::{NewPerson, add};
use baywright_core::platform::clock::{Clock, UtcTime};
use baywright_core::platform::config::Config;
use baywright_core::platform::db::{Db, Scope, dump};
use baywright_core::platform::fail::Fail;
use baywright_core::platform::identity::{Actor, Role};
use baywright_core::platform::keyring::{Keyring, kept};
use baywright_core::platform::program::Program;
use baywright_core::platform::tx::Tx;
use baywright_core::setup::usecase::{NewShop, found};
use baywright_domain::id::{PersonId, ShopId};
use baywright_domain::money::{Currency, Percent};
use baywright_http::platform::app::App;
use clap::Parser;

use crate::engine::{Engine, Fresh, engines};
use crate::person::Person;

/// A running program, an empty shop and its clock.
pub struct Studio {
    /// Where it listens.
    pub base: String,
    /// The time it believes in: at first Monday 2026-03-02, 08:00 UTC.
    pub clock: Clock,
    /// Its database.
    pub db: Db,
    /// The engine under it.
    pub engine: Engine,
    keys: Keyring,
    config: Arc<Config>,
    shop: ShopId,
    owner: PersonId,
    handle: ServerHandle,
    thread: Option<JoinHandle<()>>,
    clockwork: Clockwork,
    fresh: Fresh,
}

#[derive(Parser)]
struct Flags {
    #[command(flatten)]
    config: Config,
}

/// Runs a test on every engine that is there.
pub fn on_each_engine(test: impl Fn(&Studio)) {
    for engine in engines() {
        test(&Studio::start(engine));
    }
}

/// Runs a test on every engine that is there, with a program that was never set up.
pub fn on_each_engine_without_a_shop(test: impl Fn(&Studio)) {
    for engine in engines() {
        test(&Studio::without_a_shop(engine));
    }
}

impl Studio {
    /// Starts the program on a fresh database, with a shop in it.
    pub fn start(engine: Engine) -> Self {
        let mut studio = Self::without_a_shop(engine);
        (studio.shop, studio.owner) = found_shop(&studio.db, &studio.config, studio.clock.now(), "owner@example.com");
        studio
    }

    /// Starts the program on a fresh database; its shop and owner are nobody's ids.
    pub fn without_a_shop(engine: Engine) -> Self {
        let fresh = Fresh::of(engine);
        let data = fresh.folder().to_owned();
        Self::on(fresh, engine, Clock::manual(UtcTime::parse("2026-03-02T08:00:00Z").unwrap()), &data)
    }

    /// The same studio in another program, on a database with its rows: at the same time, with the same photographs, and
    /// for whoever is signed in here.
    pub fn elsewhere(&self, fresh: Fresh, engine: Engine) -> Self {
        let mut other = Self::on(fresh, engine, self.clock.clone(), self.folder());
        (other.shop, other.owner) = (self.shop.clone(), self.owner.clone());
        other
    }

    fn on(fresh: Fresh, engine: Engine, clock: Clock, data: &Path) -> Self {
        let db = Db::open(&fresh.address).unwrap();
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let base = format!("http://{}", listener.local_addr().unwrap());
        let key = "a key that only the tests sign their tokens with";
        let flags = ["test", "--public-url", &base, "--workers", "2", "--rate", "1000000", "--token-key", key];
        let mut config = Flags::parse_from(flags).config.checked().unwrap();
        data.clone_into(&mut config.data);
        let keys = Keyring::new(kept::load(&db, &config, clock.now()).unwrap());
        let app = App::new(Program::new(db.clone(), clock.clone(), keys.clone(), config).unwrap());
        let config = app.program.config.clone();
        let clockwork = Clockwork::of(&app.program).unwrap();
        let (ready, started) = mpsc::channel();
        let thread = std::thread::spawn(move || {
            actix_web::rt::System::new().block_on(async move {
                let server = server::start(app, listener).unwrap();
                ready.send(server.handle()).unwrap();
                server.await.unwrap();
            });
        });
        let handle = started.recv().unwrap();
        let (shop, owner) = (ShopId::new(""), PersonId::new(""));
        Self { base, clock, db, engine, keys, config, shop, owner, handle, thread: Some(thread), clockwork, fresh }
    }

    /// A folder of the test's own.
    pub fn folder(&self) -> &Path {
        self.fresh.folder()
    }

    /// The program's settings.
    pub fn config(&self) -> &Arc<Config> {
        &self.config
    }

    /// Someone with that access token.
    pub fn with_token(&self, token: &str) -> Person {
        Person::new(&self.base, Some(token.to_owned()))
    }

    /// The shop's id.
    pub fn shop(&self) -> &ShopId {
        &self.shop
    }

    /// The owner, signed in.
    pub fn owner(&self) -> Person {
        self.signed_in(&self.shop, &self.owner)
    }

    /// A new colleague of that role, signed in.
    pub fn colleague(&self, role: Role) -> Person {
        self.signed_in(&self.shop, &self.hire(role))
    }

    /// A new colleague of that role; gives their id.
    pub fn hire(&self, role: Role) -> PersonId {
        let email = format!("{}@example.com", baywright_core::platform::ids::new::<String>());
        let new = new_person(&email, role);
        self.in_shop(&self.shop, |tx| add(tx, &new))
    }

    /// Somebody of the shop by their id, signed in.
    pub fn person(&self, id: &str) -> Person {
        self.signed_in(&self.shop, &PersonId::new(id))
    }

    /// The owner of another shop, signed in.
    pub fn stranger(&self) -> Person {
        let email = format!("{}@example.com", baywright_core::platform::ids::new::<String>());
        let (shop, owner) = found_shop(&self.db, &self.config, self.clock.now(), &email);
        self.signed_in(&shop, &owner)
    }

    /// Someone who is not signed in.
    pub fn nobody(&self) -> Person {
        Person::new(&self.base, None)
    }

    /// Runs the jobs that are due and sends the mails that wait, as the program does every few seconds.
    pub fn tick(&self) {
        self.clockwork.turn(&|| false);
    }

    /// The clockwork of another program on the same database, with connections of its own.
    pub fn replica(&self) -> Clockwork {
        let db = Db::open(&self.fresh.address).unwrap();
        let config = self.config.as_ref().clone();
        Clockwork::of(&Program::new(db, self.clock.clone(), self.keys.clone(), config).unwrap()).unwrap()
    }

    /// Moves the clock on by so many minutes.
    pub fn pass_minutes(&self, minutes: i64) {
        self.clock.set(self.clock.now().plus_minutes(minutes));
    }

    /// Every row of the shop in every table of the database, behind the table's name.
    pub fn every_row(&self) -> Vec<(String, String)> {
        let read = self.db.read(|conn| {
            let mut all = Vec::new();
            for table in dump::every_table(conn)? {
                let wrote = dump::rows(conn, &table, self.shop(), |line| {
                    all.push((table.name.clone(), line.to_owned()));
                    Ok(())
                })?;
                wrote.map_err(Fail::unexpected)?;
            }
            Ok(all)
        });
        read.unwrap_or_else(|fail| panic!("{fail:?}"))
    }

    /// Runs `f` in a transaction of that shop, as the command line does.
    pub fn in_shop<T>(&self, shop: &ShopId, mut f: impl FnMut(&mut Tx<'_>) -> Result<T, Fail>) -> T {
        self.try_in_shop(shop, &mut f).unwrap_or_else(|fail| panic!("{fail:?}"))
    }

    /// The same, where `f` may fail.
    pub fn try_in_shop<T>(&self, shop: &ShopId, mut f: impl FnMut(&mut Tx<'_>) -> Result<T, Fail>) -> Result<T, Fail> {
        self.db.write(Scope::Shop(shop), |conn| {
            f(&mut Tx::for_program(conn, Actor::Operator, shop, self.clock.now(), self.config.clone())?)
        })
    }

    fn signed_in(&self, shop: &ShopId, person: &PersonId) -> Person {
        let session = self.in_shop(shop, |tx| open_session(tx, person));
        let token = self.keys.sign(person.as_str(), session.as_str(), shop.as_str(), self.clock.now()).unwrap();
        Person::new(&self.base, Some(token))
    }
}

fn new_person(email: &str, role: Role) -> NewPerson {
    NewPerson { name: "Test Person".into(), email: email.into(), role, password_hash: "none".into() }
}

fn found_shop(db: &Db, config: &Arc<Config>, now: UtcTime, email: &str) -> (ShopId, PersonId) {
    let new = NewShop {
        name: "Test Studio".into(),
        currency: Currency::EUR,
        zone: "Europe/Dublin".into(),
        tax: Percent::whole(23),
        owner: new_person(email, Role::Owner),
    };
    let made = db.write(Scope::Program, |conn| found(conn, config, now, &new));
    let (shop, owner) = made.unwrap_or_else(|fail| panic!("{fail:?}"));
    (shop, owner)
}

impl Drop for Studio {
    fn drop(&mut self) {
        // Stopping is a message to the server's own runtime; waiting for it here needs none.
        drop(self.handle.stop(false));
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
