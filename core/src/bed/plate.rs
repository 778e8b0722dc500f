//! A free elastic plate, factored once.
//!
//! A rectangle has two lines of symmetry. Whatever acts on it is a sum of four parts, even or odd
//! about either line, and each part is a problem of its own on a quarter of the plate: a quarter of
//! the unknowns, and results that mirror where the input does. Three of the four can move without
//! bending: up, and about either line. Each of these is held at the middle, which does no harm, as
//! what acts is in equilibrium whenever a result is read.
//!
//! Elements are those of Bogner, Fox & Schmit (1965, from memory): products of the cubics of
//! [`Line`], so rows for places, loads and curvatures are products too.

use super::band::Band;
use super::line::{Asked, Line, Products, Row};
use super::slab::Slab;

/// The parts: even (0) or odd (1) along and across.
const PARTS: [[usize; 2]; 4] = [[0, 0], [1, 0], [0, 1], [1, 1]];

/// A factored plate.
#[derive(Debug)]
pub(super) struct Plate {
    middle: [f64; 2],
    pub(super) lines: [Line; 2],
    factors: [Band; 4],
}

/// A linear functional of the plate's shape: a product along and across.
#[derive(Debug, Clone)]
pub(super) struct Functional {
    along: Row,
    across: Row,
}

/// Shapes of the plate, one a load.
#[derive(Debug)]
pub(super) struct Shapes {
    pub(super) count: usize,
    /// Of each part one row an unknown.
    parts: [Vec<f64>; 4],
}

impl Plate {
    /// The plate on a mesh of so many elements from the middle to the end, along and across; none
    /// where its stiffness is beyond the arithmetic.
    pub(super) fn new(slab: &Slab, elements: [usize; 2]) -> Option<Self> {
        let sides = slab.sides();
        let line = |axis: usize| {
            let elements = elements[axis];
            Line { elements, size: 0.5 * sides[axis] / elements as f64 }
        };
        let lines = [line(0), line(1)];
        let size = 4 * lines[0].nodes() * lines[1].nodes();
        let reach = 4 * (lines[0].nodes().min(lines[1].nodes()) + 1) + 3;
        let mut whole = Band::new(size, reach.min(size - 1));
        let element = element(slab, &lines);
        for (ex, ey) in (0..elements[0]).flat_map(|ex| (0..elements[1]).map(move |ey| (ex, ey))) {
            let place = |at: usize| index(&lines, 2 * ex + at / 4, 2 * ey + at % 4);
            for (row, column) in (0..16).flat_map(|row| (0..16).map(move |column| (row, column))) {
                let (down, over) = (place(row), place(column));
                if down >= over {
                    whole.add(down, over, element[row][column]);
                }
            }
        }
        let mut good = true;
        let factors = PARTS.map(|part| {
            let mut factor = whole.clone();
            held(&lines, part).for_each(|unknown| factor.hold(unknown));
            good &= factor.factor();
            factor
        });
        good.then_some(Self { middle: slab.middle(), lines, factors })
    }

    /// Elements of the whole plate along and across.
    pub(super) fn elements(&self) -> [usize; 2] {
        self.lines.map(|line| 2 * line.elements)
    }

    /// Its height at a place, or what else is asked for there along and across.
    pub(super) fn at(&self, xy: [f64; 2], asked: [Asked; 2]) -> Functional {
        let place = |axis: usize| self.lines[axis].at(xy[axis] - self.middle[axis], asked[axis]);
        Functional { along: place(0), across: place(1) }
    }

    /// Its height at a place.
    pub(super) fn height(&self, xy: [f64; 2]) -> Functional {
        self.at(xy, [Asked::Value; 2])
    }

    /// Its mean height over a rectangle.
    pub(super) fn mean(&self, x: [f64; 2], y: [f64; 2]) -> Functional {
        let over = |axis: usize, stretch: [f64; 2]| {
            let mut row = self.lines[axis].over(stretch.map(|at| at - self.middle[axis]));
            let by = stretch[1] - stretch[0];
            row.factors.iter_mut().flatten().for_each(|factor| *factor /= by);
            row
        };
        Functional { along: over(0, x), across: over(1, y) }
    }

    /// The shapes under loads: each so many newtons upwards in the way that a functional measures
    /// heights, and so on.
    pub(super) fn shapes(&self, loads: &[Vec<(f64, Functional)>]) -> Shapes {
        let count = loads.len();
        let size = 4 * self.lines[0].nodes() * self.lines[1].nodes();
        let part = |at: usize| {
            let mut shapes = vec![0.0; size * count];
            for (side, load) in loads.iter().enumerate() {
                for (newtons, functional) in load {
                    functional.each(&self.lines, PARTS[at], |unknown, factor| {
                        shapes[unknown * count + side] += newtons * factor;
                    });
                }
            }
            for unknown in held(&self.lines, PARTS[at]) {
                shapes[unknown * count..][..count].fill(0.0);
            }
            self.factors[at].solve(&mut shapes, count);
            shapes
        };
        Shapes { count, parts: [part(0), part(1), part(2), part(3)] }
    }

    /// What a functional measures of each shape, added to `into`.
    pub(super) fn measure(&self, functional: &Functional, shapes: &Shapes, into: &mut [f64]) {
        for (part, of_part) in PARTS.into_iter().zip(&shapes.parts) {
            functional.each(&self.lines, part, |unknown, factor| {
                let row = &of_part[unknown * shapes.count..][..shapes.count];
                into.iter_mut().zip(row).for_each(|(into, value)| *into += factor * value);
            });
        }
    }

    /// Value, slope or curvature at a place, for three functions at once, from the values, slopes
    /// and twist at the nodes around it.
    pub(super) fn sampled(
        &self,
        xy: [f64; 2],
        asked: [[Asked; 2]; 3],
        at_node: impl Fn([f64; 2]) -> [f64; 4],
    ) -> [f64; 3] {
        let [a, b] = self.lines;
        let place = [xy[0] - self.middle[0], xy[1] - self.middle[1]];
        let signs = place.map(|at| if at < 0.0 { -1.0 } else { 1.0 });
        let (ex, ey) = (a.find(place[0].abs()).0, b.find(place[1].abs()).0);
        let mut sums = [0.0; 3];
        // As the nodes of the mirror image in the positive quarter have it.
        let rows = asked
            .map(|[along, across]| [a.at(place[0].abs(), along), b.at(place[1].abs(), across)]);
        for node in 0..4 {
            let [x, y] = [ex + node / 2, ey + node % 2];
            let node_at = [
                self.middle[0] + signs[0] * a.size * x as f64,
                self.middle[1] + signs[1] * b.size * y as f64,
            ];
            let [value, along, across, twist] = at_node(node_at);
            let unknowns = [
                [value, across * signs[1] * b.size],
                [along * signs[0] * a.size, twist * signs[0] * signs[1] * a.size * b.size],
            ];
            for (sum, [row_x, row_y]) in sums.iter_mut().zip(&rows) {
                let (x, y) =
                    (&row_x.factors[0][2 * (node / 2)..], &row_y.factors[0][2 * (node % 2)..]);
                for (i, of_i) in unknowns.iter().enumerate() {
                    *sum += x[i] * (y[0] * of_i[0] + y[1] * of_i[1]);
                }
            }
        }
        let slopes = asked.map(|ways| {
            ways.iter()
                .zip(signs)
                .map(|(&way, sign)| if way == Asked::Slope { sign } else { 1.0 })
                .product::<f64>()
        });
        [sums[0] * slopes[0], sums[1] * slopes[1], sums[2] * slopes[2]]
    }

    /// One shape that is the sum of these, each so many times.
    pub(super) fn sum(&self, shapes: &Shapes, times: &[f64]) -> Shapes {
        let of = |part: &Vec<f64>| {
            let sum = |row: &[f64]| row.iter().zip(times).map(|(it, by)| it * by).sum();
            part.chunks_exact(shapes.count).map(sum).collect()
        };
        let [a, b, c, d] = &shapes.parts;
        Shapes { count: 1, parts: [of(a), of(b), of(c), of(d)] }
    }
}

impl Functional {
    fn each(
        &self,
        lines: &[Line; 2],
        [along, across]: [usize; 2],
        mut use_it: impl FnMut(usize, f64),
    ) {
        for (x, by_x) in self.along.factors[along].iter().enumerate() {
            for (y, by_y) in self.across.factors[across].iter().enumerate() {
                let factor = by_x * by_y;
                if factor != 0.0 {
                    use_it(index(lines, self.along.first + x, self.across.first + y), factor);
                }
            }
        }
    }
}

/// Where the product of two unknowns of the lines stands: the four of a node together, nodes by
/// the line that has fewer.
fn index(lines: &[Line; 2], along: usize, across: usize) -> usize {
    let (x, y) = (along / 2, across / 2);
    let node = match lines[1].elements <= lines[0].elements {
        true => x * lines[1].nodes() + y,
        false => y * lines[0].nodes() + x,
    };
    4 * node + 2 * (along % 2) + across % 2
}

/// Unknowns that are 0 in a part, and the one that holds it where it could move without bending.
fn held(lines: &[Line; 2], [along, across]: [usize; 2]) -> impl Iterator<Item = usize> + use<> {
    let lines = *lines;
    // In the middle an even function has no slope, which is the second unknown of its node, and an
    // odd one no value, the first.
    let along_middle = (0..2 * lines[1].nodes()).map(move |y| index(&lines, 1 - along, y));
    let across_middle = (0..2 * lines[0].nodes()).map(move |x| index(&lines, x, 1 - across));
    let rigid = (along * across == 0).then(|| index(&lines, along, across));
    along_middle.chain(across_middle).chain(rigid)
}

/// The stiffness of an element, times the four quarters that it stands for.
fn element(slab: &Slab, lines: &[Line; 2]) -> [[f64; 16]; 16] {
    let products = Products::new();
    let [a, b] = lines.map(|line| line.size);
    let stiffness = 4.0 * slab.stiffness_n_mm();
    let nu = slab.nu;
    let mut element = [[0.0; 16]; 16];
    for (row, values) in element.iter_mut().enumerate() {
        for (column, value) in values.iter_mut().enumerate() {
            let ([i, j], [k, l]) = ([row / 4, row % 4], [column / 4, column % 4]);
            let Products { values, slopes, curvatures, mixed } = &products;
            // w_xx² and w_yy², then 2 ν w_xx w_yy, then 2 (1 − ν) w_xy².
            let along = curvatures[i][k] * values[j][l] * b / (a * a * a);
            let across = values[i][k] * curvatures[j][l] * a / (b * b * b);
            let both = mixed[i][k] * mixed[l][j] + mixed[k][i] * mixed[j][l];
            let twist = 2.0 * (1.0 - nu) * slopes[i][k] * slopes[j][l];
            *value = stiffness * (along + across + (nu * both + twist) / (a * b));
        }
    }
    element
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two equal and opposite pairs of forces on the corners twist a free plate into
    /// w = P x y / 2 D (1 − ν) exactly (Timoshenko & Woinowsky-Krieger §11, from memory).
    #[test]
    fn a_twisted_plate() {
        let slab = Slab::new([-300.0, 500.0], [100.0, 700.0], 20.0, 50.0, 0.25, 2800.0);
        for elements in [[1, 1], [2, 3], [3, 2]] {
            let plate = Plate::new(&slab, elements).unwrap();
            let corners = [[-300.0, 100.0], [500.0, 100.0], [500.0, 700.0], [-300.0, 700.0]];
            let loads = corners.map(|corner| vec![(1.0, plate.height(corner))]);
            let shapes = plate.shapes(&loads);
            let force = 10.0;
            let shape = plate.sum(&shapes, &[force, -force, force, -force]);
            for [x, y] in [[-300.0, 100.0], [500.0, 100.0], [0.0, 0.0 + 100.0], [400.0, 333.0]] {
                let mut height = [0.0];
                plate.measure(&plate.height([x, y]), &shape, &mut height);
                let by = force / (2.0 * slab.stiffness_n_mm() * (1.0 - slab.nu));
                let expected = by * (x - 100.0) * (y - 400.0);
                assert!((height[0] - expected).abs() < 1e-12, "{} {expected}", height[0]);
            }
        }
    }

    /// The energy of w = x² y² against the integral.
    #[test]
    fn the_energy_of_a_cubic() {
        let slab = Slab::new([-40.0, 40.0], [-30.0, 30.0], 5.0, 30.0, 0.3, 2800.0);
        let lines = [Line { elements: 1, size: 40.0 }, Line { elements: 1, size: 30.0 }];
        let stiffness = element(&slab, &lines);
        // w = x² y²: w_xx = 2 y², w_yy = 2 x², w_xy = 4 x y. On the quarter from 0 to a and b, with
        // twice the energy D ∫ w_xx² + w_yy² + 2 ν w_xx w_yy + 2 (1 − ν) w_xy².
        let (a, b) = (40.0_f64, 30.0_f64);
        let twice = 4.0 * a * b.powi(5) / 5.0
            + 4.0 * b * a.powi(5) / 5.0
            + 2.0 * slab.nu * 4.0 * (a * b).powi(3) / 9.0
            + 2.0 * (1.0 - slab.nu) * 16.0 * (a * b).powi(3) / 9.0;
        let square = |size: f64| [0.0, 0.0, size * size, 2.0 * size * size];
        let (x, y) = (square(a), square(b));
        let unknown = |at: usize| x[at / 4] * y[at % 4];
        let energy: f64 = (0..256)
            .map(|at| unknown(at / 16) * stiffness[at / 16][at % 16] * unknown(at % 16))
            .sum();
        let expected = 4.0 * slab.stiffness_n_mm() * twice;
        assert!((energy / expected - 1.0).abs() < 1e-12, "{energy} {expected}");
    }
}
