//! What was worked out already: much of what one pull could have been is equally likely, fastener by fastener.

/// Likelihoods by all that they depend on.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::core::tracker) struct Known<K>(Vec<(K, f64)>);

impl<K> Default for Known<K> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<K: PartialEq> Known<K> {
    /// Nothing is known any more.
    pub fn forget(&mut self) {
        self.0.clear();
    }

    /// The likelihood on this ground, which `work_out` tells the first time.
    pub fn of(&mut self, ground: K, work_out: impl FnOnce(&K) -> f64) -> f64 {
        if let Some((_, ln)) = self.0.iter().find(|(known, _)| *known == ground) {
            return *ln;
        }
        let ln = work_out(&ground);
        self.0.push((ground, ln));
        ln
    }
}
