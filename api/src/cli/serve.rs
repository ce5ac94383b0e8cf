//! `baywright serve`: runs the service until it is told to stop.

use std::net::TcpListener;

use clap::Args;

use super::Trouble;
use crate::clockwork::Clockwork;
use crate::platform::clock::Clock;
use crate::platform::config::{Config, Store};
use crate::platform::db::Db;
use crate::platform::keyring::Keyring;
use crate::platform::telemetry;
use crate::server::{self, App};

#[derive(Debug, Args)]
pub(super) struct Arguments {
    #[command(flatten)]
    config: Config,
}

pub(super) fn run(store: &Store, arguments: Arguments) -> Result<(), Trouble> {
    let mut config = arguments.config.checked()?;
    config.data.clone_from(&store.data);
    telemetry::start(config.log_json, &config.log);
    let db = Db::open(&store.database)?;
    db.migrate()?;
    let clock = Clock::system();
    let listener = TcpListener::bind(config.listen)?;
    println!("Baywright listens on http://{}", listener.local_addr()?);
    let app = App::new(db, clock, Keyring::default(), config)?;
    let clockwork = Clockwork::of(&app)?.start();
    actix_web::rt::System::new().block_on(async move {
        server::start(app, listener)?.await?;
        Ok::<(), Trouble>(())
    })?;
    clockwork.stop();
    Ok(())
}
