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
        let room = self.figures.iter_mut().skip(self.count);
        for (to, from) in room.zip(figures) {
            *to = from;
        }
        self.count += M;
        debug_assert!(self.count <= N, "{} figures do not fit into {N}", self.count);
    }
}
