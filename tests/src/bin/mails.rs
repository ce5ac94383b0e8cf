//! Writes a mail of every kind into a folder as HTML, for the browser to look at: `mails FOLDER`.

use std::path::PathBuf;

use baywright_tests::Studio;
use baywright_tests::engine::Engine;

fn main() -> std::io::Result<()> {
    let folder: PathBuf = std::env::args_os().nth(1).ok_or_else(|| std::io::Error::other("name a folder"))?.into();
    std::fs::create_dir_all(&folder)?;
    let mails = Studio::start(Engine::Sqlite).every_mail();
    for (at, mail) in mails.iter().enumerate() {
        std::fs::write(folder.join(format!("{at:02}-{}.html", mail.kind)), &mail.html)?;
    }
    println!("{} mails", mails.len());
    Ok(())
}
