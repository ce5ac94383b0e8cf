//! `baywright export`: writes all records of a shop into a folder of lists.

use std::fs::{self, File};
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

use baywright_core::exchange::usecase::{export_customers, export_vehicles};
use baywright_core::platform::config::Store;
use baywright_core::platform::db::dump;
use baywright_core::platform::fail::Fail;
use baywright_core::platform::tx::Tx;
use clap::Args;

use super::operator::Operator;
use super::progress::Progress;
use super::{Trouble, files};

/// Long help of the command, after the options.
const HELP: &str = "The folder then has customers.csv and vehicles.csv, which `baywright import` reads; tables, with \
    one file of JSON lines for each kind of record; and photos. The log of changes is tables/record.jsonl: each line \
    has the digest of the one before, so that anyone can check it. Passwords, sessions and the tokens of customers' \
    links are left out. Times are milliseconds since 1970-01-01T00:00Z, amounts are in the currency's minor \
    unit.\n\nAn export is not a backup: make backups with `baywright backup`.";

#[derive(Debug, Args)]
#[command(after_long_help = HELP)]
pub(super) struct Arguments {
    /// The folder to create; it must be new or empty
    #[arg(long)]
    to: PathBuf,
    /// Name or id of the shop; not needed if there is only one
    #[arg(long)]
    shop: Option<String>,
}

pub(super) fn run(store: &Store, arguments: &Arguments) -> Result<(), Trouble> {
    let operator = Operator::reading(store)?;
    let shop = operator.shop(arguments.shop.as_deref())?;
    let to = &arguments.to;
    files::new_folder(to)?;
    fs::create_dir(to.join("tables"))?;
    let written = operator.read(&shop, |tx| {
        dump::take_time(tx.conn)?;
        // Everything is read from one state of the database, so that the tables match.
        let customers = export_customers(tx)?;
        let vehicles = export_vehicles(tx)?;
        let mut rows = 0;
        let tables = dump::tables(tx.conn)?;
        let shown = Progress::of("Writing tables", tables.len());
        for table in tables {
            rows += write_table(tx, &table, &to.join("tables").join(format!("{}.jsonl", table.name)))?;
            shown.done(1);
        }
        Ok((customers, vehicles, rows))
    })?;
    let (customers, vehicles, rows) = written;
    fs::write(to.join("customers.csv"), customers)?;
    fs::write(to.join("vehicles.csv"), vehicles)?;
    let photos = Path::new("photos").join(shop.as_str());
    let photos = files::copy_photos(&store.data.join(photos), &to.join("photos"))?.all_good()?;
    println!("Wrote {rows} records and {photos} photographs to {}.", to.display());
    Ok(())
}

fn write_table(tx: &mut Tx<'_>, table: &dump::Table, file: &Path) -> Result<usize, Fail> {
    let mut out = BufWriter::new(File::create_new(file).map_err(Fail::unexpected)?);
    let mut rows = 0;
    let shop = tx.studio.id.clone();
    let written = dump::rows(tx.conn, table, &shop, |line| {
        rows += 1;
        out.write_all(line.as_bytes())?;
        out.write_all(b"\n")
    })?;
    written.and_then(|()| out.flush()).map_err(Fail::unexpected)?;
    Ok(rows)
}
