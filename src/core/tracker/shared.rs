//! Lists of which copies share what neither has changed: accounts differ in little of a large plan.

use std::ops::{Deref, Index, IndexMut, Range};
use std::sync::Arc;

/// Elements that are copied together once one of them changes.
const TOGETHER: usize = 4;

/// A list of fixed length.
#[derive(Debug, Clone)]
pub(super) struct Shared<T>(Arc<[Arc<[T]>]>);

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

    /// True if both have the same at these places.
    pub fn same_at(&self, other: &Self, mut places: Range<usize>) -> bool
    where
        T: PartialEq,
    {
        let shared = |list: usize| Arc::ptr_eq(&self.0[list], &other.0[list]);
        places.all(|place| shared(place / TOGETHER) || self[place] == other[place])
    }

    /// True if both are alike by `same`, which is true of what is shared.
    pub fn all_alike(&self, other: &Self, same: impl Fn(&T, &T) -> bool) -> bool {
        self.0.iter().zip(other.0.iter()).all(|(own, its)| {
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
        let some = &mut Arc::make_mut(&mut self.0)[index / TOGETHER];
        &mut Arc::make_mut(some)[index % TOGETHER]
    }
}

/// Members of a group in some order: copied far more often than one is added.
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub(super) struct Row(Arc<[u16]>);

impl Row {
    pub fn push(&mut self, member: u16) {
        self.0 = self.0.iter().copied().chain([member]).collect();
    }

    pub fn clear(&mut self) {
        *self = Self::default();
    }
}

impl Deref for Row {
    type Target = [u16];

    fn deref(&self) -> &[u16] {
        &self.0
    }
}
