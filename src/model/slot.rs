//! The place of one value among those of its block.

use std::marker::PhantomData;

/// The place of one value of a block, with the type that it has.
pub(crate) struct Slot<T> {
    pub(super) index: u32,
    kind: PhantomData<fn() -> T>,
}

impl<T> Clone for Slot<T> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<T> Copy for Slot<T> {}

impl<T> Slot<T> {
    pub(crate) fn new(index: usize) -> Slot<T> {
        Slot { index: index as u32, kind: PhantomData }
    }

    pub(crate) fn index(self) -> usize {
        self.index as usize
    }
}
