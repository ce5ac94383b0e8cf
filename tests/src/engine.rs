//! Fresh databases of either engine, each copied from one that was migrated once.

use std::path::PathBuf;
use std::sync::OnceLock;

use baywright::platform::db::Db;
use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection};

/// Which engine a test runs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Engine {
    /// The embedded one.
    Sqlite,
    /// A server.
    Postgres,
}

/// A database of a test's own, gone when dropped.
pub struct Fresh {
    /// Its address.
    pub address: String,
    folder: tempfile::TempDir,
    dropped: Option<(String, String)>,
}

/// The server on which test databases may be made, if there is one.
pub fn server() -> Option<String> {
    std::env::var("BAYWRIGHT_TEST_POSTGRES").ok().filter(|address| !address.is_empty())
}

/// The engines that tests run on here.
pub fn engines() -> Vec<Engine> {
    let mut engines = vec![Engine::Sqlite];
    engines.extend(server().map(|_| Engine::Postgres));
    engines
}

impl Fresh {
    /// A migrated, empty database.
    pub fn of(engine: Engine) -> Self {
        let folder = tempfile::tempdir().unwrap();
        match engine {
            Engine::Sqlite => {
                let file = folder.path().join("shop.db");
                std::fs::copy(sqlite_template(), &file).unwrap();
                Self { address: format!("sqlite:{}", file.display()), folder, dropped: None }
            }
            Engine::Postgres => {
                let server = server().expect("BAYWRIGHT_TEST_POSTGRES");
                let template = postgres_template(&server);
                let name = format!("baywright_{}", uuid_text());
                on_server(&server, &format!("CREATE DATABASE {name} TEMPLATE {template}"));
                let address = with_name(&server, &name);
                Self { address, folder, dropped: Some((server, name)) }
            }
        }
    }

    /// A folder of the test's own.
    pub fn folder(&self) -> &std::path::Path {
        self.folder.path()
    }
}

impl Drop for Fresh {
    fn drop(&mut self) {
        if let Some((server, name)) = &self.dropped {
            on_server(server, &format!("DROP DATABASE IF EXISTS {name} WITH (FORCE)"));
        }
    }
}

fn uuid_text() -> String {
    baywright::platform::ids::new::<String>().replace('-', "")
}

fn on_server(server: &str, sql: &str) {
    PgConnection::establish(server).unwrap().batch_execute(sql).unwrap();
}

fn with_name(server: &str, name: &str) -> String {
    let (start, _) = server.rsplit_once('/').unwrap();
    format!("{start}/{name}")
}

/// A migrated file, made once in each process.
fn sqlite_template() -> &'static PathBuf {
    static TEMPLATE: OnceLock<(tempfile::TempDir, PathBuf)> = OnceLock::new();
    let (_, file) = TEMPLATE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("template.db");
        let db = Db::open(&format!("sqlite:{}", file.display())).unwrap();
        db.migrate().unwrap();
        drop(db);
        (folder, file)
    });
    file
}

/// A migrated database that others are copied from, made once in each process.
fn postgres_template(server: &str) -> &'static str {
    static TEMPLATE: OnceLock<String> = OnceLock::new();
    TEMPLATE.get_or_init(|| {
        let name = format!("baywright_template_{}", std::process::id());
        on_server(server, &format!("DROP DATABASE IF EXISTS {name} WITH (FORCE)"));
        on_server(server, &format!("CREATE DATABASE {name}"));
        let db = Db::open(&with_name(server, &name)).unwrap();
        db.migrate().unwrap();
        drop(db);
        // A template must have no connection; a closing one may linger for a moment.
        let left = format!("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'");
        on_server(server, &left);
        name
    })
}
