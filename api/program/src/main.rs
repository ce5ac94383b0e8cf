//! The program `baywright`.

use std::process::ExitCode;

fn main() -> ExitCode {
    baywright::cli::run()
}
