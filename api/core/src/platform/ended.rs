//! Sign-ins that were ended in memory, because the database could not be written.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use baywright_domain::id::{SessionId, ShopId};

/// Sign-ins that have ended although the database does not say so yet, with their shops; cloning shares them. There are
/// never more than sign-ins that were made before.
#[derive(Debug, Clone, Default)]
pub struct Ended(Arc<Mutex<BTreeMap<String, ShopId>>>);

impl Ended {
    /// Ends a sign-in here, until that is written.
    pub fn keep(&self, session: &SessionId, shop: &ShopId) {
        self.all_of_them().insert(session.to_string(), shop.clone());
    }

    /// Whether that sign-in has ended here.
    pub fn has(&self, session: &str) -> bool {
        self.all_of_them().contains_key(session)
    }

    /// Forgets a sign-in whose end is written.
    pub fn forget(&self, session: &SessionId) {
        self.all_of_them().remove(session.as_str());
    }

    /// Those whose end has to be written.
    pub fn to_write(&self) -> Vec<(SessionId, ShopId)> {
        self.all_of_them().iter().map(|(session, shop)| (SessionId::new(session), shop.clone())).collect()
    }

    fn all_of_them(&self) -> MutexGuard<'_, BTreeMap<String, ShopId>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
