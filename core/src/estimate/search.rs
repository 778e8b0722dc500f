//! The smallest kit that serves so many jobs: branch and bound over the packs of each kind.
//!
//! The kits that serve so many jobs are an up-set: more stock never hurts. So if the kinds that are
//! decided are not enough with all that is allowed of the others, no kit below them is. The least
//! number of packs of a kind that is enough is found by halving.

use super::packs::Packs;
use super::trial::{Trial, covers};
use crate::error::Error;

/// A kit that was chosen.
pub(super) struct Choice {
    /// Pieces of each kind.
    pub(super) counts: Vec<u32>,
    /// Whether it serves as many jobs as asked; if not, no kit that is allowed does.
    pub(super) serves: bool,
    /// Whether no smaller kit does.
    pub(super) proven: bool,
    /// How many kits were tried on jobs.
    pub(super) tried: usize,
}

/// The search was stopped, or has tried as many kits as it may.
struct Ended;

type Searched<T> = Result<Result<T, Ended>, Error>;

pub(super) struct Search<'a> {
    packs: &'a Packs,
    jobs: &'a mut dyn Trial,
    wanted: usize,
    kits_left: usize,
    stop: &'a dyn Fn() -> bool,
    /// The least packs of each kind, however much there is of the others.
    least: Vec<u32>,
    best: Vec<u32>,
    /// Packs that serve as many jobs as wanted: no list of which has at least those of another.
    enough: Vec<Vec<u32>>,
    /// Packs that do not: no list of which has at most those of another.
    too_few: Vec<Vec<u32>>,
    tried: usize,
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
        stop: &'a dyn Fn() -> bool,
    ) -> Self {
        let (least, best) = (vec![0; packs.most.len()], packs.most.clone());
        let (enough, too_few, tried) = (Vec::new(), Vec::new(), 0);
        Self { packs, jobs, wanted, kits_left: kits, stop, least, best, enough, too_few, tried }
    }

    pub(super) fn run(mut self) -> Result<Choice, Error> {
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
        let kinds = self.packs.most.len();
        for kind in 0..kinds {
            let mut kit = self.packs.most.clone();
            self.least[kind] = unless_ended!(self.fewest(&mut kit, kind));
        }
        // Kits that cannot do without any of their packs, as a start: each begins with another kind.
        for first in 0..kinds {
            let mut kit = self.packs.most.clone();
            for kind in (first..kinds).chain(0..first) {
                kit[kind] = unless_ended!(self.fewest(&mut kit, kind));
            }
            self.keep(&kit);
        }
        let mut kit = self.packs.most.clone();
        self.branch(&mut kit, 0)
    }

    /// Tries all packs of this kind and those behind it; the kinds before it are decided.
    fn branch(&mut self, kit: &mut Vec<u32>, kind: usize) -> Searched<()> {
        let Some(&most) = self.packs.most.get(kind) else {
            self.keep(kit);
            return Ok(Ok(()));
        };
        kit[kind..].copy_from_slice(&self.packs.most[kind..]);
        let fewest = unless_ended!(self.fewest(kit, kind));
        for packs in fewest..=most {
            kit[kind] = packs;
            kit[kind + 1..].copy_from_slice(&self.least[kind + 1..]);
            if self.packs.cost(kit) >= self.packs.cost(&self.best) {
                break;
            }
            unless_ended!(self.branch(kit, kind + 1));
        }
        Ok(Ok(()))
    }

    /// The fewest packs of a kind that are enough with the others as they are. All that is allowed
    /// of the kind is enough.
    fn fewest(&mut self, kit: &mut [u32], kind: usize) -> Searched<u32> {
        let (mut few, mut enough) = (self.least[kind], kit[kind]);
        while few < enough {
            let middle = few + (enough - few) / 2;
            kit[kind] = middle;
            match unless_ended!(self.serves(kit)) {
                true => enough = middle,
                false => few = middle + 1,
            }
        }
        kit[kind] = enough;
        Ok(Ok(enough))
    }

    fn serves(&mut self, kit: &[u32]) -> Searched<bool> {
        if self.enough.iter().any(|enough| covers(kit, enough)) {
            return Ok(Ok(true));
        }
        if self.too_few.iter().any(|few| covers(few, kit)) {
            return Ok(Ok(false));
        }
        if self.kits_left == 0 {
            return Ok(Err(Ended));
        }
        self.kits_left -= 1;
        self.tried += 1;
        let served = self.jobs.served(&self.packs.pieces(kit), self.wanted, self.stop)?;
        let Some(served) = served else { return Ok(Err(Ended)) };
        let serves = served >= self.wanted;
        if serves {
            self.enough.retain(|enough| !covers(enough, kit));
            self.enough.push(kit.to_vec());
        } else {
            self.too_few.retain(|few| !covers(kit, few));
            self.too_few.push(kit.to_vec());
        }
        Ok(Ok(serves))
    }

    fn keep(&mut self, kit: &[u32]) {
        if self.packs.cost(kit) < self.packs.cost(&self.best) {
            self.best = kit.to_vec();
        }
    }
}
