//! Jobs whose slates are described as plates: the plan is one on which they lie, and all that is said of
//! the bed is of its real surface.

use std::cell::Cell;
use std::cmp::Reverse;

use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use serde_json::json;
use truebed::{
    BearSettings, BedProblem, Budget, Job, LaidSlab, Length, NoBed, Order, Slab, SlabSupport,
    StageOutcome, Status, bear, plan_bed,
};
use truebed_tests::random::Random;

fn job(name: &str) -> Job {
    let path = format!("{}/vectors/good/{name}.job.json", env!("CARGO_MANIFEST_DIR"));
    Job::from_json(&std::fs::read_to_string(path).unwrap()).unwrap()
}

fn slates(job: Job) -> StageOutcome {
    job.run().unwrap().outcome.unwrap().slates.unwrap()
}

/// The slab of a job of one slate, its supports and the heights that its plan starts from.
fn one_slab(job: &Job, stage: &StageOutcome) -> (Slab, Vec<SlabSupport>, Vec<Length>) {
    let piece = &job.slates.as_ref().unwrap().pieces[0];
    let [x, y] = [piece.x, piece.y].map(|ends| ends.map(Length::mm));
    let material = piece.material;
    let slab = Slab::new(
        x,
        y,
        piece.thickness.mm(),
        material.e_gpa,
        material.nu,
        material.density_kg_per_m3,
    );
    let supports = job.points.iter().map(|point| SlabSupport::at([point.x.mm(), point.y.mm()]));
    let heights = stage.heights.iter().map(|it| Length::from_mm(it.height_mm).unwrap());
    (slab, supports.collect(), heights.collect())
}

fn close(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within, "{a} and {b} differ by more than {within}");
}

/// What `plan_bed` finds, which is held against every plan there is, is what the job says.
#[test]
fn a_job_of_one_slate_is_planned_as_a_bed() {
    for name in ["slate-lies", "slate-rocks"] {
        let job = job(name);
        let stage = slates(job.clone());
        let (slab, supports, frame) = one_slab(&job, &stage);
        let limits = job.slates.as_ref().unwrap().limits.clone();
        let bed = plan_bed(&BedProblem::new(slab, supports, frame, job.stock.clone(), limits));
        let bed = bed.unwrap();
        let of_job: Vec<Vec<Length>> = job
            .points
            .iter()
            .map(|point| stage.stacks.iter().find(|it| it.id == point.id).unwrap().shims.clone())
            .collect();
        if name == "slate-rocks" {
            assert_eq!(bed.why, Some(NoBed::NotCarried));
            assert!(stage.notes.iter().any(|note| note.contains("No plan from this stock")));
            assert!(!stage.slates[0].loose.is_empty());
            continue;
        }
        let stacks: Vec<Vec<Length>> = bed
            .stacks
            .iter()
            .map(|stack| stack.iter().map(|&kind| job.stock[kind].thickness).collect())
            .collect();
        assert_eq!((stage.plan.status, bed.status), (Status::Proven, Status::Proven));
        assert_eq!(of_job, stacks);
        for (support, force) in stage.slates[0].supports.iter().zip(&bed.bearing.forces_n) {
            close(support.force_n.unwrap(), *force, 1e-9);
        }
    }
}

/// The point plan leaves slates on some of their stacks; the job's does not, and all slates are searched
/// together for it.
#[test]
fn several_slates_lie_on_all_their_stacks() {
    let with = job("slates-lie");
    let mut without = with.clone();
    let stage = without.slates.as_mut().unwrap();
    (stage.pieces, stage.test_load) = (Vec::new(), None);
    let (with, without) = (slates(with), slates(without));
    assert!(with.met && without.met);
    assert!(with.notes.iter().any(|note| note.contains("a slate would not lie on all its stacks")));
    assert!(with.plan.pieces >= without.plan.pieces);
    let [bound, least] = [with.plan.bound, without.plan.bound];
    assert!(bound >= least && bound <= with.plan.pieces as f64, "{bound} {least}");
    assert!(with.slates.iter().all(|slate| slate.loose.is_empty()));
    assert!(with.slates.iter().flat_map(|slate| &slate.supports).all(|it| it.carries));
    // The joints by the edges of both slates, point by point.
    assert_eq!(with.joint_steps.len(), 2);
}

/// What the search of all slates does not know is found by narrowing, and nothing is said to be proven
/// or cut short.
#[test]
fn what_was_not_searched_is_not_called_cut_short() {
    let mut job = job("slates-lie");
    job.slates.as_mut().unwrap().limits.slope_along_um_per_m = 5;
    let job = job.run().unwrap();
    let stage = job.outcome.as_ref().unwrap().slates.as_ref().unwrap();
    assert!(stage.met && stage.plan.status == Status::Budget);
    assert!(stage.notes.iter().any(|note| note.contains("a better one was not searched")));
    let sheet = job.sheet_of_outcome();
    assert!(sheet.contains("Whether this is the best plan is not proven."), "{sheet}");
    assert!(!sheet.contains("cut short"), "{sheet}");
}

/// A slate whose points are all on one side of its middle falls: the answer names the line, on the sheet,
/// the page and the picture too, and is no plan.
#[test]
fn a_slate_that_tips_is_no_plan_and_says_where() {
    let job = job("slate-tips").run().unwrap();
    let stage = job.outcome.as_ref().unwrap().slates.as_ref().unwrap();
    assert!(!stage.met && stage.plan.status == Status::Infeasible);
    let slate = &stage.slates[0];
    assert_eq!(slate.tips_about, Some(["S2".to_owned(), "S6".to_owned()]));
    // Its weight acts 65 mm beyond the line.
    let weight = 1.370 * 1.350 * 0.0254 * 2793.6 * 9.80665;
    close(slate.tips_moment_n_mm.unwrap(), 65.0 * weight, 1e-6 * weight);
    let where_to = "TIPS OVER the line from S2 to S6";
    assert!(stage.notes.iter().any(|note| note.contains(where_to)));
    let headline = format!("NO PLAN. Slate slate {where_to}.");
    let plain = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(plain(job.sheet_of_outcome()).contains(&headline));
    assert!(plain(job.page_of_outcome().unwrap()).contains(&headline));
}

/// Where a slate clears a stack, limits and heights are those of the slate.
#[test]
fn limits_hold_for_the_slate_where_it_clears_its_stacks() {
    let job = job("slate-rocks");
    let stage = slates(job.clone());
    let (slab, supports, frame) = one_slab(&job, &stage);
    let tops: Vec<f64> = frame.iter().map(|it| it.mm()).collect();
    let bearing = bear(&slab, &supports, &tops, &[], BearSettings::default()).unwrap();
    let places: Vec<[f64; 2]> = supports.iter().map(|it| it.xy_mm).collect();
    let heights = bearing.at(&places).unwrap();
    let ends = heights
        .iter()
        .fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], &it| [low.min(it), high.max(it)]);
    assert!(stage.stacks.iter().all(|stack| stack.shims.is_empty()));
    close(stage.limits[0].found_mm, ends[1] - ends[0], 1e-5);
    // It rocks on two corners, and the other two are higher than their stacks.
    assert!(stage.met && stage.limits[0].found_mm > 0.13, "{}", stage.limits[0].found_mm);
    // What is too much for the slate is too much, although the stacks are even enough.
    let mut strict = job.clone();
    let limit = Length::from_mm(0.065).unwrap();
    strict.slates.as_mut().unwrap().limits.overall = Some(limit);
    let unmet = slates(strict);
    assert!(!unmet.met && unmet.plan.status == Status::Infeasible);
    assert!(unmet.stock.iter().all(|kind| kind.used == 0));
    // The surface of the outcome is that of the slab, above the target.
    let slate = &stage.slates[0];
    let corner = bearing.at(&[[slate.x_mm[1], slate.y_mm[0]]]).unwrap()[0];
    close(slate.surface_mm[8][0], corner - stage.plan.target_mm, 2e-6);
}

/// The uncertainty of forces by simulation: heights that err by what their readings do.
#[test]
fn forces_are_as_uncertain_as_a_simulation_says() {
    let mut job = job("slate-lies");
    for reading in &mut job.readings {
        if let truebed::Reading::Height { sigma, .. } = reading {
            *sigma = Some(truebed::Mm(0.004));
        }
    }
    let stage = slates(job.clone());
    let (slab, supports, _) = one_slab(&job, &stage);
    let tops: Vec<f64> = (job.points.iter())
        .map(|point| stage.stacks.iter().find(|it| it.id == point.id).unwrap().top_mm)
        .collect();
    let laid = truebed::LaidSlab::new(&slab, &supports, &[], BearSettings::default()).unwrap();
    let mut random = Random(7);
    let draws = 4000;
    let mut sums = vec![[0.0; 2]; tops.len()];
    for _ in 0..draws {
        let erring = tops.iter().enumerate().map(|(at, top)| {
            let gap = if job.points[at].id == "S3" { 0.05 / 12_f64.sqrt() } else { 0.0 };
            top + 0.004 * random.normal() + gap * random.normal()
        });
        let bearing = laid.bear(&erring.collect::<Vec<_>>()).unwrap();
        for (sums, force) in sums.iter_mut().zip(&bearing.forces_n) {
            *sums = [sums[0] + force, sums[1] + force * force];
        }
    }
    for (support, [sum, squares]) in stage.slates[0].supports.iter().zip(sums) {
        let mean = sum / f64::from(draws);
        let sigma = (squares / f64::from(draws) - mean * mean).sqrt();
        let said = support.force_sigma_n.unwrap();
        assert!((said / sigma - 1.0).abs() < 0.06, "{}: {said} and {sigma}", support.id);
    }
}

/// A budget that is spent ends with the plan for points, and says that slates are loose on it.
#[test]
fn a_budget_holds_for_the_slates_too() {
    let job = job("slates-lie");
    let budget = Budget { nodes: 300, time_ms: None };
    let stage = job.run_until(&budget, &|| false).unwrap().outcome.unwrap().slates.unwrap();
    assert!(stage.plan.nodes <= 400, "{}", stage.plan.nodes);
}

/// Two slates side by side that share a stock: all lengths in micrometres.
#[derive(Debug, Clone)]
struct Two {
    /// Heights of the points without shims, slate by slate.
    heights: [Vec<i64>; 2],
    /// Thickness and count of each kind, those in place included.
    stock: Vec<(i64, u32)>,
    /// Price of each kind.
    prices: Vec<u64>,
    /// Pieces of each kind in place, point by point.
    placed: Option<Vec<Vec<u32>>>,
    order: Order,
    overall: i64,
    joint: Option<i64>,
    least_force_n: f64,
    thick: i64,
    keep_highest: bool,
}

/// The names of the two.
const NAMES: [&str; 2] = ["a", "b"];

/// Where the points of a slate that begins at 0 stand, mm.
const POINTS: [[i64; 2]; 4] = [[40, 50], [560, 50], [560, 750], [40, 750]];

impl Two {
    fn job(&self) -> Job {
        let um = |um: i64| format!("{um} um");
        let all =
            || (0..2).flat_map(|slate| (0..self.heights[slate].len()).map(move |at| (slate, at)));
        let id = |(slate, at): (usize, usize)| format!("{}{at}", ["A", "B"][slate]);
        let points = all().map(|(slate, at)| {
            let [x, y] = POINTS[at];
            let (x, y) = (format!("{} mm", x + 600 * slate as i64), format!("{y} mm"));
            json!({"id": id((slate, at)), "x": x, "y": y, "role": {"slate": NAMES[slate]}})
        });
        let in_place = |number: usize| self.placed.as_ref().map_or(0, |it| self.lift(&it[number]));
        let readings = all().enumerate().map(|(number, (slate, at))| {
            let height = self.heights[slate][at] + in_place(number);
            json!({"kind": "height", "point": id((slate, at)), "value": um(height)})
        });
        let stock = self.stock.iter().enumerate().map(|(kind, &(thickness, count))| {
            let placed: u32 = self.placed.iter().flatten().map(|counts| counts[kind]).sum();
            json!({"thickness": um(thickness), "count": count - placed, "price": self.prices[kind]})
        });
        let pieces = NAMES.iter().enumerate().map(|(slate, name)| {
            let x = [600 * slate, 600 * slate + 600].map(|x| format!("{x} mm"));
            json!({"name": name, "x": x, "y": ["0 mm", "800 mm"], "thickness": um(self.thick),
                "least_force_n": self.least_force_n})
        });
        let mut stage = json!({
            "limits": {"overall": um(self.overall)},
            "pieces": pieces.collect::<Vec<_>>(),
            "options": {"keep_highest": self.keep_highest, "order": self.order},
        });
        if let Some(placed) = &self.placed {
            let shims = |counts: &[u32]| -> Vec<String> {
                let each = counts.iter().zip(&self.stock);
                each.flat_map(|(&count, kind)| vec![um(kind.0); count as usize]).collect()
            };
            let stack = |(at, counts): ((usize, usize), &Vec<u32>)| json!({"id": id(at), "shims": shims(counts)});
            stage["placed"] = json!(all().zip(placed).map(stack).collect::<Vec<_>>());
        }
        if let Some(step) = self.joint {
            stage["limits"]["joint_step"] = json!(um(step));
            stage["joints"] = json!([["A1", "B0"]]);
        }
        let job = json!({
            "version": 1,
            "stock": stock.collect::<Vec<_>>(),
            "points": points.collect::<Vec<_>>(),
            "readings": readings.collect::<Vec<_>>(),
            "slates": stage,
        });
        Job::from_json(&job.to_string()).unwrap()
    }

    fn lift(&self, counts: &[u32]) -> i64 {
        counts.iter().zip(&self.stock).map(|(&count, kind)| i64::from(count) * kind.0).sum()
    }

    /// The thicknesses that a stack can have within the limits, with the pieces of each kind.
    fn stacks(&self) -> Vec<(i64, Vec<u32>)> {
        let all = || self.heights.iter().flatten();
        let thickest = all().max().unwrap() - all().min().unwrap() + 2 * self.overall;
        let mut stacks = vec![(0, Vec::new())];
        for &(thickness, count) in &self.stock {
            let longer = stacks.iter().flat_map(|(sum, counts)| {
                (0..=count).map(move |more| {
                    let counts: Vec<u32> = counts.iter().copied().chain([more]).collect();
                    (sum + thickness * i64::from(more), counts)
                })
            });
            stacks = longer.filter(|(sum, _)| *sum <= thickest).collect();
        }
        stacks
    }

    /// All choices of stacks on which one slate lies by itself and within the overall limit, by index.
    fn lies(&self, slate: usize, stacks: &[(i64, Vec<u32>)]) -> Vec<Vec<usize>> {
        let x = 600.0 * slate as f64;
        let slab =
            Slab::new([x, x + 600.0], [0.0, 800.0], 1e-3 * self.thick as f64, 48.36, 0.25, 2793.6);
        let count = self.heights[slate].len();
        let support =
            |[along, across]: [i64; 2]| SlabSupport::at([along as f64 + x, across as f64]);
        let supports: Vec<SlabSupport> = POINTS[..count].iter().copied().map(support).collect();
        let laid = LaidSlab::new(&slab, &supports, &[], BearSettings::default()).unwrap();
        let acts = slab.weight_n();
        let mut found = Vec::new();
        for choice in 0..stacks.len().pow(count as u32) {
            let chosen: Vec<usize> =
                (0..count).map(|at| choice / stacks.len().pow(at as u32) % stacks.len()).collect();
            let tops: Vec<i64> = chosen
                .iter()
                .zip(&self.heights[slate])
                .map(|(&it, height)| height + stacks[it].0)
                .collect();
            if tops.iter().max().unwrap() - tops.iter().min().unwrap() > 2 * self.overall {
                continue;
            }
            let bearing =
                laid.bear(&tops.iter().map(|&um| 1e-3 * um as f64).collect::<Vec<_>>()).unwrap();
            let least = self.least_force_n.max(2e-6 * acts) - 1e-6 * acts;
            if (0..count).all(|at| bearing.gaps_mm[at] == 0.0 && bearing.forces_n[at] >= least) {
                found.push(chosen);
            }
        }
        found
    }

    /// The rank of the best plan on which both lie, if there is one: the first goals, range of tops, kinds,
    /// twice the level, and stacks from the lowest point up.
    fn best(&self) -> Option<TwoRank> {
        let stacks = self.stacks();
        let [one, other] = [0, 1].map(|slate| self.lies(slate, &stacks));
        let pairs = one.iter().flat_map(|a| other.iter().map(move |b| [a.as_slice(), b].concat()));
        pairs
            .filter_map(|chosen| {
                self.rank(&chosen.iter().map(|&at| stacks[at].1.clone()).collect::<Vec<_>>())
            })
            .min()
    }

    /// What a plan is ordered by; none where it is no plan.
    fn rank(&self, counts: &[Vec<u32>]) -> Option<TwoRank> {
        let heights: Vec<i64> = self.heights.iter().flatten().copied().collect();
        let tops: Vec<i64> =
            heights.iter().zip(counts).map(|(height, it)| height + self.lift(it)).collect();
        let (high, low) = (*tops.iter().max()?, *tops.iter().min()?);
        let used: Vec<u32> =
            (0..self.stock.len()).map(|kind| counts.iter().map(|it| it[kind]).sum()).collect();
        let pieces = |counts: &Vec<u32>| counts.iter().sum::<u32>();
        let highest = *heights.iter().max()?;
        let before = |at: usize, kind: usize| self.placed.as_ref().map_or(0, |it| it[at][kind]);
        let was_bare = |at: usize| self.placed.as_ref().is_some_and(|it| pieces(&it[at]) == 0);
        let is_bare = |at: usize| {
            let stays = !self.keep_highest || heights[at] == highest || was_bare(at);
            pieces(&counts[at]) == 0 && stays
        };
        let step =
            self.joint.is_none_or(|step| (tops[1] - tops[self.heights[0].len()]).abs() <= step);
        let enough = used.iter().zip(&self.stock).all(|(&used, kind)| used <= kind.1);
        if high - low > 2 * self.overall || !step || !enough || !(0..tops.len()).any(is_bare) {
            return None;
        }
        let mut order: Vec<usize> = (0..heights.len()).collect();
        order.sort_by_key(|&at| heights[at]);
        let mut thickest: Vec<usize> = (0..self.stock.len()).collect();
        thickest.sort_by_key(|&kind| Reverse(self.stock[kind].0));
        let stack = |&at: &usize| {
            let kinds = thickest.iter().map(|&kind| Reverse(counts[at][kind]));
            (pieces(&counts[at]), kinds.collect())
        };
        let (mut price, mut moved, mut lifted) = (0, 0, 0);
        for (at, stack) in counts.iter().enumerate() {
            let mut here = 0;
            for (kind, &count) in stack.iter().enumerate() {
                let more = count.saturating_sub(before(at, kind));
                price += u64::from(more) * self.prices[kind];
                here += u64::from(more + before(at, kind).saturating_sub(count));
            }
            moved += here;
            lifted += u64::from(here > 0);
        }
        let goals = match self.order {
            Order::Cheapest => [price, moved],
            Order::FewestLifts => [lifted, moved],
            _ if self.placed.is_some() => [lifted, moved],
            _ => [moved, 0],
        };
        Some((
            goals,
            high - low,
            used.iter().filter(|&&used| used > 0).count(),
            high + low,
            order.iter().map(stack).collect(),
        ))
    }
}

/// What a plan of two slates is ordered by.
type TwoRank = ([u64; 2], i64, usize, i64, Vec<(u32, Vec<Reverse<u32>>)>);

fn two_slates() -> impl Strategy<Value = Two> {
    let heights = || prop::collection::vec(-4..=0_i64, 3..=4);
    let beds = (
        (heights(), prop::collection::vec(-4..=0_i64, 4)),
        prop::collection::vec((1..6_i64, 1..7_u32), 1..=2),
        prop::sample::select(vec![30_i64, 60, 110]),
        prop::option::of(prop::sample::select(vec![30_i64, 60])),
        prop::sample::select(vec![0.0, 0.0, 15.0, 50.0]),
        prop::sample::select(vec![25_000_i64, 45_000, 60_000]),
        prop::bool::weighted(0.8),
    );
    let goals = (
        prop::sample::select(vec![Order::FewestPieces, Order::FewestLifts, Order::Cheapest]),
        prop::collection::vec(prop::sample::select(vec![0, 1, 20, 45]), 2),
        prop::option::of(prop::collection::vec(prop::collection::vec(0..2_u32, 2), 8)),
    );
    (beds, goals).prop_map(|(beds, (order, prices, placed))| {
        let ((one, other), mut stock, overall, joint, least_force_n, thick, keep_highest) = beds;
        let [one, other] = [one, other].map(|slate| slate.iter().map(|it| 50 * it).collect());
        stock.sort_unstable();
        stock.dedup_by_key(|kind| kind.0);
        let mut stock: Vec<(i64, u32)> =
            stock.iter().map(|&(thick, count)| (25 * thick, count)).collect();
        let heights: [Vec<i64>; 2] = [one, other];
        let points = heights.iter().map(Vec::len).sum();
        // What the stock has is in place first.
        let placed = placed.map(|mut placed| {
            placed.truncate(points);
            for counts in &mut placed {
                counts.truncate(stock.len());
            }
            for (kind, of) in stock.iter_mut().enumerate() {
                let in_place: u32 = placed.iter().map(|counts| counts[kind]).sum();
                of.1 = of.1.max(in_place);
            }
            placed
        });
        Two {
            heights,
            stock,
            prices,
            placed,
            order,
            overall,
            joint,
            least_force_n,
            thick,
            keep_highest,
        }
    })
}

/// Two slates share stock, limits and the highest point: what is called proven is the best of all plans on
/// which both lie, and what is called none is none. True where the plan is not the one for points.
fn holds_against_all(two: &Two) -> Result<bool, TestCaseError> {
    const MOST: usize = 8;
    prop_assume!(two.stacks().len() <= MOST);
    let best = two.best();
    let job = two.job();
    let stage = slates(job.clone());
    let Some(best) = best else {
        let none = stage.notes.iter().any(|note| note.contains("No plan from this stock"));
        prop_assert!(none || stage.plan.status == Status::Infeasible, "{:?}", stage.notes);
        return Ok(false);
    };
    prop_assert_eq!(stage.plan.status, Status::Proven, "{:?}", stage.notes);
    let of_point = |point: &truebed::Point| {
        let shims = &stage.stacks.iter().find(|it| it.id == point.id).unwrap().shims;
        let of = |kind: &truebed::Shim| {
            shims.iter().filter(|shim| **shim == kind.thickness).count() as u32
        };
        job.stock.iter().map(of).collect()
    };
    let counts: Vec<Vec<u32>> = job.points.iter().map(of_point).collect();
    prop_assert_eq!(two.rank(&counts), Some(best));
    prop_assert!(stage.met && stage.slates.iter().all(|slate| slate.loose.is_empty()));
    Ok(stage.notes.iter().any(|note| note.contains("a slate would not lie on all its stacks")))
}

#[test]
fn a_plan_of_two_slates_is_the_best_there_is() {
    let config = ProptestConfig {
        cases: 300,
        max_shrink_iters: 30,
        // Jobs of too many plans to try.
        max_global_rejects: 10_000,
        failure_persistence: None,
        ..Default::default()
    };
    // Plans that were searched for: with pieces in place, and in each order.
    let searched = Cell::new([0; 4]);
    let tried = TestRunner::new(config).run(&two_slates(), |two| {
        if holds_against_all(&two)? {
            let mut found = searched.get();
            let order = match two.order {
                Order::FewestPieces => 0,
                Order::FewestLifts => 1,
                _ => 2,
            };
            found[order] += 1;
            found[3] += usize::from(two.placed.is_some());
            searched.set(found);
        }
        Ok(())
    });
    tried.unwrap_or_else(|error| panic!("{error}"));
    assert!(searched.get().iter().all(|&found| found > 0), "{:?}", searched.get());
}

/// Each slate could lie, but both together need six pieces: that is seen at once, and not after every plan
/// that would need more.
#[test]
fn a_stock_too_small_for_both_slates_is_seen_at_once() {
    let two = Two {
        heights: [vec![-150, -50, -50, -50], vec![0, -100, -50, -150]],
        stock: vec![(25, 5)],
        prices: vec![0, 0],
        placed: None,
        order: Order::FewestPieces,
        overall: 60,
        joint: None,
        least_force_n: 50.0,
        thick: 25_000,
        keep_highest: false,
    };
    assert!(!holds_against_all(&two).unwrap());
    let stage = slates(two.job());
    assert!(stage.plan.nodes < 20_000, "{}", stage.plan.nodes);
    let enough = Two { stock: vec![(25, 7)], ..two };
    assert!(enough.best().is_some());
    holds_against_all(&enough).unwrap();
}
