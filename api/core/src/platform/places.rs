//! A few places for work that takes much of the machine. No shop may have more than half of them at a time, so that one that
//! sends many files at once leaves room for the others.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError, Weak};

use tokio::sync::{OwnedSemaphorePermit, Semaphore, SemaphorePermit};

/// The places.
pub struct Places {
    all: Semaphore,
    of_one_shop: usize,
    shops: Mutex<BTreeMap<String, Weak<Semaphore>>>,
}

/// A reserved place; dropping it frees it.
#[derive(Debug)]
pub struct Place<'p> {
    _one_of_all: SemaphorePermit<'p>,
    _one_of_the_shop: OwnedSemaphorePermit,
}

impl Places {
    /// `in_all` places, of which one shop gets at most half, but at least one.
    pub const fn new(places: usize) -> Self {
        let of_one_shop = if places < 2 { 1 } else { places / 2 };
        Self { all: Semaphore::const_new(places), of_one_shop, shops: Mutex::new(BTreeMap::new()) }
    }

    /// Waits for a place for that shop, in the order of arrival. `None` if the places were closed, which never happens.
    pub async fn take(&self, shop: &str) -> Option<Place<'_>> {
        // One of the shop's own places comes first: this limits how many requests of one shop wait for the common ones.
        let of_the_shop = self.of(shop).acquire_owned().await.ok()?;
        Some(Place { _one_of_all: self.all.acquire().await.ok()?, _one_of_the_shop: of_the_shop })
    }

    fn of(&self, shop: &str) -> Arc<Semaphore> {
        let mut shops = self.shops.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(known) = shops.get(shop).and_then(Weak::upgrade) {
            return known;
        }
        // Shops that have no place and wait for none are removed from the map.
        shops.retain(|_, places| places.strong_count() > 0);
        let new = Arc::new(Semaphore::new(self.of_one_shop));
        shops.insert(shop.to_owned(), Arc::downgrade(&new));
        new
    }
}

#[cfg(test)]
mod tests {
    use futures_util::FutureExt;

    use super::{Place, Places};

    /// A place, if one is free at once.
    fn take<'p>(places: &'p Places, shop: &str) -> Option<Place<'p>> {
        places.take(shop).now_or_never().flatten()
    }

    #[test]
    fn one_shop_has_half_of_the_places_at_most() {
        let places = Places::new(6);
        let mut first: Vec<_> = (0..3).map(|_| take(&places, "first").unwrap()).collect();
        assert!(take(&places, "first").is_none());
        let _second: Vec<_> = (0..3).map(|_| take(&places, "second").unwrap()).collect();
        assert!(take(&places, "third").is_none(), "there are six in all");
        first.pop();
        let _third = take(&places, "third").unwrap();
        assert!(take(&places, "first").is_none(), "all six are taken again");
    }

    #[test]
    fn whoever_waits_gets_the_place_that_becomes_free() {
        let places = Places::new(2);
        let held = take(&places, "first").unwrap();
        let mut waiting = Box::pin(places.take("first"));
        assert!((&mut waiting).now_or_never().is_none());
        // Requests that wait in one shop don't hold up another one.
        let _other = take(&places, "second").unwrap();
        drop(held);
        assert!((&mut waiting).now_or_never().flatten().is_some());
    }

    #[test]
    fn there_is_one_for_a_shop_also_where_there_is_one_in_all_and_quiet_shops_are_forgotten() {
        let places = Places::new(1);
        for shop in 0..100 {
            assert!(take(&places, &shop.to_string()).is_some());
        }
        assert_eq!(places.shops.lock().unwrap().len(), 1);
    }
}
