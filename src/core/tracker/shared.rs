//! Lists of which copies share what neither has changed: accounts differ in little of a large plan.

use std::ops::{Index, IndexMut};
use std::sync::Arc;

/// Elements that are copied together once one of them changes.
const TOGETHER: usize = 8;

/// A list of fixed length.
#[derive(Debug, Clone)]
pub(super) struct Shared<T>(Vec<Arc<[T]>>);

impl<T: Clone> Shared<T> {
    pub fn new(all: &[T]) -> Self {
        Self(all.chunks(TOGETHER).map(Arc::from).collect())
    }

    pub fn len(&self) -> usize {
        self.0.iter().map(|some| some.len()).sum()
    }

    pub fn iter(&self) -> impl Iterator<Item = &T> {
        self.0.iter().flat_map(|some| some.iter())
    }

    /// True if both are alike by `same`, which is true of what is shared.
    pub fn all_alike(&self, other: &Self, same: impl Fn(&T, &T) -> bool) -> bool {
        self.0.iter().zip(&other.0).all(|(own, its)| {
            Arc::ptr_eq(own, its) || own.iter().zip(its.iter()).all(|(own, its)| same(own, its))
        })
    }
}

impl<T> Index<usize> for Shared<T> {
    type Output = T;

    fn index(&self, index: usize) -> &T {
        &self.0[index / TOGETHER][index % TOGETHER]
    }
}

impl<T: Clone> IndexMut<usize> for Shared<T> {
    fn index_mut(&mut self, index: usize) -> &mut T {
        &mut Arc::make_mut(&mut self.0[index / TOGETHER])[index % TOGETHER]
    }
}
