//! `baywright keys`: the keys that sign access tokens.

use clap::Subcommand;

use super::Trouble;
use super::operator::{Operator, said};
use crate::platform::config::Store;
use crate::platform::keyring::kept::{self, KeyInfo};

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// List the keys by id, newest first
    List,
    /// Make a new key; it signs two minutes later, and what the former ones signed holds until it ends
    Rotate,
}

pub(super) fn run(store: &Store, command: &Command) -> Result<(), Trouble> {
    let operator = Operator::at(store)?;
    if operator.config.token_key.is_some() {
        return Err("BAYWRIGHT_TOKEN_KEY is set, so that key signs. To rotate it, set the new one there and the \
                    present one as BAYWRIGHT_FORMER_TOKEN_KEY, and start the service again"
            .into());
    }
    match command {
        Command::List => {
            for key in kept::list(&operator.db).map_err(said)? {
                println!("{}", line(&key));
            }
        }
        Command::Rotate => {
            let key = kept::rotate(&operator.db, operator.clock.now()).map_err(said)?;
            println!("{}\nIt signs in two minutes; no sign-in ends.", line(&key));
        }
    }
    Ok(())
}

fn line(key: &KeyInfo) -> String {
    let until = key.retired_at.map(|at| format!(", signs until {at}")).unwrap_or_default();
    format!("{}  made {}{until}", key.id, key.created_at)
}
