//! The program, built with the tests so that they can run it as a process.

use std::process::ExitCode;

fn main() -> ExitCode {
    baywright::cli::run()
}
