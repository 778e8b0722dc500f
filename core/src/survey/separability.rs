//! In which readings a blunder cannot be told apart from one in another.
//!
//! A blunder in reading *i* moves all normalised residuals w, that of reading *j* by the part ρᵢⱼ of
//! what it moves its own by, and ρᵢⱼ is the correlation of the two: with the cofactors
//! Q = P⁻¹ − A N⁻¹ Aᵀ of the residuals, ρᵢⱼ = Qᵢⱼ / √(Qᵢᵢ Qⱼⱼ). Where |ρ| is 1 the two tests always
//! agree, and no data can say which of the two readings is wrong. (Separability: Förstner 1983, from
//! memory; the correlation of outlier statistics: Rofatto et al., Remote Sensing 12 (2020) 860.)

use super::heights::{Heights, Solved};

/// How well a blunder in one reading can be told from one in another.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Separability {
    /// The reading from which a blunder is hardest to tell, by index.
    pub other: usize,
    /// Correlation of the normalised residuals of both, from −1 to 1; at ±1 nothing can tell them
    /// apart.
    pub correlation: f64,
}

/// Readings of which one is suspected to hold a blunder, and no data can say which.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct SuspectGroup {
    /// The readings by index, ascending; one alone where the others tell it from all.
    pub readings: Vec<usize>,
    /// About how large the blunder is, mm, whatever its sign; over its span for a slope. It is that
    /// of the first suspect among them.
    pub blunder_mm: f64,
}

/// A correlation nearer to ±1 than this is ±1 but for rounding.
const ROUNDING: f64 = 1e-6;

impl Heights {
    /// For each reading the one from which a blunder in it is hardest to tell; none where nothing
    /// checks the reading, and for readings left out. It is computed when it is asked for: of m
    /// readings it takes about m² steps.
    pub fn separability(&self) -> Vec<Option<Separability>> {
        let spreads = self.spreads();
        (0..self.residuals_mm.len()).map(|at| self.hardest_to_tell(at, &spreads)).collect()
    }

    /// The same for one reading, by index; none for one that is not there.
    pub fn separability_of(&self, reading: usize) -> Option<Separability> {
        self.hardest_to_tell(reading, &self.spreads())
    }

    fn hardest_to_tell(&self, reading: usize, spreads: &[f64]) -> Option<Separability> {
        let correlations = self.solved.correlations(reading, spreads)?;
        let others = correlations.into_iter().filter(|(other, _)| *other != reading);
        let (other, correlation) =
            others.max_by(|(a, x), (b, y)| x.abs().total_cmp(&y.abs()).then(b.cmp(a)))?;
        Some(Separability { other, correlation })
    }

    /// The suspects in groups, the worst first. The readings of a group all explain the residuals
    /// equally well: read all of them again, and leave none out by chance.
    pub fn suspect_groups(&self) -> Vec<SuspectGroup> {
        /// As many as a person looks into.
        const MOST: usize = 20;
        let spreads = self.spreads();
        let mut groups: Vec<SuspectGroup> = Vec::new();
        for &suspect in &self.suspects {
            if groups.len() == MOST || groups.iter().any(|group| group.readings.contains(&suspect))
            {
                continue;
            }
            let Some(correlations) = self.solved.correlations(suspect, &spreads) else { continue };
            let alike = correlations.into_iter().filter(|(_, by)| by.abs() > 1.0 - ROUNDING);
            let mut readings: Vec<usize> = alike.map(|(reading, _)| reading).collect();
            if !readings.contains(&suspect) {
                readings.push(suspect);
            }
            readings.sort_unstable();
            let blunder_mm = (self.residuals_mm[suspect] / self.redundancy[suspect]).abs();
            groups.push(SuspectGroup { readings, blunder_mm });
        }
        groups
    }

    /// √r σ of each reading, from its normalised residual; 0 where nothing checks it.
    fn spreads(&self) -> Vec<f64> {
        let mut spreads = vec![0.0; self.residuals_mm.len()];
        for row in &self.solved.equations {
            if let Some(reading) = row.reading {
                spreads[reading] = row.sigma * self.redundancy[reading].sqrt();
            }
        }
        spreads
    }
}

impl Solved {
    /// Correlation of the normalised residual of a reading with those of all readings that others
    /// check; none where nothing checks it.
    fn correlations(&self, reading: usize, spreads: &[f64]) -> Option<Vec<(usize, f64)>> {
        let own = self.equations.iter().find(|row| row.reading == Some(reading))?;
        let spread = spreads[reading];
        if spread == 0.0 {
            return None;
        }
        let mut solved = vec![0.0; self.factor.size() + 1];
        own.terms.iter().for_each(|&(node, by)| solved[self.nodes[node]] += by);
        let size = self.factor.size();
        self.factor.solve(&mut solved[..size]);
        solved[size] = 0.0;
        let of = |row: &super::network::Row| {
            let other = row.reading.filter(|&other| spreads[other] > 0.0)?;
            let shared: f64 =
                row.terms.iter().map(|&(node, by)| by * solved[self.nodes[node]]).sum();
            let own = if other == reading { row.sigma * row.sigma } else { 0.0 };
            Some((other, ((own - shared) / (spread * spreads[other])).clamp(-1.0, 1.0)))
        };
        Some(self.equations.iter().filter_map(of).collect())
    }
}
