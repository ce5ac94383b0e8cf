//! What a person types. One file holds one command.

mod backup;
mod check;
mod demo;
mod export;
mod files;
mod import;
mod keys;
mod menu;
mod migrate;
mod openapi;
mod operator;
mod private;
mod ready;
mod restore;
mod serve;
mod shop;
mod signals;
mod user;
mod verify;

use std::io::Write;
use std::process::ExitCode;

use clap::{CommandFactory, FromArgMatches, Parser, Subcommand};

use crate::platform::config::Store;
use crate::platform::config::environment::Environment;

/// The back office of a small vehicle-detailing studio.
#[derive(Debug, Parser)]
#[command(name = "baywright", version, about, max_term_width = 100)]
struct Cli {
    #[command(flatten)]
    store: Store,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Run the service
    Serve(Box<serve::Arguments>),
    /// Run the service on an invented studio, to try everything
    Demo(demo::Arguments),
    /// Bring the database up to date
    Migrate,
    /// Ask the service on this machine whether it can serve
    Ready(ready::Arguments),
    /// Found a shop, or list those that are there
    #[command(subcommand)]
    Shop(shop::Command),
    /// Fill the draft of a shop's menu
    #[command(subcommand)]
    Menu(menu::Command),
    /// Add people who may sign in, invite them, sign them out
    #[command(subcommand)]
    User(user::Command),
    /// List or rotate the keys that sign access tokens
    #[command(subcommand)]
    Keys(keys::Command),
    /// Add the customers or vehicles of a list to a shop
    Import(import::Arguments),
    /// Write all records of a shop into a folder of lists
    Export(export::Arguments),
    /// Copy the embedded database and the photographs into a folder, while the service runs
    Backup(backup::Arguments),
    /// Put a backup back
    Restore(restore::Arguments),
    /// Check the log's chain of digests and every seal
    Verify,
    /// Write the API document (OpenAPI 3.1) to standard output
    Openapi,
}

/// What the program ends with where what it was told can't be read.
const MISUSE: u8 = 2;

/// Runs the command that was typed; its error goes to standard error as one line.
pub fn run() -> ExitCode {
    private::keep();
    let environment = Environment::own();
    // A secret's file that can't be read is told after the command is known: `--help` needs none.
    let (command, unread) = match environment.fill(Cli::command()) {
        Ok(command) => (command, None),
        Err(fault) => (Cli::command(), Some(fault)),
    };
    let matches = command.clone().get_matches();
    let faults: Vec<_> = environment.unknown(&command).into_iter().chain(unread).collect();
    if !faults.is_empty() {
        for fault in &faults {
            complain(fault);
        }
        return ExitCode::from(MISUSE);
    }
    let cli = match Cli::from_arg_matches(&matches) {
        Ok(cli) => cli,
        Err(misuse) => misuse.format(&mut Cli::command()).exit(),
    };
    let result = match cli.command {
        Command::Serve(arguments) => match (arguments.check_config, matches.subcommand_matches("serve")) {
            (true, Some(told)) => check::run(&cli.store, arguments.config, &command, told, &environment),
            _ => serve::run(&cli.store, *arguments),
        },
        Command::Demo(arguments) => demo::run(&arguments),
        Command::Migrate => migrate::run(&cli.store),
        Command::Ready(arguments) => ready::run(&arguments),
        Command::Shop(command) => shop::run(&cli.store, command),
        Command::Menu(command) => menu::run(&cli.store, &command),
        Command::User(command) => user::run(&cli.store, command),
        Command::Keys(command) => keys::run(&cli.store, &command),
        Command::Import(arguments) => import::run(&cli.store, &arguments),
        Command::Export(arguments) => export::run(&cli.store, &arguments),
        Command::Backup(arguments) => backup::run(&cli.store, &arguments),
        Command::Restore(arguments) => restore::run(&cli.store, &arguments),
        Command::Verify => verify::run(&cli.store),
        Command::Openapi => openapi::run(),
    };
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => {
            complain(&error);
            ExitCode::FAILURE
        }
    }
}

/// Says what is wrong on standard error, if that can be written: the exit code says it in any case.
fn complain(what: &dyn std::fmt::Display) {
    let _ = writeln!(std::io::stderr(), "baywright: {what}");
}

/// What a command fails with: shown as it is.
type Trouble = Box<dyn std::error::Error>;
