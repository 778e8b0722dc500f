//! A part of all plans: how many pieces of each kind each support may get.

/// The least and the greatest number of pieces of each kind under each support, by their indices in
/// the problem.
#[derive(Debug, Clone)]
pub(super) struct Pieces {
    kinds: usize,
    of: Vec<[u32; 2]>,
}

impl Pieces {
    /// Every number of pieces, under so many supports of so many kinds.
    pub(super) fn all(supports: usize, kinds: usize) -> Self {
        Self { kinds, of: vec![[0, u32::MAX]; supports * kinds] }
    }

    /// From how many to how many.
    pub(super) fn of(&self, support: usize, kind: usize) -> [u32; 2] {
        self.of[support * self.kinds + kind]
    }

    /// Whether a support may get so many of a kind.
    pub(super) fn admit(&self, support: usize, kind: usize, count: u32) -> bool {
        let [from, to] = self.of(support, kind);
        (from..=to).contains(&count)
    }

    /// The part in up to three: fewer pieces than this number under a support, just so many, and
    /// more.
    pub(super) fn split(&self, support: usize, kind: usize, at: u32) -> Vec<Self> {
        let [from, to] = self.of(support, kind);
        let below = at.checked_sub(1).filter(|&below| from <= below).map(|below| [from, below]);
        let above = at.checked_add(1).filter(|&above| above <= to).map(|above| [above, to]);
        let part = |range| {
            let mut part = self.clone();
            part.of[support * self.kinds + kind] = range;
            part
        };
        [below, Some([at, at]), above].into_iter().flatten().map(part).collect()
    }
}
