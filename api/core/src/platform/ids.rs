//! The only source of ids: UUID version 7 (RFC 9562), so that ids sort by the time at which they were made.

use uuid::Uuid;

/// A new id of the requested kind.
pub fn new<T: From<String>>() -> T {
    T::from(Uuid::now_v7().to_string())
}

/// `N` random bytes from the operating system.
///
/// # Errors
/// If the system provides none.
pub fn random<const N: usize>() -> Result<[u8; N], getrandom::Error> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes)?;
    Ok(bytes)
}
