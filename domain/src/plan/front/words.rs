//! What each order costs and gains, in words.

use alloc::format;
use alloc::string::String;
use alloc::vec::Vec;
use core::cmp::Ordering;

use super::PlanOrder;
use crate::time::Minutes;

impl PlanOrder {
    /// What this order costs and gains beside another one, such as "10 minutes more changeover, finished 230 minutes
    /// sooner".
    pub fn beside(&self, other: &Self) -> String {
        let changeover = match difference(self.changeover, other.changeover) {
            (Ordering::Equal, _) => String::from("As much changeover"),
            (Ordering::Greater, more) => format!("{more} more changeover"),
            (Ordering::Less, less) => format!("{less} less changeover"),
        };
        match difference(self.elapsed, other.elapsed) {
            (Ordering::Equal, _) => format!("{changeover}, finished at the same time"),
            (Ordering::Greater, later) => format!("{changeover}, finished {later} later"),
            (Ordering::Less, sooner) => format!("{changeover}, finished {sooner} sooner"),
        }
    }
}

/// One sentence for each order of a front: what the first takes, and what each other costs and gains beside the first.
pub(in crate::plan) fn explained(orders: &[PlanOrder]) -> Vec<String> {
    let Some((first, others)) = orders.split_first() else { return Vec::new() };
    let (changeover, elapsed) = (counted(first.changeover), counted(first.elapsed));
    let least = format!("Least changeover: {changeover}, finished after {elapsed}");
    core::iter::once(least).chain(others.iter().map(|order| order.beside(first))).collect()
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
        let order = |changeover, elapsed| PlanOrder {
            steps: Vec::new(),
            changeover: Minutes::new(changeover),
            elapsed: Minutes::new(elapsed),
        };
        let all = [order(20, 735), order(30, 505), order(31, 504)];
        let expected = [
            "Least changeover: 20 minutes, finished after 735 minutes",
            "10 minutes more changeover, finished 230 minutes sooner",
            "11 minutes more changeover, finished 231 minutes sooner",
        ];
        assert_eq!(explained(&all), expected);
        assert_eq!(all[1].beside(&all[2]), "1 minute less changeover, finished 1 minute later");
        assert_eq!(all[0].beside(&all[0]), "As much changeover, finished at the same time");
        assert_eq!(explained(&[]), Vec::<String>::new());
    }
}
