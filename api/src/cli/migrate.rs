//! `baywright migrate`: brings the database up to date.

use super::Trouble;
use crate::platform::config::Store;
use crate::platform::db::Db;

pub(super) fn run(store: &Store) -> Result<(), Trouble> {
    let ran = Db::open(&store.database)?.migrate()?;
    for name in &ran {
        println!("ran {name}");
    }
    println!("The database is up to date (ran {} migrations).", ran.len());
    Ok(())
}
