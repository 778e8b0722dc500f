//! Random problems, the same on every run.

use truebed::{
    Adjusts, Length, Limits, NamedLimit, OnlyUnder, Order, Placed, Shim, ShimProblem, Support,
};

/// Steele, Lea & Flood's SplitMix64: small, and enough to make test problems.
#[derive(Debug, Clone)]
pub struct Random(pub u64);

impl Random {
    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number from `low` to `high`, both included.
    pub fn between(&mut self, low: i64, high: i64) -> i64 {
        let span = (high - low + 1).unsigned_abs();
        low + (self.bits() % span) as i64
    }

    /// A number from 0 up to 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A standard normal number (Box & Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }

    /// True once in `n` times.
    pub fn once_in(&mut self, n: i64) -> bool {
        self.between(1, n) == 1
    }
}

/// A problem small enough to try every plan: two to four supports on a coarse grid of heights, one
/// to three kinds, limits of every sort.
pub fn small_problem(random: &mut Random, order: Order) -> ShimProblem {
    let unit = |count: i64| Length::from_nm(count * 10_000);
    let supports: Vec<Support> = (0..random.between(1, 4))
        .map(|at| Support {
            x: Length::from_nm(at % 2 * 1_000_000_000),
            y: Length::from_nm(at / 2 * 500_000_000),
            height: unit(random.between(-12, 0)),
        })
        .collect();
    // Kinds without a count are few and thick, so that brute force can try them all.
    let few = supports.len() <= 2;
    let stock = (0..random.between(1, 3))
        .map(|_| {
            let unlimited = few && random.once_in(4);
            let thickness = random.between(if unlimited { 5 } else { 1 }, 7);
            let most = if few { 5 } else { 2 };
            let count = (!unlimited).then(|| random.between(0, most) as u32);
            Shim { price: random.between(0, 4) as u32, ..Shim::new(unit(thickness), count) }
        })
        .collect();
    let mut limits = Limits::overall(unit(random.between(0, 3)));
    let mut maybe = |limit: i64| random.once_in(3).then(|| unit(random.between(0, limit)));
    limits.along = maybe(2);
    limits.across = maybe(2);
    limits.joint_step = maybe(3);
    if limits.along.is_some() && limits.across.is_some() && supports.len() == 4 && random.once_in(2)
    {
        limits.overall = None;
    }
    let mut problem = ShimProblem::new(supports, stock, limits);
    if problem.supports.len() > 1 && random.once_in(2) {
        problem.joints.push([0, problem.supports.len() - 1]);
    }
    drop_unbound(&mut problem);
    problem.options.order = order;
    problem.options.keep_highest = !random.once_in(3);
    problem.options.max_pieces = random.once_in(4).then(|| random.between(0, 3) as u32);
    problem.options.max_stack = random.once_in(4).then(|| unit(random.between(0, 12)));
    problem
}

/// A small problem whose limits are a nanometre narrower: on the grid of its heights and kinds, some
/// plans miss them by no more than that.
pub fn hair_problem(random: &mut Random, order: Order) -> ShimProblem {
    let mut problem = small_problem(random, order);
    let limits = &mut problem.limits;
    let all = [&mut limits.overall, &mut limits.along, &mut limits.across, &mut limits.joint_step];
    for limit in all.into_iter().flatten() {
        *limit = Length::from_nm((limit.nm() - 1).max(0));
    }
    problem
}

/// A small problem with what a first plain one does not have: pieces that give under load or can be
/// set, kinds for some supports only, limits on points that are named, stacks in place.
pub fn varied_problem(random: &mut Random, order: Order) -> ShimProblem {
    let unit = |count: i64| Length::from_nm(count * 10_000);
    let mut problem = small_problem(random, order);
    problem.supports.truncate(3);
    problem.stock.truncate(2);
    let (supports, last) = (problem.supports.len(), problem.supports.len() - 1);
    problem.joints.retain(|joint| joint[1] <= last);
    drop_unbound(&mut problem);
    if problem.limits.overall.is_none() {
        problem.limits.overall = Some(unit(random.between(0, 3)));
    }
    for shim in &mut problem.stock {
        shim.count = shim.count.map(|count| count.min(2)).or(Some(2));
        if random.once_in(3) {
            shim.loaded_factor = random.between(80, 99) as f64 / 100.0;
        }
    }
    if random.once_in(2) {
        let (least, step) = (random.between(1, 6), random.between(1, 2));
        let to = unit(least + step * random.between(1, 4) + random.between(0, step - 1));
        let count = (!random.once_in(3)).then(|| random.between(1, 2) as u32);
        let price = random.between(0, 4) as u32;
        let adjusts = Some(Adjusts { to, step: unit(step) });
        problem.stock.push(Shim { price, adjusts, ..Shim::new(unit(least), count) });
    }
    if random.once_in(3) {
        let kind = random.between(0, problem.stock.len() as i64 - 1) as usize;
        let under = (0..supports).filter(|_| random.once_in(2)).collect();
        problem.only_under.push(OnlyUnder { kind, supports: under });
    }
    if supports > 1 && random.once_in(3) {
        let points = if random.once_in(2) { vec![0, last] } else { (0..supports).collect() };
        problem.limits.named.push(NamedLimit { points, within: unit(random.between(0, 4)) });
    }
    if random.once_in(2) {
        problem.placed = Some(placed(random, &problem));
    }
    problem
}

/// Drops the limits that bind no two supports, which are refused.
fn drop_unbound(problem: &mut ShimProblem) {
    let (limits, supports) = (&mut problem.limits, problem.supports.len());
    limits.along = limits.along.filter(|_| supports > 1);
    limits.across = limits.across.filter(|_| supports > 2);
    limits.joint_step = limits.joint_step.filter(|_| !problem.joints.is_empty());
}

/// Stacks of at most one plain piece and an adjustable one.
fn placed(random: &mut Random, problem: &ShimProblem) -> Placed {
    let mut placed = Placed::default();
    for _ in 0..problem.supports.len() {
        let (mut stack, mut setting) = (Vec::new(), None);
        for (kind, shim) in problem.stock.iter().enumerate() {
            if !random.once_in(3) || (stack.len() == 1 && shim.adjusts.is_none()) {
                continue;
            }
            stack.push(kind);
            if let Some(Adjusts { to, step }) = shim.adjusts {
                let steps = (to - shim.thickness).nm() / step.nm();
                setting = Some(shim.thickness + step * random.between(0, steps));
            }
        }
        placed.stacks.push(stack);
        placed.settings.push(setting);
    }
    placed
}

/// A varied problem whose target may slope: over so long a way that few slopes make a difference.
pub fn tilted_problem(random: &mut Random, order: Order) -> ShimProblem {
    let mut problem = varied_problem(random, order);
    for support in &mut problem.supports {
        let apart = random.between(-3_000_000, 3_000_000);
        support.x = support.x * 20 + Length::from_nm(apart);
        support.y = support.y * 20;
        support.height = support.height + Length::from_nm(random.between(-20_000, 20_000));
    }
    problem.limits.slope_along_um_per_m = random.between(0, 5) as u32;
    problem.limits.slope_across_um_per_m = random.between(0, 5) as u32;
    problem
}

/// The same with pieces that are uncertain: each by itself, or all of a kind.
pub fn doubtful_problem(random: &mut Random, order: Order) -> ShimProblem {
    let mut problem = guarded_problem(random, order);
    for shim in &mut problem.stock {
        shim.sigma = Length::from_nm(random.between(0, 4) * 1_000);
        shim.common_sigma = Length::from_nm(random.between(0, 4) * 1_000);
    }
    problem
}

/// A small problem whose heights are uncertain, held to its limits with a risk.
pub fn guarded_problem(random: &mut Random, order: Order) -> ShimProblem {
    let mut problem = small_problem(random, order);
    let count = problem.supports.len();
    // Errors in mm: one that all have in common, one that grows along the bed, one of each support.
    let along = random.between(0, 2) as f64 * 1e-3;
    let mut factors = vec![vec![0.05; count]];
    factors.push(problem.supports.iter().map(|support| along * support.x.mm() / 1000.0).collect());
    for at in 0..count {
        let mut own = vec![0.0; count];
        own[at] = random.between(0, 8) as f64 * 1e-3;
        factors.push(own);
    }
    let of = |i: usize, j: usize| factors.iter().map(|factor| factor[i] * factor[j]).sum();
    problem.covariance_mm2 =
        Some((0..count * count).map(|at| of(at / count, at % count)).collect());
    problem.options.risk = Some([0.01, 0.05, 0.2, 0.4][random.between(0, 3) as usize]);
    problem
}
