//! `baywright import`: adds the customers or vehicles of a list to a shop.

use std::path::PathBuf;

use baywright_core::exchange::sheet::Row;
use baywright_core::exchange::usecase::{Report, import_customers, import_vehicles};
use baywright_core::platform::config::Store;
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::platform::warning::Confirmed;
use baywright_domain::id::ShopId;
use baywright_http::exchange::{customers, vehicles};
use clap::{Args, ValueEnum};

use super::Trouble;
use super::operator::Operator;
use super::progress::Progress;

/// Maximum number of rows in a file.
const MOST_ROWS: usize = 200_000;
/// Number of rows per transaction, during which the running service waits.
const AT_ONCE: usize = 250;

/// Long help of the command, after the options.
const HELP: &str = "The list is CSV text in UTF-8. Its first row names the columns; `baywright export` writes such a \
    list, so that you can see their names. Rows that are refused are shown with their line, their column and what to \
    do, and the other rows are added. Records that already exist are skipped, so you can correct the list and import \
    all of it again.\n\nImport customers before their vehicles. A customer needs only a name; a vehicle needs make, \
    model, size class and its customer.";

#[derive(Debug, Args)]
#[command(after_long_help = HELP)]
pub(super) struct Arguments {
    /// Kind of records in the list
    what: What,
    /// File with the list
    file: PathBuf,
    /// Name or id of the shop; not needed if there is only one
    #[arg(long)]
    shop: Option<String>,
    /// Also add rows that share a telephone number, email address, name, identification number or registration with an
    /// existing record; without this option they are left out and listed
    #[arg(long)]
    add_alike: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum What {
    Customers,
    Vehicles,
}

pub(super) fn run(store: &Store, arguments: &Arguments) -> Result<(), Trouble> {
    let bytes =
        std::fs::read(&arguments.file).map_err(|error| format!("can't read {}: {error}", arguments.file.display()))?;
    let operator = Operator::at(store)?;
    let shop = operator.shop(arguments.shop.as_deref())?;
    let unusable = |problem: Refused| problem.detail().to_owned();
    let report = match arguments.what {
        What::Customers => {
            let rows = customers::of(&bytes, MOST_ROWS).map_err(unusable)?;
            take_in(&operator, &shop, &rows, arguments.add_alike, import_customers)?
        }
        What::Vehicles => {
            let rows = vehicles::of(&bytes, MOST_ROWS).map_err(unusable)?;
            take_in(&operator, &shop, &rows, arguments.add_alike, import_vehicles)?
        }
    };
    tell(&report);
    match (report.refused.len(), report.known.len()) {
        (0, 0) => Ok(()),
        (0, known) => {
            Err(format!("{known} rows were left out: use --add-alike if they are other customers or vehicles").into())
        }
        (refused, _) => Err(format!("{refused} rows were refused: correct them and import the list again").into()),
    }
}

fn take_in<T>(
    operator: &Operator,
    shop: &ShopId,
    rows: &[Row<T>],
    add_alike: bool,
    usecase: fn(&mut Tx<'_>, &[Row<T>]) -> Done<Report>,
) -> Result<Report, Trouble> {
    let mut report = Report::default();
    let shown = Progress::of("Adding rows", rows.len());
    for some in rows.chunks(AT_ONCE) {
        report.merge(operator.write(shop, |tx| {
            if add_alike {
                tx.confirmed = Confirmed::from_query("confirm=known-customer,known-vehicle,erased-customer");
            }
            usecase(tx, some)
        })?);
        shown.done(some.len());
    }
    Ok(report)
}

fn tell(report: &Report) {
    for told in report.refused.iter().chain(&report.warnings) {
        for fault in &told.faults {
            let place = if fault.column.is_empty() { String::new() } else { format!(", {}", fault.column) };
            println!("line {}{place}: {}", told.line, fault.detail);
        }
    }
    for known in &report.known {
        let names: Vec<String> = known.records.iter().map(|one| format!("{} ({})", one.title, one.id)).collect();
        println!("line {}: left out, because it may be {}", known.line, names.join(" or "));
    }
    for here in &report.already_here {
        println!("line {}: already exists ({})", here.line, here.id);
    }
    let (here, known, refused) = (report.already_here.len(), report.known.len(), report.refused.len());
    let left_out = if known > 0 { format!(", {known} left out") } else { String::new() };
    println!("{} rows: {} added, {here} already there{left_out}, {refused} refused.", report.rows, report.added);
}
