//! Where it is known which supports touch, forces and surface are linear in the tops.

use nalgebra::{DMatrix, DVector};

use super::laid::Laid;

/// Numbers that are linear in the tops: what each is with all tops at 0, and what it gains with each
/// of them.
#[derive(Debug, Clone)]
pub(super) struct Linear {
    /// Force of each support, N.
    pub(super) forces: Vec<Row>,
    /// Gap over each support that the slab clears, mm.
    pub(super) gaps: Vec<Row>,
    /// The slab's underside at each support and then at each further place, mm.
    pub(super) surface: Vec<Row>,
}

impl Linear {
    /// A stack that lifts a point and no slab.
    pub(super) fn point() -> Self {
        let surface = vec![Row { at_zero: 0.0, by: vec![1.0] }];
        Self { forces: Vec::new(), gaps: Vec::new(), surface }
    }

    /// Supports that it is about.
    pub(super) fn supports(&self) -> usize {
        self.surface[0].by.len()
    }
}

/// A number that is linear in the tops.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    pub(super) at_zero: f64,
    pub(super) by: Vec<f64>,
}

impl Row {
    pub(super) fn at(&self, tops: &[f64]) -> f64 {
        self.at_zero + self.by.iter().zip(tops).map(|(by, top)| by * top).sum::<f64>()
    }
}

/// The slab with some supports clear and all others touching, whether their forces push or pull.
/// None where the others do not hold it.
pub(super) fn linear(laid: &Laid, clear: &[usize], places: &[[f64; 2]]) -> Option<Linear> {
    let count = laid.supports.len();
    let mesh = &laid.mesh;
    let resists = DMatrix::from_fn(clear.len(), clear.len(), |row, column| {
        mesh.inverse[(clear[row], clear[column])]
    });
    let least = (0..clear.len()).map(|at| resists[(at, at)]).fold(f64::INFINITY, f64::min);
    let factor = resists.cholesky()?;
    let pivots = factor.l_dirty().diagonal().map(|root| root * root);
    if !clear.is_empty() && pivots.min() < 1e-9 * least {
        return None;
    }
    let bent: Vec<Vec<f64>> = places
        .iter()
        .map(|&place| {
            let mut row = vec![0.0; count + 1];
            mesh.plate.measure(&mesh.plate.height(place), &mesh.shapes, &mut row);
            row
        })
        .collect();
    // Forces, gaps and surface for any tops.
    let of = |tops: &[f64]| -> [Vec<f64>; 3] {
        let mut forces = mesh.all_touching(laid, tops);
        let pressed = DVector::from_iterator(
            clear.len(),
            clear.iter().map(|&at| -forces[at] - laid.supports[at].pull_n),
        );
        let found = factor.solve(&pressed);
        let mut gaps = vec![0.0; count];
        clear.iter().zip(found.iter()).for_each(|(&at, &gap)| gaps[at] = gap);
        for (at, force) in forces.iter_mut().enumerate() {
            *force += clear.iter().map(|&of| mesh.inverse[(at, of)] * gaps[of]).sum::<f64>();
        }
        let lies = [0, 1, 2].map(|way| mesh.solved(count + way, laid, tops, |at| gaps[at]));
        let gives = |at: usize| {
            laid.supports[at].stiffness_n_per_mm.map_or(0.0, |stiffness| forces[at] / stiffness)
        };
        let mut surface: Vec<f64> = (0..count).map(|at| tops[at] - gives(at) + gaps[at]).collect();
        for (place, bent) in places.iter().zip(&bent) {
            let bends: f64 = forces.iter().zip(bent).map(|(force, by)| force * by).sum();
            let whole: f64 = lies.iter().zip(laid.rigid(*place)).map(|(lies, by)| lies * by).sum();
            surface.push(bends - bent[count] + whole);
        }
        [forces, clear.iter().map(|&at| gaps[at]).collect(), surface]
    };
    let zero = of(&vec![0.0; count]);
    let each: Vec<[Vec<f64>; 3]> = (0..count)
        .map(|at| {
            let mut tops = vec![0.0; count];
            tops[at] = 1.0;
            of(&tops)
        })
        .collect();
    let rows = |which: usize| -> Vec<Row> {
        let of_row = |row: usize| {
            let at_zero = zero[which][row];
            Row { at_zero, by: each.iter().map(|it| it[which][row] - at_zero).collect() }
        };
        (0..zero[which].len()).map(of_row).collect()
    };
    Some(Linear { forces: rows(0), gaps: rows(1), surface: rows(2) })
}
