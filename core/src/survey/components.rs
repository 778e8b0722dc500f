//! What the readings tie together.

use super::Survey;
use super::equation;
use super::network::{GROUND, Network};
use crate::error::{Error, ProblemKind, Problems};

/// Sets of nodes that grow together: union by size with path halving (Tarjan).
pub(super) struct Sets {
    parent: Vec<usize>,
    size: Vec<usize>,
}

impl Sets {
    fn new(count: usize) -> Self {
        Self { parent: (0..count).collect(), size: vec![1; count] }
    }

    fn root(&mut self, mut node: usize) -> usize {
        while self.parent[node] != node {
            self.parent[node] = self.parent[self.parent[node]];
            node = self.parent[node];
        }
        node
    }

    /// Whether they were apart before.
    fn join(&mut self, a: usize, b: usize) -> bool {
        let (mut a, mut b) = (self.root(a), self.root(b));
        if a == b {
            return false;
        }
        if self.size[a] < self.size[b] {
            std::mem::swap(&mut a, &mut b);
        }
        self.parent[b] = a;
        self.size[a] += self.size[b];
        true
    }
}

/// The nodes that are tied together.
pub(super) fn of_nodes(network: &Network<'_>) -> Sets {
    let mut sets = Sets::new(network.known.len());
    for (node, known) in network.known.iter().enumerate() {
        if known.is_some() {
            sets.join(GROUND, node);
        }
    }
    let mut straightedges = Vec::new();
    for row in &network.equations {
        if let Some((a, b)) = row.edge() {
            sets.join(a, b);
        }
        straightedges.extend(row.straightedge());
    }
    // Two of its points that are tied to each other tie the third.
    loop {
        let before = straightedges.len();
        straightedges.retain(|&[a, b, p]| {
            let [ra, rb, rp] = [a, b, p].map(|node| sets.root(node));
            let tied = ra == rb || rb == rp || ra == rp;
            if tied {
                sets.join(a, b);
                sets.join(b, p);
            }
            !tied
        });
        if straightedges.len() == before {
            return sets;
        }
    }
}

/// The points that are tied together, by index, in the order in which they are listed.
pub(super) fn of_points(network: &Network<'_>) -> Vec<Vec<usize>> {
    let mut sets = of_nodes(network);
    let mut components: Vec<Vec<usize>> = Vec::new();
    let mut of_root = vec![usize::MAX; network.known.len()];
    for (at, &node) in network.reported.iter().enumerate() {
        let root = sets.root(node);
        if of_root[root] == usize::MAX {
            of_root[root] = components.len();
            components.push(Vec::new());
        }
        components[of_root[root]].push(at);
    }
    components
}

/// Whether all points are one component and, where heights are fixed or typed in, tied to those.
pub(super) fn are_one(network: &Network<'_>) -> bool {
    let mut sets = of_nodes(network);
    let first = sets.root(network.reported[0]);
    let slopes = network.planes.iter().filter_map(|(_, slopes, _)| *slopes).flatten();
    let zeros: Vec<usize> = network.levels.iter().map(|&(_, zero, _)| zero).chain(slopes).collect();
    let is_height = |node: &usize| !zeros.contains(node);
    (1..sets.parent.len()).filter(is_height).all(|node| sets.root(node) == first)
        && (!is_grounded(network) || sets.root(GROUND) == first)
}

/// Whether any height is known, so that none needs to be chosen.
pub(super) fn is_grounded(network: &Network<'_>) -> bool {
    network.known.iter().skip(1).any(Option::is_some)
        || network
            .equations
            .iter()
            .any(|row| row.terms.iter().any(|&(node, by)| node == GROUND && by != 0.0))
}

/// Names the components, and for each a reading that would tie it to the first.
pub(super) fn untied(network: &Network<'_>) -> Error {
    let mut components = of_points(network);
    let mut found = Problems::default();
    if is_grounded(network) {
        // The component of the fixed heights first: the others need a tie to it.
        let mut sets = of_nodes(network);
        let ground = sets.root(GROUND);
        let tied = |component: &Vec<usize>| sets.root(network.reported[component[0]]) != ground;
        components.sort_by_cached_key(tied);
    }
    let Some((first, others)) = components.split_first() else {
        return Error::new(ProblemKind::Untied, "readings", "none", "at least one");
    };
    for other in others {
        let (from, to) = nearest(network, first, other);
        let expected = format!(
            "a reading that ties them, such as a rise from {:?} to {:?}",
            network.ids[from], network.ids[to]
        );
        let got = format!("no tie between {} and {}", named(network, first), named(network, other));
        found.add(ProblemKind::Untied, "readings", got, expected);
    }
    if others.is_empty() {
        let got = "straightedges or set-ups that nothing ties to the points";
        found.add(ProblemKind::Untied, "readings", got, "readings that tie them");
    }
    match found.into_result() {
        Err(error) => error,
        Ok(()) => Error::new(ProblemKind::Untied, "readings", "none", "at least one"),
    }
}

/// The ids of a component, as many as a line has room for.
fn named(network: &Network<'_>, component: &[usize]) -> String {
    const MOST: usize = 4;
    let ids: Vec<_> = component.iter().take(MOST).map(|&at| network.ids[at]).collect();
    let more = if component.len() > MOST {
        format!(" and {} more", component.len() - MOST)
    } else {
        String::new()
    };
    format!("{{{}{more}}}", ids.join(", "))
}

/// The two points of two components that lie nearest to each other in plan; the first of each where
/// their places are not known.
fn nearest(network: &Network<'_>, one: &[usize], other: &[usize]) -> (usize, usize) {
    /// Looking at every pair of a hall would take longer than its adjustment.
    const PAIRS: usize = 1 << 20;
    let pairs = one.iter().flat_map(|&a| other.iter().map(move |&b| (a, b)));
    let apart = |&(a, b): &(usize, usize)| match (network.places.get(a), network.places.get(b)) {
        (Some(a), Some(b)) => (a[0] - b[0]).hypot(a[1] - b[1]),
        _ => 0.0,
    };
    pairs.take(PAIRS).min_by(|a, b| apart(a).total_cmp(&apart(b))).unwrap_or((one[0], other[0]))
}

impl Survey {
    /// The connected components that the readings make of the points, by ids: one component where
    /// [`adjust`](crate::adjust) can give heights. Fixed heights tie their points; a straightedge ties the third of
    /// its points to two that are tied already.
    ///
    /// # Errors
    /// What is wrong with the readings, as [`adjust`](crate::adjust) reports it.
    pub fn components(&self) -> Result<Vec<Vec<String>>, Error> {
        let network = equation::network(self)?;
        let components = of_points(&network);
        let names = |points: Vec<usize>| points.into_iter().map(|at| network.ids[at].to_owned());
        Ok(components.into_iter().map(|points| names(points).collect()).collect())
    }
}
