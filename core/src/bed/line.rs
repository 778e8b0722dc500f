//! One direction of the mesh: cubic Hermite elements of one size on half a side of the slab, the
//! other half being its mirror image.
//!
//! An unknown is a value at a node or, times the size of an element, a slope there. What is even
//! about the middle has no slope there, and what is odd no value. The plate's elements are products
//! of two such lines (Bogner, Fox & Schmit 1965, from memory).

/// Nodes from the middle to the end, and what lies between them.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Line {
    /// Elements from the middle to the end.
    pub(super) elements: usize,
    /// Length of an element, mm.
    pub(super) size: f64,
}

/// What a function is asked for at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Asked {
    Value,
    Curvature,
    Slope,
}

/// A linear functional of an even or an odd function, such as its value at a place: a factor for
/// each of a run of unknowns.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Row {
    /// The first of the unknowns.
    pub(super) first: usize,
    /// The factors for an even function, and for an odd one.
    pub(super) factors: [Vec<f64>; 2],
}

/// Integrals over one element of products of its four functions, for an element of length 1.
pub(super) struct Products {
    /// Of the functions themselves.
    pub(super) values: [[f64; 4]; 4],
    /// Of their slopes.
    pub(super) slopes: [[f64; 4]; 4],
    /// Of their curvatures.
    pub(super) curvatures: [[f64; 4]; 4],
    /// Of the curvature of the first and the second itself.
    pub(super) mixed: [[f64; 4]; 4],
}

impl Products {
    pub(super) fn new() -> Self {
        let over = |by: f64, rows: [[f64; 4]; 4]| rows.map(|row| row.map(|value| value / by));
        let slopes = over(
            30.0,
            [
                [36.0, 3.0, -36.0, 3.0],
                [3.0, 4.0, -3.0, -1.0],
                [-36.0, -3.0, 36.0, -3.0],
                [3.0, -1.0, -3.0, 4.0],
            ],
        );
        // By parts: what the slope times the function is at the ends, less the product of slopes.
        let mut mixed = slopes.map(|row| row.map(|value: f64| -value));
        mixed[3][2] += 1.0;
        mixed[1][0] -= 1.0;
        Self {
            values: over(
                420.0,
                [
                    [156.0, 22.0, 54.0, -13.0],
                    [22.0, 4.0, 13.0, -3.0],
                    [54.0, 13.0, 156.0, -22.0],
                    [-13.0, -3.0, -22.0, 4.0],
                ],
            ),
            slopes,
            curvatures: [
                [12.0, 6.0, -12.0, 6.0],
                [6.0, 4.0, -6.0, 2.0],
                [-12.0, -6.0, 12.0, -6.0],
                [6.0, 2.0, -6.0, 4.0],
            ],
            mixed,
        }
    }
}

impl Line {
    /// Nodes.
    pub(super) fn nodes(&self) -> usize {
        self.elements + 1
    }

    /// What is asked for at a place, mm from the middle.
    pub(super) fn at(&self, place: f64, asked: Asked) -> Row {
        let (element, along) = self.find(place.abs());
        let by = match asked {
            Asked::Value => 1.0,
            Asked::Slope => 1.0 / self.size,
            Asked::Curvature => 1.0 / (self.size * self.size),
        };
        let near = functions(along, asked).map(|value| value * by);
        // On the other side of the middle an even function has the same value, the opposite slope
        // and the same curvature, and an odd one the opposite of these.
        let mirrored = if place < 0.0 { -1.0 } else { 1.0 };
        let signs = if asked == Asked::Slope { [mirrored, 1.0] } else { [1.0, mirrored] };
        Row { first: 2 * element, factors: signs.map(|sign| near.map(|it| it * sign).to_vec()) }
    }

    /// The integral over a stretch, mm from the middle.
    pub(super) fn over(&self, [from, to]: [f64; 2]) -> Row {
        let mut factors = [vec![0.0; 2 * self.nodes()], vec![0.0; 2 * self.nodes()]];
        let pieces = [([from.max(0.0), to], 1.0), ([(-to).max(0.0), -from], -1.0)];
        for ([from, to], sign) in pieces.into_iter().filter(|([from, to], _)| from < to) {
            let ((first, start), (last, end)) = (self.find(from), self.find(to));
            for element in first..=last {
                let start = if element == first { start } else { 0.0 };
                let end = if element == last { end } else { 1.0 };
                let (below, up) = (integrals(start), integrals(end));
                for at in 0..4 {
                    let part = (up[at] - below[at]) * self.size;
                    factors[0][2 * element + at] += part;
                    factors[1][2 * element + at] += sign * part;
                }
            }
        }
        Row { first: 0, factors }
    }

    /// The element at a distance from the middle, and how far along it, 0 to 1.
    pub(super) fn find(&self, distance: f64) -> (usize, f64) {
        let along = distance / self.size;
        let element = (along as usize).min(self.elements - 1);
        (element, (along - element as f64).clamp(0.0, 1.0))
    }
}

/// The four functions of an element of length 1.
fn functions(at: f64, asked: Asked) -> [f64; 4] {
    let square = at * at;
    match asked {
        Asked::Value => {
            let cube = square * at;
            [
                1.0 - 3.0 * square + 2.0 * cube,
                at - 2.0 * square + cube,
                3.0 * square - 2.0 * cube,
                cube - square,
            ]
        }
        Asked::Slope => [
            6.0 * square - 6.0 * at,
            1.0 - 4.0 * at + 3.0 * square,
            6.0 * at - 6.0 * square,
            3.0 * square - 2.0 * at,
        ],
        Asked::Curvature => [12.0 * at - 6.0, 6.0 * at - 4.0, 6.0 - 12.0 * at, 6.0 * at - 2.0],
    }
}

/// Their integrals from 0.
fn integrals(to: f64) -> [f64; 4] {
    let (square, cube) = (to * to, to * to * to);
    let fourth = square * square;
    [
        to - cube + 0.5 * fourth,
        0.5 * square - 2.0 / 3.0 * cube + 0.25 * fourth,
        cube - 0.5 * fourth,
        0.25 * fourth - cube / 3.0,
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINE: Line = Line { elements: 3, size: 40.0 };

    /// Unknowns of a function and its slope on the right half.
    fn unknowns(of: impl Fn(f64) -> [f64; 2]) -> Vec<f64> {
        let node = |at: usize| of(at as f64 * LINE.size);
        (0..LINE.nodes()).flat_map(|at| [node(at)[0], node(at)[1] * LINE.size]).collect()
    }

    fn apply(row: &Row, parity: usize, unknowns: &[f64]) -> f64 {
        row.factors[parity].iter().zip(&unknowns[row.first..]).map(|(by, of)| by * of).sum()
    }

    #[test]
    fn cubics_on_each_half_are_exact() {
        // Even: 2 + x², odd: x + x³; exact since each half is a cubic.
        let even = unknowns(|x| [2.0 + x * x, 2.0 * x]);
        let odd = unknowns(|x| [x + x * x * x, 1.0 + 3.0 * x * x]);
        for x in [-120.0, -77.0, -40.0, -3.5, 0.0, 1.0, 39.0, 80.0, 120.0] {
            let near = |row: &Row, parity, of: &[f64], expected: f64| {
                let got = apply(row, parity, of);
                assert!((got - expected).abs() < 1e-9 * (1.0 + expected.abs()), "{x}: {got}");
            };
            let row = LINE.at(x, Asked::Value);
            near(&row, 0, &even, 2.0 + x * x);
            near(&row, 1, &odd, x + x * x * x);
            let row = LINE.at(x, Asked::Slope);
            near(&row, 0, &even, 2.0 * x);
            near(&row, 1, &odd, 1.0 + 3.0 * x * x);
            let row = LINE.at(x, Asked::Curvature);
            near(&row, 0, &even, 2.0);
            near(&row, 1, &odd, 6.0 * x);
            let row = LINE.over([-50.0, x.max(-49.0)]);
            let to = x.max(-49.0);
            let even_integral = |x: f64| 2.0 * x + x * x * x / 3.0;
            let odd_integral = |x: f64| x * x / 2.0 + x.powi(4) / 4.0;
            near(&row, 0, &even, even_integral(to) - even_integral(-50.0));
            near(&row, 1, &odd, odd_integral(to) - odd_integral(-50.0));
        }
    }

    #[test]
    fn products_are_the_integrals() {
        let products = Products::new();
        // Gauss's rule of four points is exact up to the seventh power.
        let (a, b) = (0.861_136_311_594_052_6, 0.339_981_043_584_856_3);
        let (u, v) = (0.347_854_845_137_453_85, 0.652_145_154_862_546_1);
        for (i, k) in (0..4).flat_map(|i| (0..4).map(move |k| (i, k))) {
            let integral = |first: Asked, second: Asked| -> f64 {
                [(-a, u), (-b, v), (b, v), (a, u)]
                    .iter()
                    .map(|&(at, weight)| {
                        let at = 0.5 + 0.5 * at;
                        0.5 * weight * functions(at, first)[i] * functions(at, second)[k]
                    })
                    .sum()
            };
            for (got, expected) in [
                (products.values, integral(Asked::Value, Asked::Value)),
                (products.slopes, integral(Asked::Slope, Asked::Slope)),
                (products.curvatures, integral(Asked::Curvature, Asked::Curvature)),
                (products.mixed, integral(Asked::Curvature, Asked::Value)),
            ] {
                assert!((got[i][k] - expected).abs() < 1e-12, "{i} {k}: {} {expected}", got[i][k]);
            }
        }
    }
}
