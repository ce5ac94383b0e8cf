//! Memory for large pieces that goes back to the system as soon as it is freed.
//!
//! glibc keeps freed memory for later, for each thread that ever allocated some, up to a size that grows with each large
//! piece that is freed, but never beyond 32 MiB (mallopt(3), M_MMAP_THRESHOLD: `DEFAULT_MMAP_THRESHOLD_MAX` is 4 × 1024 ×
//! 1024 × `sizeof(long)`). A larger piece is mapped by itself and unmapped when it is freed. So more is allocated than is
//! needed; untouched memory costs nothing. Without this, forty sign-ins at once left 400 MiB behind, and two dozen
//! photographs of 10 MiB left 170 MiB.

/// Bytes of a piece that no allocator keeps once it is freed.
const MAPPED: usize = 33 << 20;

/// Size in bytes below which a piece is not worth a mapping of its own: glibc's own limit at first.
const SMALL: usize = 128 << 10;

/// An empty list with room for `count` values.
pub fn room<T>(count: usize) -> Vec<T> {
    let size = size_of::<T>().max(1);
    let small = count.saturating_mul(size) < SMALL;
    Vec::with_capacity(if small { count } else { count.max(MAPPED / size) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_piece_is_mapped_by_itself_and_a_small_one_takes_what_it_needs() {
        assert!(room::<u8>(200).capacity() < SMALL);
        assert!(room::<u8>(SMALL).capacity() >= MAPPED);
        assert!(room::<[u8; 1024]>(SMALL / 1024).capacity() * 1024 >= MAPPED);
        assert!(room::<u8>(2 * MAPPED).capacity() >= 2 * MAPPED);
    }
}
