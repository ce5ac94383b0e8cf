//! Builds the running service, for the program and for tests alike.
//!
//! Two habits of the framework's parser have no setting: it accepts a bare LF as the end of a line, as RFC 9112,
//! section 2.2 allows, and it answers targets in absolute form by their path (section 3.2.2). The host that a client
//! names is used nowhere: links are made from `--public-url`.

use std::any::Any;
use std::net::TcpListener;

use actix_web::dev::{Extensions, Server};
use actix_web::guard::fn_guard;
use actix_web::rt::net::TcpStream;
use actix_web::web::{Data, PathConfig};
use actix_web::{HttpRequest, HttpServer};
use baywright_core::platform::refusal::Refused;
use baywright_http::platform::app::App;
use baywright_http::platform::connections::{Connections, of_each_worker};
use baywright_http::platform::guard::Guard;
use baywright_http::platform::methods::{Methods, is_of};
use baywright_http::platform::pieces::PIECE;
use baywright_http::platform::problem::Problem;
use baywright_http::routes::{ROUTES, paths};
use baywright_pages::platform::refused::for_browsers;
use baywright_pages::routes::PAGES;
use utoipa_actix_web::service_config::ServiceConfig;

/// Reason why the service did not start: the address can't be listened on.
#[derive(Debug, thiserror::Error)]
#[error("can't listen: {0}")]
pub struct NotStarted(#[from] std::io::Error);

/// Starts the service on a socket that already listens; SIGINT and SIGTERM stop it.
///
/// # Errors
/// If the socket can't be used.
pub fn start(app: App, listener: TcpListener) -> Result<Server, NotStarted> {
    run(app, listener, true)
}

/// Starts a service that only its handle stops; [`start`] also stops on signals.
///
/// # Errors
/// If the socket can't be used.
pub fn start_beside(app: App, listener: TcpListener) -> Result<Server, NotStarted> {
    run(app, listener, false)
}

fn run(app: App, listener: TcpListener, signals: bool) -> Result<Server, NotStarted> {
    let workers = match app.program.config.workers {
        0 => std::thread::available_parallelism().map_or(2, usize::from),
        chosen => chosen,
    };
    // A proxy opens the connections of all its clients.
    let connections = (!app.program.config.behind_proxy).then(|| Connections::new(workers));
    let app = Data::new(app);
    let methods = Data::new(methods());
    let server = HttpServer::new(move || {
        actix_web::App::new()
            .app_data(app.clone())
            .app_data(methods.clone())
            .app_data(PathConfig::default().error_handler(|_, _| Problem::from(Refused::not_found("record")).into()))
            .configure(add_all)
            .service(baywright_pages::system::docs_page())
            .service(baywright_http::system::docs)
            .service(actix_web::web::redirect("/docs", "/docs/"))
            .default_service(actix_web::web::to(unmatched))
            .wrap(Guard)
            .wrap(actix_web::middleware::from_fn(for_browsers))
    });
    let server = server.on_connect(move |stream, data| opened(stream, data, connections.as_ref()));
    let server = server.max_connections(of_each_worker(workers)).h1_write_buffer_size(PIECE);
    let server = server.workers(workers).shutdown_timeout(10).listen(listener)?;
    Ok(if signals { server.run() } else { server.disable_signals().run() })
}

/// Handling of a new connection: it is counted, if its address is the client's own, and may not stall for ever.
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

/// Maximum time for which a client may take nothing of its answer, in milliseconds.
#[cfg(target_os = "linux")]
const STALLED_MS: u32 = 30_000;

/// Lets the system close a connection whose client takes nothing of its answer for half a minute, so that waiting data
/// is not kept for ever (TCP_USER_TIMEOUT, RFC 5482). A slow client is not affected: each byte it takes counts.
#[cfg(target_os = "linux")]
fn give_up_on_the_stalled(stream: &TcpStream) {
    if let Err(error) = rustix::net::sockopt::set_tcp_user_timeout(stream, STALLED_MS) {
        tracing::debug!(%error, "a connection has no limit on stalling");
    }
}

/// This system has no such limit.
#[cfg(not(target_os = "linux"))]
fn give_up_on_the_stalled(_: &TcpStream) {}

/// Ends a connection once everything that has arrived on it is answered. Otherwise it would be open until its client
/// has sent a request.
#[cfg(unix)]
fn read_no_more(stream: &TcpStream) {
    if let Err(error) = rustix::net::shutdown(stream, rustix::net::Shutdown::Read) {
        tracing::debug!(%error, "a connection that is one too many stays open until it is answered");
    }
}

/// On this system it stays open until its client has sent a request.
#[cfg(not(unix))]
fn read_no_more(_: &TcpStream) {}

/// Adds every feature's routes and pages, and drops what utoipa collects on the way. The scope of a feature adds nothing to
/// its paths; it is skipped for the paths of others, so that their patterns are not compared with them.
fn add_all(config: &mut actix_web::web::ServiceConfig) {
    for (feature, add) in ROUTES.iter().chain(&PAGES).enumerate() {
        let own = actix_web::web::scope("").guard(fn_guard(move |request| is_of(feature, request)));
        config.service(own.configure(|config| add(&mut ServiceConfig::new(config))));
    }
}

/// The methods of every path; the features are in the order of [`add_all`].
fn methods() -> Methods {
    ROUTES.iter().chain(&PAGES).map(|add| paths(*add)).collect()
}

async fn unmatched(request: HttpRequest, methods: Data<Methods>) -> actix_web::HttpResponse {
    methods.unmatched(request.method(), request.path(), request.query_string())
}
