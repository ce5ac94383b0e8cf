//! `baywright verify`: checks that nothing was altered without the program.

use baywright_core::media;
use baywright_core::platform::config::Store;
use baywright_core::platform::db::embedded_file;
use baywright_core::platform::fail::Done;
use baywright_core::platform::record::{self, Walk};
use baywright_core::platform::tx::Tx;
use baywright_core::seal::usecase::verify_seals;
use baywright_domain::id::ShopId;

use super::Trouble;
use super::operator::Operator;
use super::progress::Progress;

/// For each shop, follows the log's chain from its start, recomputes every seal from its document, and compares the
/// files of all photographs with their digests.
pub(super) fn run(store: &Store) -> Result<(), Trouble> {
    if let Some(file) = embedded_file(&store.database).filter(|file| !file.is_file()) {
        return Err(format!("there is no database at {}", file.display()).into());
    }
    let operator = Operator::reading(store)?;
    let mut faults = 0;
    for shop in operator.shops()? {
        let walk = {
            let _shown = Progress::unknown("Checking the log");
            operator.read(&shop.id, check_records)?
        };
        let (photos, damage) = check_photos(&operator, &shop.id)?;
        for fault in walk.faults.iter().chain(&damage) {
            println!("{}: {fault}", shop.name);
            faults += 1;
        }
        println!(
            "{}: {} records in the log, the last with digest {}; {photos} photographs",
            shop.name, walk.records, walk.digest
        );
    }
    if faults == 0 {
        println!("The log is complete, every seal is valid and every photograph is there.");
        return Ok(());
    }
    Err(format!("faults found: {faults}; compare the data with an earlier backup").into())
}

/// Follows the shop's log and recomputes every seal; returns the faults of both.
pub(super) fn check_records(tx: &mut Tx<'_>) -> Done<Walk> {
    let shop = tx.shop().clone();
    let mut walk = record::walk(tx.conn, &shop)?;
    walk.faults.extend(verify_seals(tx)?.iter().map(ToString::to_string));
    Ok(walk)
}

/// Number of photographs the shop has, and what is wrong with their files.
pub(super) fn check_photos(operator: &Operator, shop: &ShopId) -> Result<(usize, Vec<String>), Trouble> {
    let photos = operator.read(shop, media::usecase::all)?;
    let shown = Progress::of("Checking photographs", photos.len());
    let mut found = Vec::new();
    for photo in &photos {
        found.extend(media::check(&operator.config.data, shop, photo));
        shown.done(1);
    }
    // A customer may have been erased while the files were read.
    let mut faults = Vec::new();
    for fault in found {
        if operator.read(shop, |tx| media::usecase::is_there(tx, &fault.photo))? {
            faults.push(fault.to_string());
        }
    }
    Ok((photos.len(), faults))
}
