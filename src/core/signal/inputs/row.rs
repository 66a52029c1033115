//! Many figures in a row.

/// Figures put together one after the other.
pub(super) struct Row<const N: usize> {
    pub figures: [f64; N],
    count: usize,
}

impl<const N: usize> Row<N> {
    pub fn new() -> Self {
        Self { figures: [0.0; N], count: 0 }
    }

    pub fn add<const M: usize>(&mut self, figures: [f64; M]) {
        let room = self.figures.get_mut(self.count..self.count + M);
        debug_assert!(room.is_some(), "{M} figures after {} do not fit into {N}", self.count);
        if let Some(room) = room {
            room.copy_from_slice(&figures);
        }
        self.count += M;
    }
}
