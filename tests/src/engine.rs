//! Fresh databases of either engine, each copied from one that was migrated once.

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use baywright_core::platform::db::{Db, embedded_file};
use diesel::connection::SimpleConnection;
use diesel::{Connection, PgConnection, RunQueryDsl};

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
        match engine {
            Engine::Sqlite => Self::in_file(|file| {
                std::fs::copy(sqlite_template(), file).unwrap();
            }),
            Engine::Postgres => Self::from_template(postgres_template),
        }
    }

    /// A database without any table, for which the embedded engine has no file yet.
    pub fn bare(engine: Engine) -> Self {
        match engine {
            Engine::Sqlite => Self::in_file(|_| {}),
            // What nobody has added anything to, or is connected to.
            Engine::Postgres => Self::from_template(|_| "template0"),
        }
    }

    /// An embedded database whose file `make` writes.
    pub fn in_file(make: impl FnOnce(&Path)) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("shop.db");
        make(&file);
        Self { address: format!("sqlite:{}", file.display()), folder, dropped: None }
    }

    /// A database of the server that is a copy of another one there.
    fn from_template(template: impl FnOnce(&str) -> &'static str) -> Self {
        let server = server().expect("BAYWRIGHT_TEST_POSTGRES");
        let name = format!("baywright_{}", uuid_text());
        on_server(&server, &format!("CREATE DATABASE {name} TEMPLATE {} STRATEGY FILE_COPY", template(&server)));
        let address = with_name(&server, &name);
        Self { address, folder: tempfile::tempdir().unwrap(), dropped: Some((server, name)) }
    }

    /// A folder of the test's own.
    pub fn folder(&self) -> &Path {
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

/// Runs statements on a database over a connection of their own, past the program and its rules.
pub fn run_sql(address: &str, statements: &str) {
    match embedded_file(address) {
        Some(file) => rusqlite::Connection::open(file).unwrap().execute_batch(statements).unwrap(),
        None => on_server(address, statements),
    }
}

fn uuid_text() -> String {
    baywright_core::platform::ids::new::<String>().replace('-', "")
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

/// A migrated database that others are copied from, made once on a server: every test is a process of its own.
fn postgres_template(server: &str) -> &'static str {
    static TEMPLATE: OnceLock<String> = OnceLock::new();
    TEMPLATE.get_or_init(|| {
        let name = format!("baywright_template_{:016x}", program_print());
        let mut conn = PgConnection::establish(server).unwrap();
        // Other tests wait here until the first has made it; the lock goes with the connection.
        conn.batch_execute(&format!("SELECT pg_advisory_lock({TEMPLATE_LOCK})")).unwrap();
        let finished = format!("{name}_is_finished");
        let there = diesel::sql_query("SELECT 1 FROM pg_database WHERE datname = $1")
            .bind::<diesel::sql_types::Text, _>(&finished)
            .execute(&mut conn)
            .unwrap();
        if there == 0 {
            let building = format!("{name}_is_building");
            conn.batch_execute(&format!("DROP DATABASE IF EXISTS {building} WITH (FORCE)")).unwrap();
            conn.batch_execute(&format!("CREATE DATABASE {building}")).unwrap();
            let db = Db::open(&with_name(server, &building)).unwrap();
            db.migrate().unwrap();
            drop(db);
            // A template must have no connection; a closing one may linger for a moment.
            let left = format!("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{building}'");
            let rename = format!("ALTER DATABASE {building} RENAME TO {finished}");
            let mut tries = 0;
            while let Err(error) = conn.batch_execute(&left).and_then(|()| conn.batch_execute(&rename)) {
                tries += 1;
                assert!(tries < 100, "{error}");
                std::thread::sleep(std::time::Duration::from_millis(20));
            }
        }
        finished
    })
}

const TEMPLATE_LOCK: i64 = 0x4241_5954;

/// Tells one build of the tests from another, so that a server used twice gives no template of older migrations.
fn program_print() -> u64 {
    use std::hash::{DefaultHasher, Hash, Hasher};
    let mut hasher = DefaultHasher::new();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../migrations/postgres");
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.sort();
    for file in files {
        file.file_name().hash(&mut hasher);
        std::fs::read_to_string(file.join("up.sql")).unwrap().hash(&mut hasher);
    }
    hasher.finish()
}
