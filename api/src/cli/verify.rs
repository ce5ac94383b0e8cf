//! `baywright verify`: checks that nothing was altered behind the program's back.

use super::Trouble;
use super::operator::{Operator, said};
use crate::platform::config::Store;
use crate::platform::db::embedded_file;
use crate::platform::record;
use crate::shop::usecase::shops;
use crate::signoff::usecase::verify_seals;

/// For each shop the log's chain is followed from its start and every seal is made anew from its document.
pub(super) fn run(store: &Store) -> Result<(), Trouble> {
    if let Some(file) = embedded_file(&store.database).filter(|file| !file.is_file()) {
        return Err(format!("there is no database at {}", file.display()).into());
    }
    let operator = Operator::at(store)?;
    let mut faults = 0;
    for shop in operator.db.read(shops).map_err(said)? {
        let walk = operator.db.read(|conn| record::walk(conn, &shop.id)).map_err(said)?;
        let seals = operator.read(&shop.id, verify_seals)?;
        for fault in walk.faults.iter().cloned().chain(seals.iter().map(ToString::to_string)) {
            println!("{}: {fault}", shop.name);
            faults += 1;
        }
        println!("{}: {} records, the last with digest {}", shop.name, walk.records, walk.digest);
    }
    if faults == 0 {
        println!("The log is whole and every seal holds.");
        return Ok(());
    }
    Err(format!("{faults} found: compare with a backup from before").into())
}
