//! Tops that keep the limits and press on every stack, one support after the other.
//!
//! Each support has a list of the tops that the stock can give it. What is known of the rest narrows
//! the range of each: limits bound differences of surface rows, forces bound theirs, and every row is
//! linear in the tops. The support with the fewest tops left is next. Ranges are widened by a hair, so
//! that nothing is lost to rounding; what is found is judged as it stands.

use std::ops::Range;

use super::linear::{Linear, Row};

/// A top that a support can have.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Top {
    /// From the base, mm,
    pub(super) mm: f64,
    /// what the stack lifts by, nm,
    pub(super) lift: i64,
    /// and the least cost of a stack that does.
    pub(super) cost: i64,
}

/// Places whose surface may differ by a width.
#[derive(Debug, Clone)]
pub(super) struct Bound {
    pub(super) members: Vec<usize>,
    pub(super) width_mm: f64,
}

/// Supports whose tops act on each other: those of one slab, or one that lifts a point.
#[derive(Debug)]
pub(super) struct Block<'a> {
    pub(super) linear: &'a Linear,
    /// Which of the supports.
    pub(super) supports: Range<usize>,
    /// Which place each row of the surface is about.
    pub(super) places: Vec<usize>,
    /// The least that each force may be, N.
    pub(super) least: Vec<f64>,
    /// The least that it costs by itself, as far as that is known.
    pub(super) least_cost: i64,
}

/// One case: which supports touch and what each must bear.
#[derive(Debug)]
pub(super) struct Case<'a> {
    pub(super) blocks: Vec<Block<'a>>,
    /// The least that each gap may be, mm.
    pub(super) least_gap: f64,
    pub(super) bounds: Vec<Bound>,
    /// Tops of each support, from the lowest up.
    pub(super) lists: Vec<Vec<Top>>,
    /// What all stacks together lift by at the most, nm.
    pub(super) most_lift: i64,
}

/// What limits a search while it runs.
pub(super) trait Guide {
    /// Whether it may go on.
    fn step(&mut self) -> bool;
    /// The highest cost that is of use, and the widest range of the surface, mm.
    fn limits(&self) -> (i64, f64);
    /// The least cost of what was left out, which is more than is of use.
    fn beyond(&mut self, cost: i64);
    /// That these tops may do.
    fn found(&mut self, chosen: &[Top]);
}

/// The search was stopped.
pub(super) struct Stopped;

/// Widens ranges of tops, mm.
const HAIR: f64 = 1e-7;

impl<'a> Case<'a> {
    /// Finds by `least` what each slab costs by itself, where there are several; false where one of them
    /// cannot lie.
    pub(super) fn bound_blocks(
        &mut self,
        least: &mut dyn FnMut(&Case<'a>) -> Result<Option<i64>, Stopped>,
    ) -> Result<bool, Stopped> {
        if self.blocks.len() < 2 {
            return Ok(true);
        }
        for at in 0..self.blocks.len() {
            let alone = self.alone(at);
            match least(&alone)? {
                Some(cost) => self.blocks[at].least_cost = cost,
                None => return Ok(false),
            }
        }
        Ok(true)
    }

    /// What all blocks cost by themselves.
    pub(super) fn least_cost(&self) -> i64 {
        self.blocks.iter().map(|block| block.least_cost).sum()
    }

    /// One of the blocks as a case.
    fn alone(&self, at: usize) -> Self {
        let Block { linear, supports, places, least, .. } = &self.blocks[at];
        let own = |place: &usize| places.iter().position(|other| other == place);
        let bound = |Bound { members, width_mm }: &Bound| Bound {
            members: members.iter().filter_map(own).collect(),
            width_mm: *width_mm,
        };
        let block = Block {
            linear,
            supports: 0..supports.len(),
            places: (0..places.len()).collect(),
            least: least.clone(),
            least_cost: 0,
        };
        Self {
            blocks: vec![block],
            least_gap: self.least_gap,
            bounds: self.bounds.iter().map(bound).filter(|it| it.members.len() > 1).collect(),
            lists: self.lists[supports.clone()].to_vec(),
            most_lift: self.most_lift,
        }
    }

    /// Goes through all choices of tops that may be of use.
    pub(super) fn search(&self, guide: &mut dyn Guide) -> Result<(), Stopped> {
        if self.lists.iter().any(Vec::is_empty) {
            return Ok(());
        }
        let ends = |list: &Vec<Top>| [list[0].mm, list[list.len() - 1].mm];
        let mut ranges: Vec<[f64; 2]> = self.lists.iter().map(ends).collect();
        let mut chosen: Vec<Option<usize>> = vec![None; self.lists.len()];
        self.visit(&mut ranges, &mut chosen, guide)
    }

    fn visit(
        &self,
        ranges: &mut [[f64; 2]],
        chosen: &mut [Option<usize>],
        guide: &mut dyn Guide,
    ) -> Result<(), Stopped> {
        if !guide.step() {
            return Err(Stopped);
        }
        let (most, widest) = guide.limits();
        if !self.narrow(ranges, widest) {
            return Ok(());
        }
        let Some((cost, next)) = self.next(ranges, chosen) else { return Ok(()) };
        if cost > most {
            guide.beyond(cost);
            return Ok(());
        }
        let Some((at, within)) = next else {
            let tops: Vec<Top> = self
                .lists
                .iter()
                .zip(&*chosen)
                .filter_map(|(list, which)| which.map(|which| list[which]))
                .collect();
            guide.found(&tops);
            return Ok(());
        };
        let mut order: Vec<usize> = within.collect();
        order.sort_by_key(|&which| self.lists[at][which].cost);
        let mut narrowed = ranges.to_vec();
        for which in order {
            narrowed.copy_from_slice(ranges);
            let mm = self.lists[at][which].mm;
            narrowed[at] = [mm, mm];
            chosen[at] = Some(which);
            self.visit(&mut narrowed, chosen, guide)?;
        }
        chosen[at] = None;
        Ok(())
    }

    /// What is needed costs, and the support that is next with the tops that it has left: the one with
    /// the fewest, of a slab that is begun if there is one. None where a support has no top left, or all
    /// of them need more than there is.
    fn next(&self, ranges: &[[f64; 2]], chosen: &[Option<usize>]) -> Option<(i64, Next)> {
        let (mut cost, mut lift, mut next) = (0, 0_i64, None);
        for block in &self.blocks {
            let mut own = 0;
            let is_begun = chosen[block.supports.clone()].iter().any(Option::is_some);
            for at in block.supports.clone() {
                let list = &self.lists[at];
                if let Some(which) = chosen[at] {
                    own += list[which].cost;
                    lift = lift.saturating_add(list[which].lift);
                    continue;
                }
                let within = within(list, ranges[at]);
                own += list[within.clone()].iter().map(|top| top.cost).min()?;
                lift = lift.saturating_add(list[within.start].lift);
                let key = (!is_begun, within.len());
                if next.as_ref().is_none_or(|(other, _)| key < *other) {
                    next = Some((key, (at, within)));
                }
            }
            cost += own.max(block.least_cost);
        }
        (lift <= self.most_lift).then(|| (cost, next.map(|(_, next)| next)))
    }

    /// Narrows the ranges of tops by all rows; false where nothing is left.
    fn narrow(&self, ranges: &mut [[f64; 2]], widest: f64) -> bool {
        const ROUNDS: usize = 4;
        let count: usize = self.blocks.iter().map(|block| block.places.len()).sum();
        let everywhere: Vec<usize> = (0..count).collect();
        let mut spans = vec![[0.0; 2]; count];
        let mut bounds = vec![[0.0; 2]; count];
        for _ in 0..ROUNDS {
            let mut changed = false;
            for block in &self.blocks {
                let own = &ranges[block.supports.clone()];
                for (row, &place) in block.linear.surface.iter().zip(&block.places) {
                    spans[place] = span(row, own);
                }
            }
            bounds.fill([f64::NEG_INFINITY, f64::INFINITY]);
            let mut bind = |members: &[usize], width: f64| -> bool {
                let highest =
                    members.iter().map(|&at| spans[at][0]).fold(f64::NEG_INFINITY, f64::max);
                let lowest = members.iter().map(|&at| spans[at][1]).fold(f64::INFINITY, f64::min);
                for &at in members {
                    bounds[at][0] = bounds[at][0].max(highest - width);
                    bounds[at][1] = bounds[at][1].min(lowest + width);
                }
                highest - lowest <= width + HAIR
            };
            if !self.bounds.iter().all(|bound| bind(&bound.members, bound.width_mm))
                || (widest.is_finite() && !bind(&everywhere, widest))
            {
                return false;
            }
            let open = [self.least_gap, f64::INFINITY];
            for Block { linear, supports, places, least, .. } in &self.blocks {
                let own = &mut ranges[supports.clone()];
                let level = linear.surface.iter().zip(places.iter().map(|&at| bounds[at]));
                let presses = least.iter().map(|&least| [least, f64::INFINITY]);
                let rows = level
                    .chain(linear.forces.iter().zip(presses))
                    .chain(linear.gaps.iter().map(|row| (row, open)));
                for (row, bound) in rows {
                    if !tighten(row, bound, own, &mut changed) {
                        return false;
                    }
                }
            }
            if !changed {
                break;
            }
            for (range, list) in ranges.iter_mut().zip(&self.lists) {
                let within = within(list, *range);
                let (Some(first), Some(last)) = (list[within.clone()].first(), list[within].last())
                else {
                    return false;
                };
                *range = [first.mm, last.mm];
            }
        }
        true
    }
}

/// The support that is next, if there is one, and the tops that it has left.
type Next = Option<(usize, Range<usize>)>;

/// The tops of a list that are in a range.
fn within(list: &[Top], [from, to]: [f64; 2]) -> Range<usize> {
    let start = list.partition_point(|top| top.mm < from - HAIR);
    let end = list.partition_point(|top| top.mm <= to + HAIR);
    start..end.max(start)
}

/// The least and the most that a row can be.
fn span(row: &Row, ranges: &[[f64; 2]]) -> [f64; 2] {
    let ends = row.by.iter().zip(ranges).map(|(by, range)| ends(*by, *range));
    ends.fold([row.at_zero; 2], |[low, high], [least, most]| [low + least, high + most])
}

fn ends(by: f64, [from, to]: [f64; 2]) -> [f64; 2] {
    if by < 0.0 { [by * to, by * from] } else { [by * from, by * to] }
}

/// Narrows ranges so that a row can keep its bounds; false where it cannot.
fn tighten(
    row: &Row,
    [least, most]: [f64; 2],
    ranges: &mut [[f64; 2]],
    changed: &mut bool,
) -> bool {
    let [low, high] = span(row, ranges);
    let size = row.by.iter().fold(0.0, |size: f64, by| size.max(by.abs()));
    let hair = HAIR * size;
    if high < least - hair || low > most + hair {
        return false;
    }
    if low >= least && high <= most {
        return true;
    }
    for (&by, range) in row.by.iter().zip(ranges) {
        if by.abs() <= 1e-9 * size {
            continue;
        }
        let [own_low, own_high] = ends(by, *range);
        // What it may be, all others helping as much as they can.
        let (from, to) = (least - (high - own_high) - hair, most - (low - own_low) + hair);
        let (from, to) = if by > 0.0 { (from / by, to / by) } else { (to / by, from / by) };
        if from > range[0] + HAIR {
            range[0] = from;
            *changed = true;
        }
        if to < range[1] - HAIR {
            range[1] = to;
            *changed = true;
        }
        if range[0] > range[1] + 2.0 * HAIR {
            return false;
        }
    }
    true
}
