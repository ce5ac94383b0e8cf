//! `baywright serve`: runs the service until it is told to stop.

use std::io::Write;
use std::net::TcpListener;

use baywright_core::clockwork::Clockwork;
use baywright_core::platform::clock::Clock;
use baywright_core::platform::config::{Config, Store};
use baywright_core::platform::db::Db;
use baywright_core::platform::keyring::{Keyring, kept};
use baywright_core::platform::program::Program;
use baywright_core::platform::telemetry;
use baywright_core::setup::usecase::setup_code;
use baywright_http::platform::app::App;
use clap::Args;

use super::operator::said;
use super::{Trouble, open_files, signals};
use crate::server;

#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Show all settings and where each comes from, check them, and stop
    #[arg(long)]
    pub(super) check_config: bool,
    #[command(flatten)]
    pub(super) config: Config,
}

pub(super) fn run(store: &Store, arguments: Arguments) -> Result<(), Trouble> {
    let mut config = arguments.config.checked()?;
    config.data.clone_from(&store.data);
    let _logging = telemetry::start(config.log_json, &config.log)?;
    open_files::raise_limit();
    let db = Db::open(&store.database)?;
    db.migrate()?;
    let clock = Clock::system();
    let keys = Keyring::new(kept::load(&db, &config, clock.now()).map_err(said)?);
    let code = setup_code(&db, clock.now()).map_err(said)?;
    let listener = TcpListener::bind(config.listen)?;
    let mut out = std::io::stdout();
    if let Err(error) = writeln!(out, "Baywright listens on http://{}", listener.local_addr()?) {
        tracing::warn!(%error, "standard output can't be written");
    }
    if let Some(code) = code {
        let text = format!(
            "There is no shop yet. Set one up in a browser at {}/set-up,\nwith `baywright shop create`, or at POST \
             /v1/setup. The code for it is valid for a day: {code}",
            config.public_url
        );
        writeln!(out, "{text}").map_err(|error| format!("can't print the code of the first setup: {error}"))?;
    }
    let app = App::new(Program::new(db, clock, keys, config)?);
    let clockwork = Clockwork::of(&app.program)?.start();
    actix_web::rt::System::new().block_on(async move {
        signals::survive_full_files()?;
        server::start(app, listener)?.await?;
        Ok::<(), Trouble>(())
    })?;
    clockwork.stop();
    Ok(())
}
