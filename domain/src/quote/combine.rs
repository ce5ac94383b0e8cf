//! The choices that a customer has among the optional lines of a quote.

use alloc::vec;
use alloc::vec::Vec;
use core::iter;

use super::select;
use crate::pricing::{Conflict, Line};

/// Maximum number of optional lines of which every combination is listed: one more would double their number.
const MOST_COMBINED: usize = 5;

/// The choices of optional lines that can be taken, by index, the fewest lines first. Of many optional lines not every
/// combination is listed, but none of them, each alone, and all together.
pub fn combinations(lines: &[Line], conflicts: &[Conflict]) -> Vec<Vec<usize>> {
    let optional = lines.iter().enumerate().filter(|(_, line)| !line.required);
    let optional: Vec<usize> = optional.map(|(at, _)| at).collect();
    let mut all: Vec<Vec<usize>> = if optional.len() <= MOST_COMBINED {
        let of_set = |set: usize| {
            let ticked = optional.iter().enumerate().filter(|(bit, _)| (set >> bit) & 1 == 1);
            ticked.map(|(_, at)| *at).collect()
        };
        (0..(1 << optional.len())).map(of_set).collect()
    } else {
        let alone = optional.iter().map(|at| vec![*at]);
        iter::once(Vec::new()).chain(alone).chain([optional.clone()]).collect()
    };
    all.retain(|ticked| select(lines, conflicts, ticked).is_ok());
    all.sort_by_key(|ticked| (ticked.len(), ticked.clone()));
    all
}
