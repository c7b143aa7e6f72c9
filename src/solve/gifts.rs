//! Solutions from elsewhere for a solver that is at work.

use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Where a solution lies until the solver takes it in. Clones are the same place.
///
/// A gift changes which of several best solutions the solver comes to. So gifts are
/// for runs whose values no proven plan is made from.
#[derive(Debug, Clone, Default)]
pub struct Gifts(Arc<Mutex<Option<Arc<[f64]>>>>);

impl Gifts {
    /// Lays down values of all variables, in the place of what was not yet taken.
    pub fn put(&self, values: &[f64]) {
        *self.locked() = Some(values.into());
    }

    /// Takes what was laid down.
    pub fn take(&self) -> Option<Arc<[f64]>> {
        self.locked().take()
    }

    fn locked(&self) -> MutexGuard<'_, Option<Arc<[f64]>>> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_gift_is_taken_once() {
        let gifts = Gifts::default();
        assert_eq!(gifts.take(), None);
        gifts.clone().put(&[1.0]);
        gifts.put(&[2.0]);
        assert_eq!(gifts.take().as_deref(), Some(&[2.0][..]));
        assert_eq!(gifts.take(), None);
    }
}
