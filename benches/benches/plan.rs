//! Times of `plan_shims`: four legs and eight kinds, and the first instance of each small family.

use criterion::{Criterion, criterion_group, criterion_main};
use truebed::plan_shims;
use truebed_benches::kinds::{INCH, percent_of_need};
use truebed_benches::{Family, Floor};
use truebed_tests::random::Random;

fn plan(criterion: &mut Criterion) {
    let floor = Floor::legs(4).uneven(12, &mut Random(1));
    let stock = percent_of_need(&floor, &INCH[..8], 150);
    let problem = floor.problem(stock, 63_500);
    criterion.bench_function("four legs, eight kinds", |bencher| {
        bencher.iter(|| plan_shims(&problem));
    });
    for family in Family::all() {
        let mut problem = (family.problem)(1);
        // The crowd is there for its budget, not for its time.
        if family.name == "crowd" {
            continue;
        }
        problem.options.budget.time_ms = Some(20_000);
        criterion.bench_function(family.name, |bencher| bencher.iter(|| plan_shims(&problem)));
    }
}

criterion_group! {
    name = plans;
    config = Criterion::default().sample_size(10);
    targets = plan
}
criterion_main!(plans);
