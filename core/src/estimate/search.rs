//! The smallest kit that serves so many jobs.
//!
//! A good kit comes first: of each kind as many packs as a share of the jobs takes, less what it can do without.
//! Then all kits that cost less are looked at together (`lattice`). Where these are too many, or the plans of the
//! jobs are, it is branch and bound over the packs of each kind. The kits that serve so many jobs are an up-set:
//! more stock never hurts. Where some kinds are decided, every kit that costs less than the best one found has at
//! most so many packs of each of the others. If the kinds that are decided are not enough with all of these
//! together, no kit below them that costs less is.

use std::cmp::Reverse;

use super::lattice::Lattice;
use super::packs::Packs;
use super::trial::Trial;
use crate::error::Error;

/// A kit that was chosen.
pub(super) struct Choice {
    /// Pieces of each kind.
    pub(super) counts: Vec<u32>,
    /// Whether it serves as many jobs as asked; if not, no kit that is allowed does.
    pub(super) serves: bool,
    /// Whether no kit that costs less does.
    pub(super) proven: bool,
    /// How many kits were tried on jobs.
    pub(super) tried: usize,
}

/// All kits below a cost, and how many jobs each serves.
pub(super) struct Served {
    kits: Lattice,
    served: Vec<u32>,
}

impl Served {
    /// The kit of the least cost that serves so many jobs; of several the one that serves the most.
    fn best(&self, packs: &Packs, wanted: usize) -> Option<&[u32]> {
        let enough = (0..self.kits.len()).filter(|&at| self.served[at] as usize >= wanted);
        let rank = |&at: &usize| (packs.cost(self.kits.kit(at)), Reverse(self.served[at]));
        enough.min_by_key(rank).map(|at| self.kits.kit(at))
    }
}

/// The search was stopped, or has tried as many kits as it may.
struct Ended;

type Searched<T> = Result<Result<T, Ended>, Error>;

pub(super) struct Search<'a> {
    packs: &'a Packs,
    jobs: &'a mut dyn Trial,
    wanted: usize,
    kits: usize,
    stop: &'a dyn Fn() -> bool,
    /// No kit that serves so many jobs, and costs less than the best one, has fewer packs of a kind.
    least: Vec<u32>,
    best: Vec<u32>,
    tried: usize,
    /// What is known of all kits below a cost.
    all: &'a mut Option<Served>,
}

/// Takes the value of a search that has not ended.
macro_rules! unless_ended {
    ($searched:expr) => {
        match $searched? {
            Ok(value) => value,
            Err(ended) => return Ok(Err(ended)),
        }
    };
}

impl<'a> Search<'a> {
    pub(super) fn new(
        packs: &'a Packs,
        jobs: &'a mut dyn Trial,
        wanted: usize,
        kits: usize,
        all: &'a mut Option<Served>,
        stop: &'a dyn Fn() -> bool,
    ) -> Self {
        let (least, best) = (vec![0; packs.most.len()], packs.most.clone());
        Self { packs, jobs, wanted, kits, stop, least, best, tried: 0, all }
    }

    pub(super) fn run(mut self) -> Result<Choice, Error> {
        if let Some(best) = self.all.as_ref().and_then(|all| all.best(self.packs, self.wanted)) {
            let counts = self.packs.pieces(best);
            return Ok(Choice { counts, serves: true, proven: true, tried: 0 });
        }
        let all = self.packs.most.clone();
        let serves = self.serves(&all)?;
        let proven = match serves {
            Ok(true) => self.search()?.is_ok(),
            Ok(false) => true,
            Err(Ended) => false,
        };
        let serves = matches!(serves, Ok(true));
        let counts = self.packs.pieces(&self.best);
        Ok(Choice { counts, serves, proven, tried: self.tried })
    }

    fn search(&mut self) -> Searched<()> {
        let mut kit = unless_ended!(self.start());
        unless_ended!(self.shrink(&mut kit));
        unless_ended!(self.exchange());
        self.jobs.up_to(&self.packs.pieces(&self.affordable(&[])));
        if self.among_all()? {
            return Ok(Ok(()));
        }
        unless_ended!(self.bound_kinds());
        // The kinds with the fewest numbers of packs that are open come first.
        let most = self.affordable(&[]);
        let mut order: Vec<usize> = (0..most.len()).collect();
        order.sort_by_key(|&kind| most[kind] - self.least[kind].min(most[kind]));
        self.branch(&mut Vec::new(), &order)
    }

    /// A kit that serves: of each kind as many packs as do for a share of the jobs, the same share of each kind.
    fn start(&mut self) -> Searched<Vec<u32>> {
        let mut needs: Vec<Vec<u32>> = vec![Vec::new(); self.packs.most.len()];
        for pieces in self.jobs.needs() {
            let packs = self.packs.holding(&pieces);
            needs.iter_mut().zip(packs).for_each(|(needs, packs)| needs.push(packs));
        }
        needs.iter_mut().for_each(|needs| needs.sort_unstable());
        let at = |at: usize| needs.iter().map(|needs| needs[at]).collect::<Vec<u32>>();
        let (mut few, mut enough) = (0, needs[0].len() - 1);
        while few < enough {
            let middle = few + (enough - few) / 2;
            match unless_ended!(self.serves(&at(middle))) {
                true => enough = middle,
                false => few = middle + 1,
            }
        }
        let kit = at(enough);
        self.keep(&kit);
        Ok(Ok(kit))
    }

    /// Adds a pack of a kind to the best kit and takes others out for it, for as long as that makes it better.
    fn exchange(&mut self) -> Searched<()> {
        let (mut kind, mut vain) = (0, 0);
        while vain < self.best.len() {
            let before = self.best.clone();
            let mut kit = before.clone();
            if kit[kind] < self.packs.most[kind] {
                kit[kind] += 1;
                unless_ended!(self.shrink(&mut kit));
            }
            vain = if self.best == before { vain + 1 } else { 0 };
            kind = (kind + 1) % self.best.len();
        }
        Ok(Ok(()))
    }

    /// Takes packs out of a kit that serves, of all kinds in turn, until it cannot do without any of them, and
    /// keeps it if it is the best.
    fn shrink(&mut self, kit: &mut [u32]) -> Searched<()> {
        let mut steps: Vec<u32> = kit.iter().map(|packs| packs.div_ceil(2)).collect();
        while steps.iter().any(|&step| step > 0) {
            for kind in 0..kit.len() {
                let step = steps[kind].min(kit[kind] - self.least[kind].min(kit[kind]));
                if step == 0 {
                    steps[kind] = 0;
                    continue;
                }
                kit[kind] -= step;
                if !unless_ended!(self.serves(kit)) {
                    kit[kind] += step;
                    steps[kind] = step / 2;
                }
            }
        }
        self.keep(kit);
        Ok(Ok(()))
    }

    /// Finds the best of all kits that cost less than the best one so far; false where that takes too long.
    fn among_all(&mut self) -> Result<bool, Error> {
        let end = self.packs.cost(&self.best);
        let Some(kits) = Lattice::below(self.packs, end) else { return Ok(false) };
        let Some(served) = self.jobs.served_by(&kits, end, self.stop)? else { return Ok(false) };
        let all = self.all.insert(Served { kits, served });
        if let Some(best) = all.best(self.packs, self.wanted) {
            self.best = best.to_vec();
        }
        Ok(true)
    }

    /// Finds the least packs of each kind in kits that cost less than the best.
    fn bound_kinds(&mut self) -> Searched<()> {
        let mut kind = 0;
        let mut settled = 0;
        while settled < self.least.len() {
            let before = self.least[kind];
            let mut kit = self.affordable(&[]);
            let mut enough = kit[kind];
            while self.least[kind] < enough {
                let middle = self.least[kind] + (enough - self.least[kind]) / 2;
                kit[kind] = middle;
                match unless_ended!(self.serves(&kit)) {
                    true => enough = middle,
                    false => self.least[kind] = middle + 1,
                }
            }
            settled = if self.least[kind] > before { 1 } else { settled + 1 };
            kind = (kind + 1) % self.least.len();
        }
        Ok(Ok(()))
    }

    /// The most packs of each kind in a kit that costs less than the best one and has these of some kinds.
    fn affordable(&self, decided: &[(usize, u32)]) -> Vec<u32> {
        let mut kit = self.least_of(decided);
        let left = self.packs.cost(&self.best).saturating_sub(1).checked_sub(self.packs.cost(&kit));
        let Some(left) = left else { return kit };
        let open = |kind: &usize| decided.iter().all(|(other, _)| other != kind);
        for (kind, packs) in kit.iter_mut().enumerate().filter(|(kind, _)| open(kind)) {
            let more = left.checked_div(self.packs.cost[kind]).unwrap_or(u64::MAX);
            let more = u32::try_from(more).unwrap_or(u32::MAX);
            *packs = packs.saturating_add(more).min(self.packs.most[kind]);
        }
        kit
    }

    /// Tries all packs of the kinds that are open; the others are decided.
    fn branch(&mut self, decided: &mut Vec<(usize, u32)>, open: &[usize]) -> Searched<()> {
        loop {
            let mut kit = self.affordable(decided);
            if self.packs.cost(&self.least_of(decided)) >= self.packs.cost(&self.best)
                || !unless_ended!(self.serves(&kit))
            {
                return Ok(Ok(()));
            }
            if self.packs.cost(&kit) >= self.packs.cost(&self.best) {
                break;
            }
            unless_ended!(self.shrink(&mut kit));
        }
        let Some((&kind, open)) = open.split_first() else { return Ok(Ok(())) };
        let mut counts: Vec<u32> = (self.least[kind]..=self.affordable(decided)[kind]).collect();
        // Better kits are often near the best.
        counts.sort_by_key(|count| count.abs_diff(self.best[kind]));
        for packs in counts {
            decided.push((kind, packs));
            let below = self.branch(decided, open)?;
            decided.pop();
            if let Err(ended) = below {
                return Ok(Err(ended));
            }
        }
        Ok(Ok(()))
    }

    /// The least kit with these packs of some kinds.
    fn least_of(&self, decided: &[(usize, u32)]) -> Vec<u32> {
        let mut kit = self.least.clone();
        decided.iter().for_each(|&(kind, packs)| kit[kind] = packs);
        kit
    }

    fn keep(&mut self, kit: &[u32]) {
        if self.packs.cost(kit) < self.packs.cost(&self.best) {
            self.best = kit.to_vec();
        }
    }

    fn serves(&mut self, kit: &[u32]) -> Searched<bool> {
        if self.tried == self.kits {
            return Ok(Err(Ended));
        }
        self.tried += 1;
        let served = self.jobs.served(&self.packs.pieces(kit), self.wanted, self.stop)?;
        Ok(served.map(|served| served >= self.wanted).ok_or(Ended))
    }
}
