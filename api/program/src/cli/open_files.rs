//! Number of files and connections the program may have open at once.

/// Enough for all connections, photographs in transfer, and the database.
#[cfg(unix)]
const ENOUGH: u64 = 4_096;

/// Raises the limit on open files (`ulimit -n`) as far as the system allows and as it is useful. Many systems start
/// with a lower one, for programs that can't handle more.
#[cfg(unix)]
pub(super) fn raise_limit() {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
    let limit = getrlimit(Resource::Nofile);
    let wanted = limit.maximum.map_or(ENOUGH, |most| most.min(ENOUGH));
    if limit.current.is_none_or(|current| current >= wanted) {
        return;
    }
    if let Err(error) = setrlimit(Resource::Nofile, Rlimit { current: Some(wanted), maximum: limit.maximum }) {
        tracing::warn!(%error, "the limit on open files can't be raised");
    }
}

/// This system has no such limit.
#[cfg(not(unix))]
pub(super) fn raise_limit() {}
