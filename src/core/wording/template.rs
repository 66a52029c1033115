//! A sentence with places, held against a text.

/// A sentence with places: fixed words, and what stands between them.
pub(super) struct Template {
    name: &'static str,
    /// What comes before the first place.
    start: &'static str,
    /// Each place, and the fixed words behind it.
    places: Vec<(&'static str, &'static str)>,
}

impl Template {
    /// Of a line of a table, places written `{ $name }`.
    pub(super) fn new(name: &'static str, text: &'static str) -> Self {
        let mut pieces = text.split("{ $");
        let start = pieces.next().unwrap_or_default();
        let places = pieces.filter_map(|piece| piece.split_once(" }")).collect();
        Self { name, start, places }
    }

    /// Its name in the table.
    pub(super) fn name(&self) -> &'static str {
        self.name
    }

    /// How many octets of it are fixed.
    pub(super) fn fixed(&self) -> usize {
        self.start.len() + self.places.iter().map(|(_, behind)| behind.len()).sum::<usize>()
    }

    /// What stands in its places, if `text` is this sentence. Each place is as short as can be, the last takes
    /// what is left; none is empty.
    pub(super) fn take<'t>(&self, text: &'t str) -> Option<Vec<(&'static str, &'t str)>> {
        let mut rest = text.strip_prefix(self.start)?;
        let Some(((last, end), before)) = self.places.split_last() else {
            return rest.is_empty().then(Vec::new);
        };
        let mut taken = Vec::with_capacity(self.places.len());
        for (place, behind) in before {
            let (held, after) = rest.split_once(behind)?;
            taken.push((*place, held));
            rest = after;
        }
        taken.push((*last, rest.strip_suffix(end)?));
        taken.iter().all(|(_, held)| !held.is_empty()).then_some(taken)
    }
}
