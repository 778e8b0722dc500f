//! The convex hull of places in plan.
//!
//! Source: Andrew's monotone chain (1979, from memory).

/// Twice the area of a triangle, positive where it turns left.
pub(super) fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Indices of the corners, anticlockwise; places on an edge are no corners.
pub(crate) fn hull(places: &[[f64; 2]]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (places[a], places[b]);
        a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
    });
    order.dedup_by(|a, b| places[*a] == places[*b]);
    if order.len() < 3 {
        return order;
    }
    let mut corners: Vec<usize> = Vec::new();
    let mut half = |order: &mut dyn Iterator<Item = usize>| {
        let start = corners.len();
        for at in order {
            while let [.., a, b] = corners[start..]
                && turn(places[a], places[b], places[at]) <= 0.0
            {
                corners.pop();
            }
            corners.push(at);
        }
        corners.pop();
    };
    half(&mut order.iter().copied());
    half(&mut order.iter().rev().copied());
    corners
}

/// Distance from a place to the line through an edge, positive on its left.
pub(crate) fn from_edge(a: [f64; 2], b: [f64; 2], place: [f64; 2]) -> f64 {
    turn(a, b, place) / (b[0] - a[0]).hypot(b[1] - a[1])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn corners_without_what_lies_on_edges_or_within() {
        let places =
            [[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [2.0, 2.0], [1.0, 1.0], [0.0, 2.0], [0.0, 0.0]];
        assert_eq!(hull(&places).len(), 4);
        let corners: Vec<_> = hull(&places).into_iter().map(|at| places[at]).collect();
        assert_eq!(corners, [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]);
        assert_eq!(hull(&[[1.0, 1.0]; 5]).len(), 1);
        assert_eq!(hull(&[[0.0, 0.0], [2.0, 2.0], [1.0, 1.0]]).len(), 2);
        assert_eq!(from_edge([0.0, 0.0], [2.0, 0.0], [9.0, 3.0]), 3.0);
    }
}
