//! Jobs whose slates are described as plates: the plan is one on which they lie, and all that is said of
//! the bed is of its real surface.

use truebed::{
    BearSettings, BedProblem, Budget, Job, Length, NoBed, Slab, SlabSupport, StageOutcome, Status,
    bear, plan_bed,
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

/// The point plan leaves slates on some of their stacks, and has fewer pieces; the job's does not.
#[test]
fn several_slates_lie_on_all_their_stacks() {
    let with = job("slates-lie");
    let mut without = with.clone();
    let stage = without.slates.as_mut().unwrap();
    (stage.pieces, stage.test_load) = (Vec::new(), None);
    let (with, without) = (slates(with), slates(without));
    assert!(with.met && without.met);
    assert!(with.plan.pieces > without.plan.pieces);
    assert_eq!((with.plan.status, with.plan.bound), (Status::Budget, without.plan.bound));
    assert!(with.slates.iter().all(|slate| slate.loose.is_empty()));
    assert!(with.slates.iter().flat_map(|slate| &slate.supports).all(|it| it.carries));
    // The joints by the edges of both slates, point by point.
    assert_eq!(with.joint_steps.len(), 2);
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
