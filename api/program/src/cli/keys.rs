//! `baywright keys`: the keys that sign access tokens.

use baywright_core::platform::config::Store;
use baywright_core::platform::keyring::kept::{self, KeyInfo};
use clap::Subcommand;

use super::Trouble;
use super::operator::{Operator, said};

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// List the keys by id, newest first
    List,
    /// Make a new key; it is used from two minutes later, and tokens of earlier keys stay valid until they expire
    Rotate,
}

pub(super) fn run(store: &Store, command: &Command) -> Result<(), Trouble> {
    let operator = match command {
        Command::List => Operator::reading(store)?,
        Command::Rotate => Operator::at(store)?,
    };
    if operator.config.token_key.is_some() {
        return Err("BAYWRIGHT_TOKEN_KEY is set, so tokens are signed with that key. To rotate it, set the new key \
                    there and the current one as BAYWRIGHT_FORMER_TOKEN_KEY, then restart the service"
            .into());
    }
    match command {
        Command::List => {
            for key in operator.undisturbed(kept::list(&operator.db))? {
                println!("{}", line(&key));
            }
        }
        Command::Rotate => {
            let key = kept::rotate(&operator.db, operator.clock.now()).map_err(said)?;
            println!("{}\nThe new key is used in two minutes. Everyone stays signed in.", line(&key));
        }
    }
    Ok(())
}

fn line(key: &KeyInfo) -> String {
    let until = key.retired_at.map(|at| format!(", signs until {at}")).unwrap_or_default();
    format!("{}  made {}{until}", key.id, key.created_at)
}
