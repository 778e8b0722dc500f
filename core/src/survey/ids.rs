//! Names of points, in order.

use std::fmt;
use std::ops::Index;

/// Names of points, in order: as many as there are in a hall stand in one text.
#[derive(Clone, PartialEq, Eq, Default)]
pub struct Ids {
    text: String,
    /// Where each name ends.
    ends: Vec<usize>,
}

impl Ids {
    pub(super) fn new(ids: &[&str]) -> Self {
        let mut text = String::with_capacity(ids.iter().map(|id| id.len()).sum());
        let end = |id: &&str| {
            text.push_str(id);
            text.len()
        };
        let ends = ids.iter().map(end).collect();
        Self { text, ends }
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.ends.is_empty()
    }

    /// One after the other.
    pub fn iter(&self) -> impl ExactSizeIterator<Item = &str> {
        (0..self.len()).map(|at| &self[at])
    }

    /// The place of a name; none where no point has it.
    pub fn position(&self, id: &str) -> Option<usize> {
        self.iter().position(|other| other == id)
    }
}

impl Index<usize> for Ids {
    type Output = str;

    /// # Panics
    /// Behind the last name, as slices do.
    fn index(&self, at: usize) -> &str {
        let start = if at == 0 { 0 } else { self.ends[at - 1] };
        &self.text[start..self.ends[at]]
    }
}

impl fmt::Debug for Ids {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.iter()).finish()
    }
}
