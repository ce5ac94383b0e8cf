//! Sets of intervals against sets of single minutes.

use baywright_domain::time::{Interval, IntervalSet, Minute};
use proptest::collection::vec;
use proptest::prelude::*;

fn intervals() -> impl Strategy<Value = Vec<Interval>> {
    vec((0..60i64, 1..12i64), 0..9).prop_map(|list| {
        list.into_iter().filter_map(|(from, n)| Interval::new(Minute::new(from), Minute::new(from + n))).collect()
    })
}

fn single(list: &[Interval]) -> u128 {
    (0..100).filter(|m| list.iter().any(|i| i.contains(Minute::new(*m)))).map(|m| 1 << m).sum()
}

fn minutes(set: &IntervalSet) -> u128 {
    let list = set.as_slice();
    assert!(list.windows(2).all(|two| two[0].to() < two[1].from()), "not sorted and apart: {list:?}");
    single(list)
}

proptest! {
    #[test]
    fn a_set_is_its_minutes(a in intervals(), b in intervals(), from in 0..70i64, length in 1..30i64) {
        let (x, y) = (single(&a), single(&b));
        let (a, b): (IntervalSet, IntervalSet) = (a.into_iter().collect(), b.into_iter().collect());
        prop_assert_eq!(minutes(&a), x);
        prop_assert_eq!(minutes(&a.union(&b)), x | y);
        prop_assert_eq!(minutes(&a.intersection(&b)), x & y);
        prop_assert_eq!(minutes(&a.difference(&b)), x & !y);
        prop_assert_eq!(a.total(), u64::from(x.count_ones()));
        let bounds = Interval::new(Minute::new(from), Minute::new(from + length)).unwrap();
        let within = single(&[bounds]);
        prop_assert_eq!(minutes(&a.clip(bounds)), x & within);
        prop_assert_eq!(a.covers(bounds), x & within == within);
        prop_assert_eq!(a.contains(Minute::new(from)), x >> from & 1 == 1);
    }
}
