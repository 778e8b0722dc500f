//! Searches for small problems that cost much: `slow [SECONDS] [SEED] [NODES]`.
//!
//! Numbers that make a problem (`truebed_tests::slow`) are changed at random, and a change is kept
//! where the plan takes no less time within the same budget of nodes: so what the search finds is work
//! that the meter does not count. The worst are printed, as lines for `tests/data/slow.txt`.

use std::time::{Duration, Instant};

use truebed::plan_shims;
use truebed_tests::random::Random;
use truebed_tests::slow::{GENES, Genes, problem};

fn main() {
    let mut numbers = std::env::args().skip(1).filter_map(|text| text.parse::<u64>().ok());
    let seconds = numbers.next().unwrap_or(60);
    let mut random = Random(numbers.next().unwrap_or(1));
    let nodes = numbers.next().unwrap_or(100_000);
    let start = Instant::now();
    let cost = |genes: &Genes| {
        let mut problem = problem(genes);
        problem.options.budget.nodes = nodes;
        let (start, begun) = (Instant::now(), on_core());
        let plan = plan_shims(&problem);
        let time = on_core().zip(begun).map(|(end, begun)| end.saturating_sub(begun));
        (time.unwrap_or(start.elapsed()), plan.map_or(0, |plan| plan.nodes))
    };
    let mut worst: Vec<(Duration, u64, Genes)> = Vec::new();
    while start.elapsed() < Duration::from_secs(seconds) {
        let mut genes: Genes = [0; GENES];
        genes.fill_with(|| random.between(0, 99) as u8);
        let (mut time, mut spent) = cost(&genes);
        let mut in_vain = 0;
        while in_vain < 40 && start.elapsed() < Duration::from_secs(seconds) {
            let mut changed = genes;
            changed[random.between(0, GENES as i64 - 1) as usize] = random.between(0, 99) as u8;
            let (longer, more) = cost(&changed);
            in_vain += 1;
            if longer >= time {
                if longer > time + time / 10 {
                    in_vain = 0;
                }
                (time, spent, genes) = (longer, more, changed);
            }
        }
        worst.push((time, spent, genes));
        worst.sort_by_key(|found| std::cmp::Reverse(found.0));
        worst.truncate(8);
    }
    for (time, spent, genes) in worst {
        let genes: Vec<String> = genes.iter().map(u8::to_string).collect();
        println!("{} # {time:.1?}, {spent} nodes", genes.join(" "));
    }
}

/// How long this thread has had a core, where the system tells; others may want it too.
fn on_core() -> Option<Duration> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    Some(Duration::from_nanos(text.split_whitespace().next()?.parse().ok()?))
}
