//! In which numbers pieces can be bought, and what a kit of them costs.

use super::kit_options::KitOptions;
use crate::error::{Error, ProblemKind, Problems};
use crate::shim::ShimProblem;

/// The kinds of a kit.
pub(super) struct Packs {
    /// The most packs of each kind.
    pub(super) most: Vec<u32>,
    /// Pieces of a pack.
    pub(super) pieces: Vec<u32>,
    /// What a pack costs, in pieces or in money.
    pub(super) cost: Vec<u64>,
}

impl Packs {
    pub(super) fn new(problem: &ShimProblem, options: &KitOptions) -> Result<Self, Error> {
        let mut found = Problems::default();
        let kinds = problem.stock.len();
        for (field, share) in [("share", options.share), ("confidence", options.confidence)] {
            if !(share > 0.0 && share < 1.0) {
                found.add(ProblemKind::Value, field, share, "between 0 and 1");
            }
        }
        for (field, jobs) in
            [("training_jobs", options.training_jobs), ("fresh_jobs", options.fresh_jobs)]
        {
            if !(1..=KitOptions::MOST_JOBS).contains(&jobs) {
                let expected = format!("from 1 to {}", KitOptions::MOST_JOBS);
                found.add(ProblemKind::Value, field, jobs, expected);
            }
        }
        if options.jobs_a_day == 0 || options.jobs_a_day > KitOptions::MOST_JOBS_A_DAY {
            let expected = format!("from 1 to {}", KitOptions::MOST_JOBS_A_DAY);
            found.add(ProblemKind::Value, "jobs_a_day", options.jobs_a_day, expected);
        }
        if kinds == 0 {
            found.add(ProblemKind::Shape, "stock", "no kinds", "at least one");
        }
        for (field, list) in [("most", &options.most), ("packs", &options.packs)] {
            if !list.is_empty() && list.len() != kinds {
                let expected = format!("{kinds}, one for each kind, or none");
                found.add(ProblemKind::Shape, field, format!("{} values", list.len()), expected);
            }
        }
        for (field, list, least) in [("most", &options.most, 0), ("packs", &options.packs, 1)] {
            let possible = least..=KitOptions::MOST_PIECES;
            for (at, count) in list.iter().enumerate().filter(|(_, it)| !possible.contains(it)) {
                let expected = format!("from {least} to {} pieces", KitOptions::MOST_PIECES);
                found.add(ProblemKind::Value, format!("{field}[{at}]"), count, expected);
            }
        }
        found.into_result()?;
        let of = |list: &Vec<u32>, at: usize, default| list.get(at).copied().unwrap_or(default);
        let pieces: Vec<u32> = (0..kinds).map(|at| of(&options.packs, at, 1)).collect();
        let most = |at: usize| of(&options.most, at, KitOptions::MOST) / pieces[at];
        let cost = |at: usize| {
            let piece = if options.cheapest { problem.stock[at].price } else { 1 };
            u64::from(piece) * u64::from(pieces[at])
        };
        Ok(Self {
            most: (0..kinds).map(most).collect(),
            cost: (0..kinds).map(cost).collect(),
            pieces,
        })
    }

    pub(super) fn pieces(&self, packs: &[u32]) -> Vec<u32> {
        packs.iter().zip(&self.pieces).map(|(packs, pieces)| packs * pieces).collect()
    }

    /// The fewest packs that hold these pieces.
    pub(super) fn holding(&self, pieces: &[u32]) -> Vec<u32> {
        pieces.iter().zip(&self.pieces).map(|(pieces, pack)| pieces.div_ceil(*pack)).collect()
    }

    pub(super) fn cost(&self, packs: &[u32]) -> u64 {
        packs.iter().zip(&self.cost).map(|(&packs, cost)| u64::from(packs) * cost).sum()
    }
}
