//! Loops of readings, and by how much they fail to close.

use std::collections::VecDeque;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::heights::{Heights, Solved};
use super::network::{GROUND, Row};

/// A loop of readings from a point back to itself, or from one fixed height to another.
///
/// Straightedges have no part in loops. Zero errors of levels count as adjusted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Closure {
    /// The readings of the loop, by index, in order.
    pub readings: Vec<usize>,
    /// The misclosure, mm: the sum of the rises around the loop.
    pub mm: f64,
    /// The standard uncertainty of the misclosure, mm: the root of the sum of the readings'
    /// variances.
    pub sigma_mm: f64,
}

/// The way that led to a node.
#[derive(Clone, Copy)]
struct Step {
    from: usize,
    edge: usize,
    depth: usize,
}

impl Heights {
    /// A loop for each reading that is not needed to tie the points, closed by the shortest ways from
    /// the first point to both its ends: see [`Closure`].
    pub fn closures(&self) -> Vec<Closure> {
        closures(&self.solved)
    }
}

/// One loop for each edge that a breadth-first tree of all edges leaves over.
fn closures(solved: &Solved) -> Vec<Closure> {
    let equations = solved.equations.iter().zip(&solved.residuals);
    let edges: Vec<(&Row, f64)> =
        equations.filter_map(|(row, residual)| row.edge().map(|_| (row, *residual))).collect();
    // What is known exactly is one with the ground.
    let node = |node: usize| if solved.known[node].is_some() { GROUND } else { node };
    let ends = |edge: usize| edges[edge].0.edge().map_or((0, 0), |(a, b)| (node(a), node(b)));
    let mut by_node: Vec<Vec<usize>> = vec![Vec::new(); solved.known.len()];
    for edge in 0..edges.len() {
        let (a, b) = ends(edge);
        by_node[a].push(edge);
        by_node[b].push(edge);
    }
    let mut steps: Vec<Option<Step>> = vec![None; solved.known.len()];
    let mut in_tree = vec![false; edges.len()];
    for root in 0..steps.len() {
        if steps[root].is_some() || by_node[root].is_empty() {
            continue;
        }
        steps[root] = Some(Step { from: root, edge: usize::MAX, depth: 0 });
        let mut queue = VecDeque::from([(root, 0)]);
        while let Some((from, depth)) = queue.pop_front() {
            for &edge in &by_node[from] {
                let (a, b) = ends(edge);
                let to = if a == from { b } else { a };
                if steps[to].is_none() {
                    steps[to] = Some(Step { from, edge, depth: depth + 1 });
                    in_tree[edge] = true;
                    queue.push_back((to, depth + 1));
                }
            }
        }
    }
    let left_over = (0..edges.len()).filter(|&edge| !in_tree[edge]);
    left_over.filter_map(|edge| around(edge, &edges, &steps, &ends)).collect()
}

/// The loop that one edge closes.
fn around(
    edge: usize,
    edges: &[(&Row, f64)],
    steps: &[Option<Step>],
    ends: &dyn Fn(usize) -> (usize, usize),
) -> Option<Closure> {
    let (mut back, mut front) = ends(edge);
    // From `front` up to where the ways meet, and down to `back`: both are walked upwards.
    let (mut up, mut down) = (vec![(edge, 1.0)], Vec::new());
    while front != back {
        let (a, b) = (steps[front]?, steps[back]?);
        if a.depth >= b.depth {
            let (_, high) = ends(a.edge);
            up.push((a.edge, if high == front { -1.0 } else { 1.0 }));
            front = a.from;
        } else {
            let (_, high) = ends(b.edge);
            down.push((b.edge, if high == back { 1.0 } else { -1.0 }));
            back = b.from;
        }
    }
    down.reverse();
    up.append(&mut down);
    // Around a loop the adjusted rises add up to nothing, so that those read add up to what the
    // residuals do.
    let mm = up.iter().map(|&(edge, sign)| -sign * rise(&edges[edge])).sum();
    let sigma_mm = up.iter().map(|&(edge, _)| edges[edge].0.sigma.powi(2)).sum::<f64>().sqrt();
    let readings = up.iter().filter_map(|&(edge, _)| edges[edge].0.reading).collect();
    Some(Closure { readings, mm, sigma_mm })
}

/// Residual of an edge as a rise from its first end to its second.
fn rise((row, residual): &(&Row, f64)) -> f64 {
    residual * row.terms[0].1
}
