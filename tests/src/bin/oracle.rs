//! The rules at the command line, for checks from outside: one JSON case a line in, one answer a line out.

use std::io;

use baywright_tests::oracle::{Kind, run};
use clap::Parser;

/// Answers cases with the very functions that the program uses.
///
/// Reads one JSON value a line from standard input and writes one JSON value a line, in order, with the same `id` if
/// the case has one. A bad case gets {"error": "…"} on its line and the run goes on.
#[derive(Parser)]
#[command(name = "oracle", version)]
struct Arguments {
    /// What the cases ask for.
    kind: Kind,
    /// Say with each answer how long the rules took for it, in nanoseconds.
    #[arg(long)]
    timed: bool,
}

fn main() -> io::Result<()> {
    let Arguments { kind, timed } = Arguments::parse();
    run(kind, timed, io::stdin().lock(), io::BufWriter::new(io::stdout().lock()))
}
