//! Values that keep within a width of each other, group by group.

use crate::simulation::{Bounds, LANES, Lanes};

/// Values that come one after the other, the first of them held. Those of a group keep within its
/// width of each other.
pub(super) struct Within {
    widths: Vec<f64>,
    /// The value that is held, and its groups.
    start: f64,
    starts: Vec<usize>,
    /// Of each value after it.
    groups: Vec<Groups>,
    /// The lowest and the highest of each group so far, once it has a value.
    ends: Vec<[Lanes; 2]>,
}

/// The groups of a value: those of which
#[derive(Debug, Clone, Default)]
struct Groups {
    /// it is the first, with others to come,
    opened: Vec<usize>,
    /// others come before it,
    bounding: Vec<usize>,
    /// and others come before and after it.
    kept: Vec<usize>,
}

impl Within {
    /// A number of values and their groups. A group is the places of its values in the order in
    /// which they come, two or more, ascending. Place 0 is that of the value that is held.
    pub(super) fn new(size: usize, start: f64, members: &[Vec<usize>], widths: Vec<f64>) -> Self {
        let mut groups = vec![Groups::default(); size];
        for (group, members) in members.iter().enumerate() {
            for (at, &member) in members.iter().enumerate() {
                let (first, last) = (at == 0, at + 1 == members.len());
                let of_value = &mut groups[member];
                if first {
                    of_value.opened.push(group);
                } else {
                    of_value.bounding.push(group);
                }
                if !first && !last {
                    of_value.kept.push(group);
                }
            }
        }
        let starts = groups.remove(0).opened;
        let ends = vec![[[start; LANES]; 2]; widths.len()];
        Self { widths, start, starts, groups, ends }
    }
}

impl Bounds for Within {
    #[inline(always)]
    fn clear(&mut self) {
        for &group in &self.starts {
            self.ends[group] = [[self.start; LANES]; 2];
        }
    }

    #[inline(always)]
    fn of(&self, at: usize) -> [Lanes; 2] {
        let [mut least, mut most] = [[f64::NEG_INFINITY; LANES], [f64::INFINITY; LANES]];
        for &group in &self.groups[at].bounding {
            let ([low, high], width) = (&self.ends[group], self.widths[group]);
            // No number here is NaN, which min and max would look for.
            for lane in 0..LANES {
                let (from, to) = (high[lane] - width, low[lane] + width);
                least[lane] = if from > least[lane] { from } else { least[lane] };
                most[lane] = if to < most[lane] { to } else { most[lane] };
            }
        }
        [least, most]
    }

    #[inline(always)]
    fn put(&mut self, at: usize, values: &Lanes) {
        let groups = &self.groups[at];
        for &group in &groups.opened {
            self.ends[group] = [*values; 2];
        }
        for &group in &groups.kept {
            let [low, high] = &mut self.ends[group];
            for lane in 0..LANES {
                low[lane] = low[lane].min(values[lane]);
                high[lane] = high[lane].max(values[lane]);
            }
        }
    }
}
