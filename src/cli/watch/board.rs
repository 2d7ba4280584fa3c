//! The page as it is now, and a place to wait for the next one.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// An edition of the page; the later one has the larger number.
#[derive(Default)]
struct Edition {
    number: u64,
    page: Arc<str>,
}

#[derive(Default)]
pub(super) struct Board {
    now: Mutex<Edition>,
    changed: Condvar,
}

impl Board {
    /// The page as it is now; the first one is waited for.
    pub(super) fn page(&self) -> Arc<str> {
        let none = |now: &mut Edition| now.number == 0;
        let waited = self.changed.wait_while(self.held(), none);
        waited.unwrap_or_else(PoisonError::into_inner).page.clone()
    }

    /// Puts up the page that `make` makes for the number of its edition.
    pub(super) fn put(&self, make: impl FnOnce(u64) -> String) {
        let number = self.held().number + 1;
        let page = Arc::from(make(number));
        *self.held() = Edition { number, page };
        self.changed.notify_all();
    }

    /// The number of an edition other than that one, or `None` after a while.
    pub(super) fn after(&self, number: u64, at_most: Duration) -> Option<u64> {
        let same = |now: &mut Edition| now.number == number;
        let waited = self.changed.wait_timeout_while(self.held(), at_most, same);
        let (now, _) = waited.unwrap_or_else(PoisonError::into_inner);
        (now.number != number).then_some(now.number)
    }

    /// A panic elsewhere leaves a whole edition.
    fn held(&self) -> MutexGuard<'_, Edition> {
        self.now.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// What an edition is called: those of one run of the program are not those of another.
pub(super) fn edition(number: u64) -> String {
    format!("{}-{number}", std::process::id())
}
