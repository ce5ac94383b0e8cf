//! `baywright migrate`: brings the database up to date.

use baywright_core::platform::config::Store;
use baywright_core::platform::db::Db;

use super::Trouble;

pub(super) fn run(store: &Store) -> Result<(), Trouble> {
    let ran = Db::open(&store.database)?.migrate()?;
    for name in &ran {
        println!("ran {name}");
    }
    println!("The database is up to date (ran {} migrations).", ran.len());
    Ok(())
}
