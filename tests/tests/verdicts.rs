//! Verdicts with probability, against simulation by brute force and against closed forms.

use truebed::{
    Basis, Conformity, DecisionRule, Length, Limits, NamedLimit, Verdict, assess, check,
};
use truebed_tests::random::Random;

fn mm(value: f64) -> Length {
    Length::from_mm(value).unwrap()
}

/// A bed of 3 × 8 points with joints, heights within limits or about so, and errors that have a
/// part in common, a part that grows along the bed, and a part of each point.
struct Bed {
    xy: Vec<[Length; 2]>,
    heights: Vec<Length>,
    joints: Vec<[usize; 2]>,
    /// Each column an independent error of one sigma.
    factors: Vec<Vec<f64>>,
}

impl Bed {
    fn new(random: &mut Random, columns: usize, rows: usize, spread: f64, sigma: f64) -> Self {
        let places = (0..columns * rows).map(|at| [at / rows, at % rows]);
        let xy: Vec<_> =
            places.map(|[x, y]| [mm(300.0 * x as f64), mm(600.0 * y as f64)]).collect();
        let heights = xy.iter().map(|_| mm(spread * random.unit())).collect();
        let joints = (0..rows).map(|y| [y, rows + y]).collect();
        let mut factors = vec![vec![5.0; xy.len()]];
        factors.push(xy.iter().map(|[x, _]| sigma * x.mm() / 1000.0).collect());
        for at in 0..xy.len() {
            let mut own = vec![0.0; xy.len()];
            own[at] = sigma * (0.5 + random.unit());
            factors.push(own);
        }
        Self { xy, heights, joints, factors }
    }

    fn covariance(&self) -> Vec<f64> {
        let count = self.xy.len();
        let of = |i: usize, j: usize| self.factors.iter().map(|f| f[i] * f[j]).sum::<f64>();
        (0..count * count).map(|at| of(at / count, at % count)).collect()
    }

    fn assess(&self, limits: &Limits, rule: DecisionRule) -> Verdict {
        assess(&self.xy, &self.heights, &self.covariance(), limits, &self.joints, rule).unwrap()
    }

    /// Draws errors and looks how often the limits are met: all, and each finding.
    fn simulate(&self, random: &mut Random, limits: &Limits, draws: usize) -> (f64, Vec<f64>) {
        let mut met = 0;
        let mut each = Vec::new();
        for _ in 0..draws {
            let errors: Vec<f64> = self.factors.iter().map(|_| random.normal()).collect();
            let heights: Vec<Length> = (0..self.xy.len())
                .map(|at| {
                    let error: f64 = self.factors.iter().zip(&errors).map(|(f, e)| f[at] * e).sum();
                    mm(self.heights[at].mm() + error)
                })
                .collect();
            let verdict = check(&self.xy, &heights, limits, &self.joints).unwrap();
            met += usize::from(verdict.meets_limits);
            each.resize(verdict.findings.len(), 0);
            for (sum, finding) in each.iter_mut().zip(&verdict.findings) {
                *sum += usize::from(finding.meets_limits);
            }
        }
        let part = |sum: usize| sum as f64 / draws as f64;
        (part(met), each.into_iter().map(part).collect())
    }
}

fn limits(overall: f64, along: f64, across: f64, joint: f64) -> Limits {
    Limits {
        overall: Some(mm(overall)),
        along: Some(mm(along)),
        across: Some(mm(across)),
        joint_step: Some(mm(joint)),
        ..Limits::default()
    }
}

/// Within five standard errors of both.
fn agree(computed: f64, error: f64, simulated: f64, draws: usize) {
    let spread = (simulated * (1.0 - simulated)).max(1.0 / draws as f64) / draws as f64;
    let off = (computed - simulated).abs();
    assert!(off <= 5.0 * spread.sqrt().hypot(error), "{computed} ± {error}, simulated {simulated}");
}

#[test]
fn probabilities_are_those_of_brute_force() {
    const DRAWS: usize = 20_000;
    let mut random = Random(6);
    for round in 0..24 {
        let (columns, rows) = [(2, 2), (3, 2), (8, 3), (4, 2)][round % 4];
        let sigma = [0.01, 0.02, 0.04][round % 3];
        let bed = Bed::new(&mut random, columns, rows, 0.12, sigma);
        let limits = limits(0.08, 0.075, 0.07, 0.1);
        let verdict = bed.assess(&limits, DecisionRule::Iso14253);
        assert_eq!(verdict.basis, Basis::Probability);
        let (all, each) = bed.simulate(&mut random, &limits, DRAWS);
        agree(verdict.probability, verdict.probability_error, all, DRAWS);
        assert!(verdict.probability_error <= 1e-3);
        for (finding, simulated) in verdict.findings.iter().zip(each) {
            agree(finding.probability, finding.probability_error, simulated, DRAWS);
            assert!(
                verdict.probability
                    <= finding.probability
                        + 4.0 * verdict.probability_error
                        + 4.0 * finding.probability_error
            );
            assert_eq!(finding.margin(), finding.allowed - finding.found);
        }
    }
}

/// Errors of few sources, great and small, tell many heights by a few others: what is left to those is
/// to be within their limits or not.
#[test]
fn probabilities_of_singular_covariances_are_those_of_brute_force() {
    const DRAWS: usize = 100_000;
    // The last five are those of 4000 in which lattices of a few hundred points saw nothing of what
    // seldom happens, and took that for certain.
    for seed in (0..8).chain([1918, 3086, 3094, 3477, 3815]) {
        let mut random = Random(seed);
        let count = random.between(2, 12) as usize;
        let sources = random.between(1, count as i64);
        let sigma = [0.001, 0.01, 0.05][random.between(0, 2) as usize];
        let factors: Vec<Vec<f64>> = (0..sources)
            .map(|_| {
                let size = sigma * if random.once_in(4) { 1e-3 } else { 1.0 };
                (0..count).map(|_| size * random.normal()).collect()
            })
            .collect();
        let heights: Vec<f64> = (0..count).map(|_| mm(0.1 * random.unit() - 0.05).mm()).collect();
        let named: Vec<NamedLimit> = (0..random.between(1, 7))
            .map(|_| {
                let mut points: Vec<usize> = (0..count).collect();
                while points.len() > 2 && !random.once_in(4) {
                    points.remove(random.between(0, points.len() as i64 - 1) as usize);
                }
                NamedLimit { points, within: mm(0.005 + 0.145 * random.unit()) }
            })
            .collect();
        let of = |i: usize, j: usize| factors.iter().map(|factor| factor[i] * factor[j]).sum();
        let covariance: Vec<f64> =
            (0..count * count).map(|at| of(at / count, at % count)).collect();
        let limits = Limits { named: named.clone(), ..Limits::default() };
        let lengths: Vec<Length> = heights.iter().map(|&height| mm(height)).collect();
        let xy = vec![[Length::default(); 2]; count];
        let verdict =
            assess(&xy, &lengths, &covariance, &limits, &[], DecisionRule::Iso14253).unwrap();
        let mut met = 0;
        for _ in 0..DRAWS {
            let mut drawn = heights.clone();
            for factor in &factors {
                let error = random.normal();
                drawn.iter_mut().zip(factor).for_each(|(height, by)| *height += by * error);
            }
            let is_met = |limit: &NamedLimit| {
                let (low, high) =
                    limit.points.iter().fold((f64::MAX, f64::MIN), |(low, high), &at| {
                        (low.min(drawn[at]), high.max(drawn[at]))
                    });
                high - low <= limit.within.mm()
            };
            met += usize::from(named.iter().all(is_met));
        }
        let simulated = met as f64 / DRAWS as f64;
        agree(verdict.probability, verdict.probability_error, simulated, DRAWS);
    }
}

#[test]
fn probabilities_above_a_slope_are_those_of_brute_force() {
    const DRAWS: usize = 2_000;
    let mut random = Random(7);
    for _ in 0..4 {
        let bed = Bed::new(&mut random, 3, 2, 0.3, 0.03);
        let limits = Limits {
            slope_along_um_per_m: 120,
            slope_across_um_per_m: 60,
            ..Limits::overall(mm(0.1))
        };
        let verdict = bed.assess(&limits, DecisionRule::Iso14253);
        let (all, _) = bed.simulate(&mut random, &limits, DRAWS);
        agree(verdict.probability, verdict.probability_error, all, DRAWS);
        assert_eq!(
            verdict.meets_limits,
            verdict.slopes.iter().all(|slope| slope.meets_limits) && verdict.meets_limits
        );
        for slope in &verdict.slopes {
            // A limit along one axis alone is easier to meet than both.
            assert!(slope.probability >= verdict.probability - 5e-3);
        }
    }
}

/// Two independent heights: the difference is normal, and everything is known in closed form.
#[test]
fn a_pair_in_closed_form() {
    let xy = [[mm(0.0), mm(0.0)], [mm(100.0), mm(0.0)]];
    let named = vec![NamedLimit { points: vec![0, 1], within: mm(0.1) }];
    let limits = Limits { named, ..Limits::default() };
    // u of the difference is 0.01; the margin is 2 u, so p = Φ(2) = .97725 (JCGM 106, 7), and
    // what lies beyond the other side is nothing.
    let covariance = [5e-5, 0.0, 0.0, 5e-5];
    let at = |difference: f64, rule| {
        assess(&xy, &[mm(0.0), mm(difference)], &covariance, &limits, &[], rule).unwrap()
    };
    let verdict = at(0.08, DecisionRule::Iso14253);
    assert!((verdict.probability - 0.977_249_868).abs() < 1e-8, "{}", verdict.probability);
    assert_eq!(verdict.probability_error, 0.0);
    assert!((verdict.findings[0].sigma_mm - 0.01).abs() < 1e-12);
    assert_eq!(verdict.conformity, Conformity::Met);
    // The guard band of ISO 14253-1 is 1.645 u.
    let conformity = |difference| at(difference, DecisionRule::Iso14253).conformity;
    assert_eq!(conformity(0.083_5), Conformity::Met);
    assert_eq!(conformity(0.083_6), Conformity::CannotTell);
    assert_eq!(conformity(0.116_4), Conformity::CannotTell);
    assert_eq!(conformity(0.116_5), Conformity::NotMet);
    let simple = |difference| at(difference, DecisionRule::SimpleAcceptance).conformity;
    assert_eq!(simple(0.1), Conformity::Met);
    assert_eq!(simple(0.100_001), Conformity::NotMet);
    let guard = |risk| at(0.08, DecisionRule::GuardBand { risk }).conformity;
    assert_eq!(guard(0.023), Conformity::Met);
    assert_eq!(guard(0.0227), Conformity::CannotTell);
}

#[test]
fn exact_heights_are_in_or_out() {
    let xy = [[mm(0.0), mm(0.0)], [mm(100.0), mm(0.0)], [mm(200.0), mm(0.0)]];
    let heights = [mm(0.0), mm(0.1), mm(0.2)];
    let rule = DecisionRule::Iso14253;
    // No errors at all, and one that all have in common.
    for variance in [0.0, 4.0] {
        let covariance = [variance; 9];
        let assess = |limit| {
            assess(&xy, &heights, &covariance, &Limits::overall(mm(limit)), &[], rule).unwrap()
        };
        let just = assess(0.1);
        assert_eq!((just.probability, just.conformity), (1.0, Conformity::Met));
        assert_eq!(just.basis, Basis::Exact);
        let beyond = assess(0.099_999);
        assert_eq!((beyond.probability, beyond.conformity), (0.0, Conformity::NotMet));
    }
    let plain = check(&xy, &heights, &Limits::overall(mm(0.1)), &[]).unwrap();
    assert_eq!((plain.basis, plain.conformity), (Basis::Estimates, Conformity::Met));
    assert!(plain.probability.is_nan());
}

#[test]
fn slopes_that_it_takes() {
    let xy = [[mm(0.0), mm(0.0)], [mm(1000.0), mm(0.0)], [mm(0.0), mm(1000.0)]];
    // 0.5 mm in a metre along with ±0.1 mm: 0.3 mm/m at the least.
    let heights = [mm(0.0), mm(0.5), mm(0.0)];
    let limits = Limits {
        slope_along_um_per_m: 250,
        slope_across_um_per_m: 250,
        ..Limits::overall(mm(0.1))
    };
    let verdict = check(&xy, &heights, &limits, &[]).unwrap();
    assert!(!verdict.meets_limits);
    let [along, across] = &verdict.slopes[..] else { panic!("two slopes") };
    assert!((along.found_mm_per_m - 0.3).abs() < 1e-6 && !along.meets_limits, "{along:?}");
    assert!(across.found_mm_per_m.abs() < 1e-6 && across.meets_limits, "{across:?}");
}

#[test]
fn the_same_on_every_run_and_for_points_in_another_order() {
    let mut random = Random(8);
    let bed = Bed::new(&mut random, 4, 2, 0.1, 0.03);
    let limits = limits(0.07, 0.06, 0.06, 0.08);
    let verdict = bed.assess(&limits, DecisionRule::Iso14253);
    assert_eq!(verdict, bed.assess(&limits, DecisionRule::Iso14253));
    let turned = Bed {
        xy: bed.xy.iter().rev().copied().collect(),
        heights: bed.heights.iter().rev().copied().collect(),
        joints: bed.joints.iter().map(|joint| joint.map(|at| bed.xy.len() - 1 - at)).collect(),
        factors: bed.factors.iter().map(|f| f.iter().rev().copied().collect()).collect(),
    };
    let other = turned.assess(&limits, DecisionRule::Iso14253);
    let error = verdict.probability_error.hypot(other.probability_error);
    assert!((verdict.probability - other.probability).abs() <= 5.0 * error);
}

#[test]
fn bad_input_is_told() {
    let xy = [[mm(0.0), mm(0.0)], [mm(100.0), mm(0.0)]];
    let limits = Limits::overall(mm(0.1));
    let told = |covariance: &[f64], rule| {
        assess(&xy, &[mm(0.0); 2], covariance, &limits, &[], rule).unwrap_err().to_string()
    };
    let rule = DecisionRule::Iso14253;
    assert!(told(&[1.0, 2.0, 2.0, 1.0], rule).contains("positive semidefinite"));
    assert!(told(&[1.0, 0.5, 0.4, 1.0], rule).contains("covariance[0, 1]"));
    assert!(told(&[1.0, f64::NAN, 0.0, 1.0], rule).contains("covariance[0, 1]"));
    assert!(told(&[-1.0, 0.0, 0.0, 1.0], rule).contains("covariance[0, 0]"));
    assert!(told(&[1.0], rule).contains("2 × 2"));
    for risk in [0.0, 0.5, 1.0, -0.1, f64::NAN, f64::INFINITY] {
        assert!(told(&[0.0; 4], DecisionRule::GuardBand { risk }).contains("risk"));
    }
}

mod before_lifting {
    use super::*;
    use truebed::{Shim, ShimProblem, Status, Support, plan_shims};

    /// Two legs 0.93 mm apart, ±0.05 mm: one piece of 0.85 is just inside, 0.85 and 0.05 are safe.
    fn problem(sigma: f64) -> ShimProblem {
        let leg = |x: f64, height| Support { x: mm(x), y: mm(0.0), height: mm(height) };
        let stock = vec![Shim::new(mm(0.85), Some(4)), Shim::new(mm(0.05), Some(4))];
        let legs = vec![leg(0.0, 0.0), leg(2000.0, -0.93)];
        let mut problem = ShimProblem::new(legs, stock, Limits::overall(mm(0.05)));
        problem.covariance_mm2 = Some(vec![sigma * sigma, 0.0, 0.0, sigma * sigma]);
        problem
    }

    #[test]
    fn one_more_shim_makes_it_safe() {
        let mut problem = problem(0.02);
        let bold = plan_shims(&problem).unwrap();
        assert_eq!((bold.status, bold.pieces), (Status::Proven, 1));
        let rule = DecisionRule::Iso14253;
        let verdict = bold.predict(&problem, rule).unwrap();
        assert!(verdict.meets_limits && verdict.conformity == Conformity::CannotTell);
        problem.options.risk = Some(0.05);
        let safe = plan_shims(&problem).unwrap();
        assert_eq!((safe.status, safe.pieces), (Status::Proven, 2));
        let verdict = safe.predict(&problem, rule).unwrap();
        assert_eq!(verdict.conformity, Conformity::Met);
        // 0.02 √2 of the difference; 0.07 and 0.13 to the ends.
        assert!((verdict.probability - 0.993_3).abs() < 1e-4, "{}", verdict.probability);
    }

    #[test]
    fn pieces_have_an_uncertainty_too() {
        let mut problem = problem(0.0);
        problem.stock[0].sigma = mm(0.02);
        let plan = plan_shims(&problem).unwrap();
        let verdict = plan.predict(&problem, DecisionRule::Iso14253).unwrap();
        // One piece, 0.08 of 0.1: Φ(1).
        assert!((verdict.probability - 0.841_345).abs() < 1e-6, "{}", verdict.probability);
        problem.covariance_mm2 = None;
        assert_eq!(verdict, plan.predict(&problem, DecisionRule::Iso14253).unwrap());
        problem.stock[0].sigma = Length::ZERO;
        let verdict = plan.predict(&problem, DecisionRule::Iso14253).unwrap();
        assert_eq!(verdict.basis, Basis::Estimates);
    }

    #[test]
    fn what_cannot_be_guarded_is_told() {
        let mut problem = problem(0.1);
        problem.options.risk = Some(0.05);
        let told = plan_shims(&problem).unwrap_err().to_string();
        assert!(told.contains("covariance[0, 1]"), "{told}");
        assert!(told.contains("0.051"), "0.1 mm / 1.96: {told}");
        problem.covariance_mm2 = None;
        assert!(plan_shims(&problem).unwrap_err().to_string().contains("covariance"));
        for risk in [0.0, 0.5, f64::NAN] {
            problem.options.risk = Some(risk);
            assert!(plan_shims(&problem).unwrap_err().to_string().contains("risk"));
        }
    }
}

mod next {
    use super::*;
    use truebed::{Claim, Instrument, NextReadings, Reading, Survey, adjust, read_next};

    fn rise(a: &str, b: &str, mm: f64, sigma_mm: f64) -> Reading {
        Reading::rise(a, b, mm, Some(sigma_mm))
    }

    fn claim(limit: f64) -> Claim {
        let at = |x: f64| [mm(x), mm(0.0)];
        Claim {
            points: ["A", "B", "C"].map(str::to_owned).to_vec(),
            xy: vec![at(0.0), at(1000.0), at(2000.0)],
            lifts: Vec::new(),
            limits: Limits::overall(mm(limit)),
            joints: Vec::new(),
            rule: DecisionRule::Iso14253,
        }
    }

    /// B is well known and C is not: C is to be read again, and reading B again helps little.
    #[test]
    fn the_doubtful_point_comes_first() {
        let survey = Survey::new(vec![rise("A", "B", 0.0, 0.005), rise("A", "C", 0.09, 0.03)]);
        let candidates =
            [rise("A", "B", 0.0, 0.01), rise("A", "C", 0.0, 0.01), rise("B", "C", 0.0, 0.01)];
        let next = read_next(&survey, &candidates, &claim(0.05)).unwrap();
        assert_eq!(next.readings[2].candidate, 0);
        assert!(!next.enough());
        assert!(next.readings.iter().all(|reading| reading.doubt <= next.doubt));
        assert!(next.readings[0].doubt < 0.6 * next.doubt, "{next:?}");
        assert_eq!(next.verdict.conformity, Conformity::CannotTell);
        // Far inside there is nothing to be gained.
        let next = read_next(&survey, &candidates, &claim(0.2)).unwrap();
        assert!(next.enough() && next.doubt < 1e-3, "{next:?}");
    }

    /// The mean doubt after a reading, and how often the verdict changes, by reading it many times.
    #[test]
    fn foretold_is_what_comes() {
        const TIMES: usize = 4000;
        let readings = vec![rise("A", "B", 0.03, 0.02), rise("A", "C", 0.07, 0.03)];
        let survey = Survey::new(readings.clone());
        let sigma = 0.015;
        let claim = claim(0.05);
        let next: NextReadings = read_next(&survey, &[rise("B", "C", 0.0, sigma)], &claim).unwrap();
        let told = next.readings[0];
        let mut random = Random(9);
        let (mut doubt, mut changes) = (0.0, 0);
        // What B to C says comes from what is known of both.
        let spread = (0.02_f64.powi(2) + 0.03_f64.powi(2) + sigma * sigma).sqrt();
        for _ in 0..TIMES {
            let said = 0.04 + spread * random.normal();
            let mut more = readings.clone();
            more.push(rise("B", "C", said, sigma));
            let heights = adjust(&Survey::new(more)).unwrap();
            let tops: Vec<Length> = heights.mm.iter().map(|&height| mm(height)).collect();
            let verdict =
                assess(&claim.xy, &tops, &heights.covariance_mm2(), &claim.limits, &[], claim.rule)
                    .unwrap();
            doubt += verdict.probability.min(1.0 - verdict.probability) / TIMES as f64;
            changes += usize::from(verdict.conformity != next.verdict.conformity);
        }
        assert!((told.doubt - doubt).abs() < 0.01, "{told:?}: {doubt}");
        let changes = changes as f64 / TIMES as f64;
        assert!((told.changes - changes).abs() < 0.05, "{told:?}: {changes}");
    }

    #[test]
    fn bad_input_is_told() {
        let survey = Survey::new(vec![rise("A", "B", 0.0, 0.01), rise("A", "C", 0.0, 0.01)]);
        let told = |candidates: &[Reading], claim: &Claim| {
            read_next(&survey, candidates, claim).unwrap_err().to_string()
        };
        assert!(told(&[], &claim(0.1)).contains("candidates"));
        let candidates = [rise("B", "C", 0.0, 0.01)];
        let other = Claim { points: ["A", "B", "D"].map(str::to_owned).to_vec(), ..claim(0.1) };
        assert!(told(&candidates, &other).contains("points[2]"));
        let other = Claim { lifts: vec![mm(1.0)], ..claim(0.1) };
        assert!(told(&candidates, &other).contains("lifts"));
        assert!(told(&[rise("B", "C", 0.0, -1.0)], &claim(0.1)).contains("readings[2]"));
        let alone = Reading::from_setup("door", Instrument::Laser, "B", 1200.0, Some(0.01));
        assert!(told(&[alone], &claim(0.1)).starts_with("readings[2].setup: got \"door\""));
    }
}
