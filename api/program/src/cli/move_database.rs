//! `baywright move`: moves everything into another database, whatever the engines of both are.

use baywright_core::platform::config::Store;
use baywright_core::platform::db::transfer::{self, Contents, Sum};
use baywright_core::platform::db::{Conn, Db, NotOpened, Scope, embedded_file, snapshot};
use baywright_core::platform::fail::{Done, Fail};
use baywright_core::platform::identity::Actor;
use baywright_core::platform::tx::Tx;
use baywright_core::shop::usecase::shops;
use clap::Args;

use super::operator::{Operator, said};
use super::progress::Progress;
use super::restore::unused;
use super::{Trouble, check, verify};

/// Long help of the command, after the options.
const HELP: &str = "Leave out --from or --to if it is the database that --database names. The database to move to must be empty; \
    its tables are created if it has none. The one to move from stays as it is.\n\n\
    Stop the service first, every copy of it. All rows of all shops are copied, including sign-ins and keys, so nobody \
    has to sign in again. Then the copy is checked: the number of rows and a digest of each table, the logs, and every \
    seal. If anything is wrong, or the command is stopped, nothing is moved and you can start it again.\n\n\
    Photographs are files under --data and stay there. Every copy of the program needs that folder, shared or copied.\n\n\
    An address on the command line can be seen by others on the machine. Leave the password out of it and set PGPASSWORD, \
    or give the address with --database or BAYWRIGHT_DATABASE_FILE.";

#[derive(Debug, Args)]
#[command(after_long_help = HELP)]
#[group(required = true, multiple = true)]
pub(super) struct Arguments {
    /// The database to move from: sqlite:PATH, or postgres://USER@HOST/NAME
    #[arg(long, value_name = "DATABASE")]
    from: Option<String>,
    /// The database to move to
    #[arg(long, value_name = "DATABASE")]
    to: Option<String>,
}

pub(super) fn run(store: &Store, arguments: &Arguments) -> Result<(), Trouble> {
    let from = arguments.from.as_ref().unwrap_or(&store.database);
    let to = arguments.to.as_ref().unwrap_or(&store.database);
    if from == to {
        return Err("the database to move to is the one to move from: name another one with --from or --to".into());
    }
    let source = source(from)?;
    let target = Operator::on(target(to)?, store)?;
    let sums = moved(&source, &target)?;
    let rows: usize = sums.iter().map(|sum| sum.rows).sum();
    println!("Moved {rows} rows of {} tables; both databases have the digest {}.", sums.len(), transfer::digest(&sums));
    println!("The log is whole and every seal holds.");
    println!(
        "Start the service on the new database. Start none on the one that was moved from: mails that wait there would go \
         out again."
    );
    check_photos(&target, store)
}

/// The database to move from, after a check that no other program seems to have it open.
fn source(address: &str) -> Result<Db, Trouble> {
    if let Some(file) = embedded_file(address) {
        if !file.is_file() {
            return Err(format!("there is no database at {}", file.display()).into());
        }
        unused(&file)?;
        if snapshot::is_untouched(&file) {
            return current(address, Db::open_unchanged(&file)?);
        }
    }
    current(address, Db::open(address)?)
}

/// A database to move from, if its tables are those of this version of the program.
fn current(address: &str, source: Db) -> Result<Db, Trouble> {
    source.ensure_current().map_err(|no| naming(address, &no))?;
    Ok(source)
}

/// The database to move to, with its tables created.
fn target(address: &str) -> Result<Db, Trouble> {
    if let Some(file) = embedded_file(address).filter(|file| file.exists()) {
        unused(&file)?;
    }
    let target = Db::open(address)?;
    match target.read(|conn| Ok(transfer::contents(conn)?)).map_err(said)? {
        Contents::Nothing => {
            target.migrate()?;
        }
        Contents::Ours => target.ensure_current().map_err(|no| naming(address, &no))?,
        Contents::Others => {
            let shown = check::shown(address);
            return Err(format!("{shown} has tables of another program: make a database for this one alone").into());
        }
    }
    Ok(target)
}

/// A fault of one of the two databases.
fn naming(address: &str, no: &NotOpened) -> Trouble {
    format!("{}: {no}", check::shown(address)).into()
}

/// Copies and checks everything in one transaction of the target, from one state of the source.
fn moved(source: &Db, target: &Operator) -> Result<Vec<Sum>, Trouble> {
    let moved = source.read(|from| {
        let (rows, records) = (transfer::rows(from)?, transfer::log_length(from)?);
        target.db.write(Scope::Program, |to| {
            let sums = {
                let shown = Progress::of("Copying rows", rows);
                transfer::copy(from, to, |rows| shown.done(rows))?
            };
            {
                let shown = Progress::of("Comparing rows", rows);
                transfer::compare(to, &sums, |rows| shown.done(rows))?;
            }
            check_records(target, to)?;
            // The copy is of the state at the beginning; anything that a service wrote since would be lost.
            if source.read(|now| Ok(transfer::log_length(now)?))? != records {
                return Err(Fail::unexpected("the database was changed while it was moved: stop the service first"));
            }
            Ok(sums)
        })
    });
    moved.map_err(|fail| format!("{}. Nothing was moved", said(fail)).into())
}

/// Follows the log of each shop and recomputes its seals before the copy is committed.
fn check_records(target: &Operator, to: &mut Conn) -> Done<()> {
    let _shown = Progress::unknown("Following the log");
    for shop in shops(to)? {
        let mut tx = Tx::for_program(to, Actor::Operator, &shop.id, target.clock.now(), target.config.clone())?;
        if let Some(fault) = verify::check_records(&mut tx)?.faults.first() {
            return Err(Fail::unexpected(format!(
                "{}: {fault}. The database to move from has the same fault: run `baywright verify` there",
                shop.name
            )));
        }
    }
    Ok(())
}

/// Checks that the photographs that the rows name exist.
fn check_photos(target: &Operator, store: &Store) -> Result<(), Trouble> {
    let (mut photos, mut faults) = (0, 0);
    for shop in target.db.read(shops).map_err(said)? {
        let (found, damage) = verify::check_photos(target, &shop.id)?;
        for fault in &damage {
            println!("{}: {fault}", shop.name);
        }
        photos += found;
        faults += damage.len();
    }
    let folder = store.data.join("photos");
    if faults > 0 {
        return Err(format!(
            "everything is moved, but {faults} photographs are missing or damaged in {}: if they are in another folder, name \
             it with --data and run `baywright verify`",
            folder.display()
        )
        .into());
    }
    println!("The {photos} photographs stay where they are, in {}.", folder.display());
    Ok(())
}
