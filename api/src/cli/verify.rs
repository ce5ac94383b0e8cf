//! `baywright verify`: checks that nothing was altered behind the program's back.

use baywright_domain::id::ShopId;

use super::Trouble;
use super::operator::{Operator, said};
use super::progress::Progress;
use crate::media;
use crate::platform::config::Store;
use crate::platform::db::embedded_file;
use crate::platform::record;
use crate::seal::usecase::verify_seals;
use crate::shop::usecase::shops;

/// For each shop the log's chain is followed from its start, every seal is made anew from its document, and the files of
/// every photograph are compared with their digests.
pub(super) fn run(store: &Store) -> Result<(), Trouble> {
    if let Some(file) = embedded_file(&store.database).filter(|file| !file.is_file()) {
        return Err(format!("there is no database at {}", file.display()).into());
    }
    let operator = Operator::at(store)?;
    let mut faults = 0;
    for shop in operator.db.read(shops).map_err(said)? {
        let (walk, seals) = {
            let _shown = Progress::unknown("Checking the log");
            let walk = operator.db.read(|conn| record::walk(conn, &shop.id)).map_err(said)?;
            (walk, operator.read(&shop.id, verify_seals)?)
        };
        let (photos, damage) = check_photos(&operator, &shop.id)?;
        let seals = seals.iter().map(ToString::to_string);
        for fault in walk.faults.iter().cloned().chain(seals).chain(damage) {
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

/// How many photographs the shop has, and what is wrong with their files.
fn check_photos(operator: &Operator, shop: &ShopId) -> Result<(usize, Vec<String>), Trouble> {
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
