//! Builds the running service, for the program and for tests alike.
//!
//! Two habits of the framework's parser have no setting: it takes a bare LF for the end of a line, as RFC 9112, section
//! 2.2 allows, and it answers targets in absolute form by their path (section 3.2.2). The host that a client names is
//! used nowhere: links are made from `--public-url`.

use std::any::Any;
use std::net::TcpListener;
use std::num::NonZeroU32;
use std::sync::Arc;

use actix_web::dev::{Extensions, Server};
use actix_web::rt::net::TcpStream;
use actix_web::web::{Data, PathConfig};
use actix_web::{HttpRequest, HttpServer};
use tokio::sync::Semaphore;
use utoipa_actix_web::AppExt;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::access::usecase::ReadOn;
use crate::http::app::Demo;
use crate::http::connections::{Connections, of_each_worker};
use crate::http::guard::Guard;
use crate::http::methods::Methods;
use crate::http::openapi;
use crate::http::pieces::PIECE;
use crate::http::problem::Problem;
use crate::http::unread::Unread;
use crate::platform::clock::Clock;
use crate::platform::config::Config;
use crate::platform::db::Db;
use crate::platform::keyring::Keyring;
use crate::platform::password::Passwords;
use crate::platform::rate::Rate;
use crate::platform::refusal::Refused;
use crate::platform::telemetry::Metrics;
use crate::proposal::usecase::AT_ONCE;
use crate::{features, pages, system};

/// Tokens of links that open nothing, which one address may try in a minute.
const MISSES: NonZeroU32 = match NonZeroU32::new(30) {
    Some(number) => number,
    None => NonZeroU32::MIN,
};

/// Tries at passwords and codes that one address may make in a minute, all of which may come at once; then one more every
/// two seconds. Several people may sit behind one address.
const TRIES: NonZeroU32 = match NonZeroU32::new(30) {
    Some(number) => number,
    None => NonZeroU32::MIN,
};

/// What all workers share.
pub struct App {
    /// The database.
    pub db: Db,
    /// The time.
    pub clock: Clock,
    /// The keys of access tokens.
    pub keys: Keyring,
    /// The line before the hashing of passwords.
    pub passwords: Passwords,
    /// Sign-ins that go on while the database can't be written.
    pub read_on: ReadOn,
    /// The settings.
    pub config: Arc<Config>,
    /// How many requests a client may send.
    pub rate: Rate,
    /// How many requests for the program's health a client may send, beside all others.
    pub probes: Rate,
    /// How many tokens of links that open nothing one address may try.
    pub misses: Rate,
    /// How many tries at passwords and codes one address may make.
    pub tries: Rate,
    /// The places for those who think out proposals, which takes a core for seconds.
    pub thinking: Arc<Semaphore>,
    /// Large answers that wait for their reader.
    pub unread: Unread,
    /// What the program counts.
    pub metrics: Metrics,
    /// What the demo offers to try; none in a studio's own service.
    pub demo: Option<Demo>,
}

/// Why the service did not start.
#[derive(Debug, thiserror::Error)]
pub enum NotStarted {
    /// The address can't be listened on.
    #[error("can't listen: {0}")]
    Listen(#[from] std::io::Error),
    /// A defect of the program.
    #[error("can't start: {0}")]
    Defect(String),
}

impl App {
    /// The shared state over an opened database.
    ///
    /// # Errors
    /// Where a metric can't be made; a defect.
    pub fn new(db: Db, clock: Clock, keys: Keyring, config: Config) -> Result<Self, NotStarted> {
        let metrics = Metrics::new().map_err(|e| NotStarted::Defect(e.to_string()))?;
        let rate = Rate::per_minute(config.rate);
        let probes = Rate::per_minute(config.rate);
        let misses = Rate::per_minute(MISSES);
        let tries = Rate::per_minute(TRIES);
        Ok(Self {
            db,
            clock,
            keys,
            passwords: Passwords::default(),
            read_on: ReadOn::default(),
            rate,
            probes,
            misses,
            tries,
            thinking: Arc::new(Semaphore::new(AT_ONCE)),
            unread: Unread::default(),
            metrics,
            demo: None,
            config: Arc::new(config),
        })
    }
}

/// The OpenAPI document of all features.
pub fn document() -> utoipa::openapi::OpenApi {
    let app = actix_web::App::new().into_utoipa_app().openapi(openapi::base()).configure(features::routes);
    openapi::without_pages(app.split_for_parts().1)
}

/// Starts the service on a socket that already listens; SIGINT and SIGTERM stop it.
///
/// # Errors
/// Where the socket can't be used.
pub fn start(app: App, listener: TcpListener) -> Result<Server, NotStarted> {
    run(app, listener, true)
}

/// Starts a service that only its handle stops, beside the one that is to be stopped by signals.
///
/// # Errors
/// Where the socket can't be used.
pub fn start_beside(app: App, listener: TcpListener) -> Result<Server, NotStarted> {
    run(app, listener, false)
}

fn run(app: App, listener: TcpListener, signals: bool) -> Result<Server, NotStarted> {
    let workers = match app.config.workers {
        0 => std::thread::available_parallelism().map_or(2, usize::from),
        chosen => chosen,
    };
    // A proxy opens the connections of all its clients.
    let connections = (!app.config.behind_proxy).then(Connections::default);
    let app = Data::new(app);
    let methods = Data::new(methods());
    let server = HttpServer::new(move || {
        actix_web::App::new()
            .app_data(app.clone())
            .app_data(methods.clone())
            .app_data(PathConfig::default().error_handler(|_, _| Problem::from(Refused::not_found("record")).into()))
            .configure(routes)
            .service(system::docs_page())
            .service(system::docs)
            .service(actix_web::web::redirect("/docs", "/docs/"))
            .default_service(actix_web::web::to(unmatched))
            .wrap(Guard)
            .wrap(actix_web::middleware::from_fn(pages::refused::for_browsers))
    });
    let server = server.on_connect(move |stream, data| opened(stream, data, connections.as_ref()));
    let server = server.max_connections(of_each_worker(workers)).h1_write_buffer_size(PIECE);
    let server = server.workers(workers).shutdown_timeout(10).listen(listener)?;
    Ok(if signals { server.run() } else { server.disable_signals().run() })
}

/// What is done with a new connection: it is counted, if its address is its client's own, and may not stall for ever.
fn opened(stream: &dyn Any, data: &mut Extensions, connections: Option<&Connections>) {
    let Some(stream) = stream.downcast_ref::<TcpStream>() else { return };
    give_up_on_the_stalled(stream);
    let (Some(connections), Ok(peer)) = (connections, stream.peer_addr()) else { return };
    let connection = connections.enter(peer.ip());
    if connection.is_one_too_many() {
        read_no_more(stream);
    }
    data.insert(connection);
}

/// How long a client may take nothing of what it is sent, in milliseconds.
#[cfg(target_os = "linux")]
const STALLED_MS: u32 = 30_000;

/// Lets the system close a connection whose client takes nothing of its answer for half a minute, so that what waits for
/// it is not kept for ever (TCP_USER_TIMEOUT, RFC 5482). A slow client is not affected: each byte it takes counts.
#[cfg(target_os = "linux")]
fn give_up_on_the_stalled(stream: &TcpStream) {
    if let Err(error) = rustix::net::sockopt::set_tcp_user_timeout(stream, STALLED_MS) {
        tracing::debug!(%error, "a connection has no limit on stalling");
    }
}

/// Here no such limit exists.
#[cfg(not(target_os = "linux"))]
fn give_up_on_the_stalled(_: &TcpStream) {}

/// Ends a connection once what has arrived of it is answered. It would else be open until its client has sent a request.
#[cfg(unix)]
fn read_no_more(stream: &TcpStream) {
    if let Err(error) = rustix::net::shutdown(stream, rustix::net::Shutdown::Read) {
        tracing::debug!(%error, "a connection that is one too many stays open until it is answered");
    }
}

/// Here it stays open until its client has sent a request.
#[cfg(not(unix))]
fn read_no_more(_: &TcpStream) {}

/// Adds every feature's routes, and drops what utoipa collects on the way.
fn routes(config: &mut actix_web::web::ServiceConfig) {
    for add in features::ROUTES {
        add(&mut ServiceConfig::new(config));
    }
}

/// The methods of every path, without the document around them.
fn methods() -> Methods {
    let paths =
        |add: &features::AddRoutes| actix_web::App::new().into_utoipa_app().configure(*add).split_for_parts().1.paths;
    features::ROUTES.iter().map(paths).collect()
}

async fn unmatched(request: HttpRequest, methods: Data<Methods>) -> actix_web::HttpResponse {
    methods.unmatched(request.method(), request.path(), request.query_string())
}
