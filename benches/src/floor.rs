//! Floors: where supports stand, and how high.

use truebed::{Length, Limits, Shim, ShimProblem, Support};
use truebed_tests::random::Random;

/// Nanometres in a millimetre.
pub const MM: i64 = 1_000_000;

/// Places and heights of supports in nanometres.
#[derive(Debug, Clone)]
pub struct Floor {
    /// Along and across the bed.
    pub xy: Vec<[i64; 2]>,
    /// The height of each.
    pub heights: Vec<i64>,
}

impl Floor {
    /// A support at every crossing of these places, in millimetres, one crosswise line after the
    /// other; all at height zero.
    fn crossings(xs: impl IntoIterator<Item = i64>, ys: &[i64]) -> Self {
        let xy: Vec<_> =
            xs.into_iter().flat_map(|x| ys.iter().map(move |y| [x * MM, y * MM])).collect();
        Self { heights: vec![0; xy.len()], xy }
    }

    /// Two rows of legs, 1.25 m apart, spread over 2.5 m.
    pub fn legs(count: i64) -> Self {
        let columns = count / 2;
        Self::crossings((0..columns).map(|at| at * 2500 / (columns - 1)), &[0, 1250])
    }

    /// Three slates side by side on 2.5 × 1.25 m, each with two crosswise lines of this many
    /// points.
    pub fn slates(rows: i64) -> Self {
        let ys: Vec<i64> = (0..rows).map(|at| 60 + at * 1130 / (rows - 1)).collect();
        Self::crossings([60, 773, 893, 1606, 1726, 2439], &ys)
    }

    /// So many slates 0.83 m long side by side, each with two crosswise lines of this many points.
    pub fn row_of_slates(slates: i64, rows: i64) -> Self {
        let ys: Vec<i64> = (0..rows).map(|at| 60 + at * 1130 / (rows - 1)).collect();
        Self::crossings((0..slates).flat_map(|at| [at * 833 + 60, at * 833 + 773]), &ys)
    }

    /// Lines of ten supports, half a metre apart.
    pub fn field(count: i64) -> Self {
        let ys: Vec<i64> = (0..10).map(|at| at * 500).collect();
        Self::crossings((0..count / 10).map(|at| at * 500), &ys)
    }

    /// The pairs of points that face each other over the joints of [`Floor::slates`].
    pub fn joints(rows: usize) -> Vec<[usize; 2]> {
        Self::joints_of(3, rows)
    }

    /// The same for so many slates.
    pub fn joints_of(slates: usize, rows: usize) -> Vec<[usize; 2]> {
        let pair = |row: usize, slate: usize| {
            let column = 2 * slate - 1;
            [column * rows + row, (column + 1) * rows + row]
        };
        (0..rows).flat_map(|row| (1..slates).map(move |slate| pair(row, slate))).collect()
    }

    /// With heights from `-depth` mm to zero, to the nanometre.
    pub fn uneven(mut self, depth: i64, random: &mut Random) -> Self {
        for height in &mut self.heights {
            *height = random.between(-depth * MM, 0);
        }
        self
    }

    /// With heights from `-depth` to zero, in whole micrometres.
    pub fn in_microns(mut self, depth: i64, random: &mut Random) -> Self {
        self.heights.iter_mut().for_each(|height| *height = random.between(-depth, 0) * 1000);
        self
    }

    /// On a floor that leans and twists by up to `depth` micrometres from end to end, with an
    /// eighth of that as unevenness: another sort of floor than one where every place is by chance.
    pub fn leaning(mut self, depth: i64, random: &mut Random) -> Self {
        let [along, across, twist] = [0; 3].map(|_| random.between(-depth / 2, depth / 2));
        for (height, &[x, y]) in self.heights.iter_mut().zip(&self.xy) {
            let (x, y) = (x / MM, y / MM); // of some 2500 and 1250
            let lean = along * x / 2500 + across * y / 1250 + twist * x * y / (2500 * 1250);
            *height = (lean + random.between(-depth / 8, 0)) * 1000;
        }
        self
    }

    /// With these heights.
    pub fn with_heights(self, heights: Vec<i64>) -> Self {
        Self { heights, ..self }
    }

    /// The problem of levelling this floor to a ± of so many nanometres overall.
    pub fn problem(self, stock: Vec<Shim>, overall: i64) -> ShimProblem {
        let supports = self.xy.iter().zip(&self.heights).map(|(&[x, y], &height)| Support {
            x: Length::from_nm(x),
            y: Length::from_nm(y),
            height: Length::from_nm(height),
        });
        ShimProblem::new(supports.collect(), stock, Limits::overall(Length::from_nm(overall)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn joints_face_each_other() {
        let floor = Floor::slates(4);
        assert_eq!(floor.xy.len(), 24);
        let joints = Floor::joints(4);
        assert_eq!(joints.len(), 8);
        for [a, b] in joints {
            assert_eq!(floor.xy[a][1], floor.xy[b][1]);
            assert_eq!(floor.xy[b][0] - floor.xy[a][0], 120 * MM);
        }
    }
}
