//! The least that serves the same rows: actix, one SQLite connection a thread, statements prepared once, and JSON written
//! straight from columns.
//!
//! It knows no sign-in, no shop but the one that is there, no role, no cursor, no header of its own, and no log. What was
//! stored as JSON goes out as it lies there.

mod day;
mod json;
mod quote;

use std::cell::RefCell;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use actix_web::web::Data;
use actix_web::{HttpResponse, HttpServer, get};
use rusqlite::Connection;

use day::Days;
use quote::Quotes;

/// What all threads are told at the start.
struct Setting {
    file: PathBuf,
    base: String,
}

/// What one thread keeps: its statements, on a connection of its own.
struct Rows {
    quotes: Quotes,
    days: Days,
}

thread_local! {
    static ROWS: RefCell<Option<Rows>> = const { RefCell::new(None) };
}

/// Serves until it is ended.
pub(crate) fn serve(file: &Path, listen: SocketAddr, base: &str, workers: usize) {
    let setting = Data::new(Setting { file: file.to_owned(), base: base.to_owned() });
    let app = move || actix_web::App::new().app_data(setting.clone()).service(list).service(one).service(on);
    actix_web::rt::System::new()
        .block_on(async move { HttpServer::new(app).workers(workers).bind(listen)?.run().await })
        .unwrap();
}

/// The thread's rows. A connection lives as long as its thread, so it is never given back.
fn with_rows<T>(setting: &Setting, ask: impl FnOnce(&mut Rows) -> T) -> T {
    ROWS.with_borrow_mut(|slot| {
        let rows = slot.get_or_insert_with(|| {
            let conn: &'static Connection = Box::leak(Box::new(Connection::open(&setting.file).unwrap()));
            conn.execute_batch("PRAGMA query_only = ON; PRAGMA cache_size = -8000").unwrap();
            let shop = conn.query_row("SELECT currency FROM shop", [], |row| row.get(0)).unwrap();
            Rows { quotes: Quotes::new(conn, &setting.base, shop), days: Days::new(conn) }
        });
        ask(rows)
    })
}

fn answer(body: Option<String>) -> HttpResponse {
    match body {
        Some(body) => HttpResponse::Ok().content_type("application/json").body(body),
        None => HttpResponse::NotFound().finish(),
    }
}

#[derive(serde::Deserialize)]
struct Limit {
    limit: u32,
}

#[get("/v1/quotes")]
async fn list(setting: Data<Setting>, wanted: actix_web::web::Query<Limit>) -> HttpResponse {
    answer(Some(with_rows(&setting, |rows| rows.quotes.list(wanted.limit))))
}

#[get("/v1/quotes/{id}")]
async fn one(setting: Data<Setting>, id: actix_web::web::Path<String>) -> HttpResponse {
    answer(with_rows(&setting, |rows| rows.quotes.get(&id)))
}

#[get("/v1/days/{date}")]
async fn on(setting: Data<Setting>, date: actix_web::web::Path<String>) -> HttpResponse {
    answer(with_rows(&setting, |rows| rows.days.get(&date)))
}
