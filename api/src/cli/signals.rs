//! Signals of the system that would end the program though it can go on.

/// From now on a write beyond the largest file that the system allows the program (`ulimit -f`) fails like one on a full
/// disk. Without this, the system ends the program by SIGXFSZ. Needs a runtime.
///
/// # Errors
/// If the system refuses the handler.
#[cfg(unix)]
pub(super) fn survive_full_files() -> std::io::Result<()> {
    use tokio::signal::unix::{SignalKind, signal};
    // The handler stays when its listener goes.
    signal(SignalKind::from_raw(rustix::process::Signal::XFSZ.as_raw())).map(drop)
}

/// Here no such signal exists.
#[cfg(not(unix))]
pub(super) fn survive_full_files() -> std::io::Result<()> {
    Ok(())
}
