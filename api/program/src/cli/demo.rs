//! `baywright demo`: an invented studio with five weeks of history, to try everything.
//!
//! The data is loaded over HTTP as a client would, with a clock that is moved from one event to the next; so the
//! program itself made all of it, and it ends at the current time.
//!
//! So the demo can't contain anything that a route would refuse.

mod car;
mod desk;
mod history;
mod picture;
mod story;
mod studio;

use std::net::{SocketAddr, TcpListener};
use std::path::PathBuf;

use actix_web::rt::System;
use baywright_core::clockwork::Clockwork;
use baywright_core::platform::clock::Clock;
use baywright_core::platform::config::Config;
use baywright_core::platform::db::Db;
use baywright_core::platform::keyring::{Keyring, kept};
use baywright_core::platform::program::Program;
use baywright_core::platform::telemetry;
use baywright_http::platform::app::{App, Demo, DemoPerson};
use clap::Args;

use super::operator::said;
use super::{Trouble, signals};
use crate::server;
use desk::Desk;

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Address and port to listen on
    #[arg(long, default_value = "127.0.0.1:8080")]
    listen: SocketAddr,
    /// Keep the demo in this new folder; without it, the demo is deleted when the program stops
    #[arg(long)]
    folder: Option<PathBuf>,
}

pub(super) fn run(arguments: &Arguments) -> Result<(), Trouble> {
    let passing = tempfile::Builder::new().prefix("baywright-demo-").tempdir()?;
    let going_on = signals::delete_when_stopped(passing.path().to_owned())?;
    let folder = match &arguments.folder {
        Some(folder) if folder.exists() => {
            return Err(format!("{} already exists; name a new folder", folder.display()).into());
        }
        Some(folder) => {
            std::fs::create_dir_all(folder)?;
            folder.clone()
        }
        None => passing.path().to_owned(),
    };
    let listener = TcpListener::bind(arguments.listen)?;
    let url = format!("http://{}", listener.local_addr()?);
    let mut config = Config::of_environment()?;
    config.public_url.clone_from(&url);
    let mut config = config.checked()?;
    config.data.clone_from(&folder);
    let _logging = telemetry::start(false, "warn")?;
    let db = Db::open(&format!("sqlite:{}", folder.join("demo.db").display()))?;
    db.migrate()?;

    let begun = std::time::Instant::now();
    let link = load(&db, &config)?;
    println!(
        "Created an invented studio with a history of {} days, in {} s.",
        history::DAYS,
        begun.elapsed().as_secs()
    );

    let clock = Clock::system();
    let keys = Keyring::new(kept::load(&db, &config, clock.now()).map_err(said)?);
    let mut app = App::new(Program::new(db, clock, keys, config)?);
    let people = studio::plan()?.people.into_iter().map(|person| DemoPerson {
        role: person.role.to_lowercase(),
        name: person.name,
        email: person.email,
    });
    app.demo = Some(Demo {
        customer_page: link,
        people: people.collect(),
        password: studio::PASSWORD.to_owned(),
        mails: folder.join("mail").display().to_string(),
    });
    println!("\nBaywright listens on {url}");
    println!("Open this address in a browser and choose who you are.");
    let clockwork = Clockwork::of(&app.program)?.start();
    System::new().block_on(async move {
        signals::survive_full_files()?;
        let server = server::start(app, listener)?;
        // From here on a signal stops the server, and the folder is deleted after it.
        drop(going_on);
        server.await?;
        Ok::<(), Trouble>(())
    })?;
    clockwork.stop();
    Ok(())
}

/// Loads everything; returns the address of a quote that is waiting for its customer's answer.
fn load(db: &Db, config: &Config) -> Result<String, Trouble> {
    let now = Clock::system().now();
    let clock = Clock::manual(history::begin(now));
    let mut config = config.clone();
    config.workers = 1;
    // All requests come from one address, at once.
    config.rate = std::num::NonZeroU32::MAX;
    let keys = Keyring::new(kept::load(db, &config, clock.now()).map_err(said)?);
    let app = App::new(Program::new(db.clone(), clock, keys, config)?);
    let clockwork = Clockwork::of(&app.program)?;
    let listener = TcpListener::bind("127.0.0.1:0")?;
    let base = format!("http://{}", listener.local_addr()?);
    let founded = studio::found(&app.program)?;
    let mut desk = Desk::of(&app.program, &base, clockwork, founded);
    let (ready, started) = std::sync::mpsc::channel();
    let server = std::thread::spawn(move || {
        System::new()
            .block_on(async move {
                let server = server::start_beside(app, listener)?;
                let _ = ready.send(server.handle());
                Ok::<(), Trouble>(server.await?)
            })
            .map_err(|error| error.to_string())
    });
    let handle = started.recv()?;
    let loaded = studio::furnish(&mut desk).and_then(|cars| history::live(&mut desk, &cars, now));
    drop(handle.stop(true));
    server.join().map_err(|_| "the demo's server panicked")??;
    loaded
}
