//! Cost and gain of each order, in words.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use core::cmp::Ordering;

use crate::time::Minutes;

/// Changeover and elapsed minutes of an order.
type Cost = (Minutes, Minutes);

/// One sentence for each order of a front, from its changeover and elapsed minutes: the times of the first, and what
/// each other one costs and gains compared with the first, such as "10 minutes more changeover, finished 230 minutes
/// sooner".
pub fn orders_in_words(orders: &[Cost]) -> Vec<String> {
    let Some((first, others)) = orders.split_first() else { return Vec::new() };
    let least = format!("Least changeover: {}, finished after {}", counted(first.0), counted(first.1));
    core::iter::once(least).chain(others.iter().map(|order| beside(*order, *first))).collect()
}

fn beside(order: Cost, other: Cost) -> String {
    let changeover = match difference(order.0, other.0) {
        (Ordering::Equal, _) => String::from("As much changeover"),
        (Ordering::Greater, more) => format!("{more} more changeover"),
        (Ordering::Less, less) => format!("{less} less changeover"),
    };
    match difference(order.1, other.1) {
        (Ordering::Equal, _) => format!("{changeover}, finished at the same time"),
        (Ordering::Greater, later) => format!("{changeover}, finished {later} later"),
        (Ordering::Less, sooner) => format!("{changeover}, finished {sooner} sooner"),
    }
}

fn difference(one: Minutes, other: Minutes) -> (Ordering, String) {
    (one.cmp(&other), counted(Minutes::new(one.get().abs_diff(other.get()))))
}

fn counted(minutes: Minutes) -> String {
    match minutes.get() {
        1 => String::from("1 minute"),
        count => format!("{count} minutes"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_order_says_what_it_costs_and_gains() {
        let order = |changeover, elapsed| (Minutes::new(changeover), Minutes::new(elapsed));
        let all = [order(20, 735), order(30, 505), order(31, 504)];
        let expected = [
            "Least changeover: 20 minutes, finished after 735 minutes",
            "10 minutes more changeover, finished 230 minutes sooner",
            "11 minutes more changeover, finished 231 minutes sooner",
        ];
        assert_eq!(orders_in_words(&all), expected);
        assert_eq!(beside(all[1], all[2]), "1 minute less changeover, finished 1 minute later");
        assert_eq!(beside(all[0], all[0]), "As much changeover, finished at the same time");
        assert_eq!(orders_in_words(&[]), Vec::<String>::new());
    }
}
