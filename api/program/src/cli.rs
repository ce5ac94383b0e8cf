//! The command line. Each file has one command.

mod backup;
mod check;
mod demo;
mod export;
mod files;
mod import;
mod keys;
mod menu;
mod migrate;
mod move_database;
mod open_files;
mod openapi;
mod operator;
mod private;
mod progress;
mod ready;
mod restore;
mod serve;
mod shop;
mod signals;
mod user;
mod verify;

use std::io::Write;
use std::process::ExitCode;

use baywright_core::platform::config::Store;
use baywright_core::platform::config::environment::Environment;
use clap::parser::ValueSource;
use clap::{Arg, ArgMatches, CommandFactory, FromArgMatches, Parser, Subcommand, value_parser};

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
    /// Run the service with an invented studio, to try everything
    Demo(demo::Arguments),
    /// Bring the database up to date
    Migrate,
    /// Ask the service on this machine whether it is ready
    Ready(ready::Arguments),
    /// Create a shop, or list all shops
    #[command(subcommand)]
    Shop(shop::Command),
    /// Fill the draft of a shop's menu
    #[command(subcommand)]
    Menu(menu::Command),
    /// Add people who can sign in, invite them, sign them out
    #[command(subcommand)]
    User(user::Command),
    /// List or rotate the keys that sign access tokens
    #[command(subcommand)]
    Keys(keys::Command),
    /// Add customers or vehicles from a list to a shop
    Import(import::Arguments),
    /// Write all records of a shop into a folder of lists and photographs
    Export(export::Arguments),
    /// Copy the embedded database and the photographs into a folder, while the service runs
    Backup(backup::Arguments),
    /// Restore a backup
    Restore(restore::Arguments),
    /// Move everything into another database, from the embedded one to a PostgreSQL server or back
    Move(move_database::Arguments),
    /// Check the log's chain of digests, every seal, and the files of all photographs
    Verify,
    /// Write the API document (OpenAPI 3.1) to standard output
    Openapi,
}

/// Commands that open no database, or make one of their own, and what the message says instead.
const WITHOUT_STORE: [(&str, &str); 3] = [
    ("demo", "the demo makes its own database and folder, which --folder keeps"),
    ("ready", "it asks the running service, whose address --listen gives"),
    ("openapi", "it needs no database"),
];

/// The whole command line. The help of a command lists only the settings that it uses.
fn command() -> clap::Command {
    WITHOUT_STORE.iter().fold(Cli::command(), |all, (name, _)| {
        // A global argument is not added to a command that has one of the same name.
        let database = Arg::new("database").long("database").hide(true);
        let data = Arg::new("data").long("data").value_parser(value_parser!(std::path::PathBuf)).hide(true);
        all.mut_subcommand(name, |one| one.arg(database).arg(data))
    })
}

/// The typed setting that the command does not use, as a message that says what to do.
fn unused(matches: &ArgMatches) -> Option<String> {
    let (name, _) = matches.subcommand()?;
    let (_, instead) = WITHOUT_STORE.iter().find(|(without, _)| *without == name)?;
    let typed = |id: &&str| matches.value_source(id) == Some(ValueSource::CommandLine);
    let setting = ["database", "data"].into_iter().find(typed)?;
    Some(format!("`baywright {name}` does not use --{setting}: leave it out; {instead}"))
}

/// Exit code if the command line can't be read.
const MISUSE: u8 = 2;

/// Runs the command; its error goes to standard error as one line.
pub fn run() -> ExitCode {
    private::keep();
    let environment = Environment::own();
    // A secret's file that can't be read is reported after the command line is parsed, because `--help` needs no
    // secret.
    let (command, unread) = match environment.fill(command()) {
        Ok(command) => (command, None),
        Err(fault) => (command(), Some(fault)),
    };
    let matches = command.clone().get_matches();
    let faults: Vec<_> = environment.unknown(&command).into_iter().chain(unread).collect();
    if !faults.is_empty() {
        for fault in &faults {
            complain(fault);
        }
        return ExitCode::from(MISUSE);
    }
    if let Some(fault) = unused(&matches) {
        eprintln!("baywright: {fault}");
        return ExitCode::from(MISUSE);
    }
    let cli = match Cli::from_arg_matches(&matches) {
        Ok(cli) => cli,
        Err(misuse) => misuse.format(&mut self::command()).exit(),
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
        Command::Move(arguments) => move_database::run(&cli.store, &arguments),
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

/// Writes what is wrong to standard error if possible; the exit code says it in any case.
fn complain(what: &dyn std::fmt::Display) {
    let _ = writeln!(std::io::stderr(), "baywright: {what}");
}

/// Error of a command, displayed as it is.
type Trouble = Box<dyn std::error::Error>;

#[cfg(test)]
mod tests {
    use super::*;

    fn matches(words: &[&str]) -> ArgMatches {
        command().try_get_matches_from(words).unwrap()
    }

    #[test]
    fn a_command_shows_no_setting_that_it_does_not_use_and_refuses_it() {
        for (name, _) in WITHOUT_STORE {
            let help = command().try_get_matches_from(["baywright", name, "--help"]).unwrap_err().to_string();
            assert!(!help.contains("--database") && !help.contains("--data "), "{help}");
            for words in [["baywright", name, "--data", "x"], ["baywright", "--database", "sqlite:x", name]] {
                let said = unused(&matches(&words)).unwrap();
                assert!(said.contains(name) && said.contains("leave it out"), "{said}");
            }
            assert_eq!(unused(&matches(&["baywright", name])), None);
        }
        let help = command().try_get_matches_from(["baywright", "verify", "--help"]).unwrap_err().to_string();
        assert!(help.contains("--database") && help.contains("--data "), "{help}");
        let typed = matches(&["baywright", "verify", "--data", "x"]);
        assert_eq!(unused(&typed), None);
        assert_eq!(Cli::from_arg_matches(&typed).unwrap().store.data, std::path::Path::new("x"));
    }
}
