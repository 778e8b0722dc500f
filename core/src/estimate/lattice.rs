//! All kits that cost less than one that is known, and how many jobs each serves.
//!
//! A kit serves a job where it has the pieces of some plan, so the kits that serve it are all those above what its
//! plans take. Sixty-four jobs are carried up from kit to kit at once, one bit each.

use rustc_hash::FxHashMap;

use super::packs::Packs;
use crate::error::Error;
use crate::shim::Packed;
use crate::workers;

/// Kits in the order of their packs, so that each comes after those that have less.
pub(super) struct Lattice {
    kinds: usize,
    /// Packs of each kind, kit after kit.
    packs: Vec<u32>,
    at: FxHashMap<Packed, u32>,
    /// For each kit and kind the kit that has one pack less, or the kit itself.
    less: Vec<u32>,
    pieces: Vec<u32>,
}

impl Lattice {
    /// The most kits.
    const MOST: usize = 1 << 20;

    /// All kits that cost less; none where they are too many.
    pub(super) fn below(packs: &Packs, end: u64) -> Option<Self> {
        let kinds = packs.most.len();
        if kinds > Packed::KINDS {
            return None;
        }
        let mut found = Self {
            kinds,
            packs: Vec::new(),
            at: FxHashMap::default(),
            less: Vec::new(),
            pieces: packs.pieces.clone(),
        };
        found.add(packs, &mut Vec::new(), end)?;
        for at in 0..found.len() {
            let kit = found.kit(at).to_vec();
            for kind in 0..kinds {
                let less = kit.iter().enumerate().map(|(k, n)| n - u32::from(k == kind && *n > 0));
                found.less.push(found.at[&Packed::of(less)]);
            }
        }
        Some(found)
    }

    /// Adds the kits that begin with these packs and have others for less than `left`.
    fn add(&mut self, packs: &Packs, kit: &mut Vec<u32>, left: u64) -> Option<()> {
        let kind = kit.len();
        if kind == self.kinds {
            if self.len() == Self::MOST {
                return None;
            }
            self.at.insert(Packed::of(kit.iter().copied()), self.len() as u32);
            self.packs.extend_from_slice(kit);
            return Some(());
        }
        let (most, cost) = (packs.most[kind], packs.cost[kind]);
        for count in 0..=most {
            let Some(left) = left.checked_sub(u64::from(count) * cost).filter(|&left| left > 0)
            else {
                break;
            };
            if count > Packed::MOST {
                return None;
            }
            kit.push(count);
            let added = self.add(packs, kit, left);
            kit.pop();
            added?;
        }
        Some(())
    }

    pub(super) fn len(&self) -> usize {
        self.packs.len() / self.kinds
    }

    /// Packs of each kind.
    pub(super) fn kit(&self, at: usize) -> &[u32] {
        &self.packs[at * self.kinds..][..self.kinds]
    }

    /// How many of so many jobs each kit serves. `uses` visits what the plans of a job take, and says whether it
    /// has come to an end; none where it has not.
    pub(super) fn served(
        &self,
        jobs: usize,
        threads: usize,
        uses: &UsesOf<'_>,
        stop: &dyn Fn() -> bool,
    ) -> Result<Option<Vec<u32>>, Error> {
        const TOGETHER: usize = 64;
        let together = |lot: usize, is_stopped: &dyn Fn() -> bool| {
            let mut serves = vec![0_u64; self.len()];
            for bit in 0..TOGETHER.min(jobs - lot * TOGETHER) {
                let mark = &mut |pieces: Packed| {
                    if let Some(&at) = self.at.get(&self.holding(pieces)) {
                        serves[at as usize] |= 1 << bit;
                    }
                };
                if is_stopped() || !uses(lot * TOGETHER + bit, is_stopped, mark)? {
                    return Ok(None);
                }
            }
            for (at, less) in self.less.chunks(self.kinds).enumerate() {
                let below = less.iter().fold(serves[at], |all, &less| all | serves[less as usize]);
                serves[at] = below;
            }
            Ok(Some(serves.into_iter().map(|jobs| jobs.count_ones() as u8).collect::<Vec<u8>>()))
        };
        let mut served = vec![0; self.len()];
        for lot in workers::each(jobs.div_ceil(TOGETHER), threads, together, &|_| stop()) {
            let Some(lot) = lot? else { return Ok(None) };
            served.iter_mut().zip(lot).for_each(|(served, more)| *served += u32::from(more));
        }
        Ok(Some(served))
    }

    /// The fewest packs that hold these pieces.
    fn holding(&self, pieces: Packed) -> Packed {
        let packs = |(kind, pack): (usize, &u32)| pieces.count(kind).div_ceil(*pack);
        Packed::of(self.pieces.iter().enumerate().map(packs))
    }
}

/// Visits what the plans of a job take; false where it gave up.
pub(super) type UsesOf<'a> =
    dyn Fn(usize, &dyn Fn() -> bool, &mut dyn FnMut(Packed)) -> Result<bool, Error> + Sync + 'a;
