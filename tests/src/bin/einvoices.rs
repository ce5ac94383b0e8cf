//! Writes a document of every kind into a folder, in both syntaxes of EN 16931, for the official rules to look at:
//! `einvoices FOLDER`.

use std::path::PathBuf;

use baywright_einvoice::Checked;
use baywright_tests::einvoice::samples;

fn main() -> std::io::Result<()> {
    let folder: PathBuf = std::env::args_os().nth(1).ok_or_else(|| std::io::Error::other("name a folder"))?.into();
    std::fs::create_dir_all(&folder)?;
    let samples = samples();
    for (name, issued) in &samples {
        let checked = Checked::new(issued).map_err(std::io::Error::other)?;
        std::fs::write(folder.join(format!("{name}.ubl.xml")), checked.ubl())?;
        std::fs::write(folder.join(format!("{name}.cii.xml")), checked.cii())?;
    }
    println!("{} documents in two syntaxes", samples.len());
    Ok(())
}
