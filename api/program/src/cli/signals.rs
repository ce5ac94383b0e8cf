//! Signals of the system: one that would end the program although it can continue, and those that stop it.

use std::io;
use std::path::PathBuf;

use tokio::sync::oneshot::{Sender, channel};

/// Number of attempts to delete a folder into which something may still be written.
#[cfg(unix)]
const TRIES: u32 = 50;

/// Until the returned value is dropped, a signal that stops the program (SIGTERM, SIGINT) deletes a folder before the
/// program ends.
///
/// # Errors
/// If the system refuses the handlers.
#[cfg(unix)]
pub(super) fn delete_when_stopped(folder: PathBuf) -> io::Result<Sender<()>> {
    use tokio::signal::unix::{SignalKind, signal};
    let (going_on, gone_on) = channel();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let (mut stop, mut interrupt) = {
        let _inside = runtime.enter();
        (signal(SignalKind::terminate())?, signal(SignalKind::interrupt())?)
    };
    std::thread::spawn(move || {
        // Exit code that a shell reports for a program that such a signal ended.
        let code = runtime.block_on(async move {
            tokio::select! {
                _ = stop.recv() => Some(128 + 15),
                _ = interrupt.recv() => Some(128 + 2),
                _ = gone_on => None,
            }
        });
        let Some(code) = code else { return };
        for _ in 0..TRIES {
            match std::fs::remove_dir_all(&folder) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => {
                    std::thread::sleep(std::time::Duration::from_millis(20));
                }
                _ => break,
            }
        }
        std::process::exit(code);
    });
    Ok(going_on)
}

/// This system has no such signals.
#[cfg(not(unix))]
pub(super) fn delete_when_stopped(_: PathBuf) -> io::Result<Sender<()>> {
    Ok(channel().0)
}

/// From now on a write beyond the largest file that the system allows (`ulimit -f`) fails like one on a full disk.
/// Without this, the system would end the program by SIGXFSZ. Needs a runtime.
///
/// # Errors
/// If the system refuses the handler.
#[cfg(unix)]
pub(super) fn survive_full_files() -> io::Result<()> {
    use tokio::signal::unix::{SignalKind, signal};
    // The handler stays when its listener is dropped.
    signal(SignalKind::from_raw(rustix::process::Signal::XFSZ.as_raw())).map(drop)
}

/// This system has no such signal.
#[cfg(not(unix))]
pub(super) fn survive_full_files() -> io::Result<()> {
    Ok(())
}
