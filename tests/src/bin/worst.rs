//! Searches for the document that costs most: by time with the default budget, by the time that a run
//! goes on once it is told to stop, or by memory.
//!
//! ```sh
//! cargo run --release -p truebed-tests --bin worst -- 600 time tests/worst
//! cargo run --release -p truebed-tests --bin worst -- tests/worst/*.json
//! ```
//!
//! Files are run and measured: whole, told to stop at some times, and with a `time_ms`. Else the arguments
//! are seconds, what to search for (`time`, `stop` or `memory`), and a folder into which the worst of each
//! start of the search is written. What is found stands on standard output, one line each: milliseconds,
//! MB, bytes of the document, what was asked, the recipe. Times are processor time, so that others on the
//! machine count for little. A run includes its sheet, picture and page.

use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

use truebed::{Budget, Job};
use truebed_tests::cost::{MOST_BYTES, Recipe, processor_time};
use truebed_tests::random::Random;

/// The system's allocator, counted.
struct Counted;

static NOW: AtomicUsize = AtomicUsize::new(0);
static PEAK: AtomicUsize = AtomicUsize::new(0);

fn more(bytes: usize) {
    let now = NOW.fetch_add(bytes, Ordering::Relaxed) + bytes;
    PEAK.fetch_max(now, Ordering::Relaxed);
}

// SAFETY: every call is handed on to the system's allocator as it is.
unsafe impl GlobalAlloc for Counted {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        more(layout.size());
        // SAFETY: the caller keeps to the contract of `alloc`.
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, block: *mut u8, layout: Layout) {
        NOW.fetch_sub(layout.size(), Ordering::Relaxed);
        // SAFETY: the caller keeps to the contract of `dealloc`.
        unsafe { System.dealloc(block, layout) }
    }
}

#[global_allocator]
static COUNTED: Counted = Counted;

/// What a run costs.
#[derive(Debug, Clone, Copy)]
struct Cost {
    took: Duration,
    peak: usize,
    /// How often it asked whether to stop.
    asked: usize,
}

/// When runs are told to stop, ms of processor time.
const STOPS_MS: [u64; 4] = [0, 20, 100, 400];

/// The `time_ms` that runs are given.
const TIMES_MS: [u64; 2] = [50, 500];

/// Nothing runs longer than this: it is bad enough.
const LONGEST: Duration = Duration::from_secs(30);

/// Runs a document with sheet, picture and page; nothing where it is refused. It is told to stop after so
/// much processor time.
fn run(text: &str, stop_after: Option<Duration>, time_ms: Option<u64>) -> Option<Cost> {
    let job = Job::from_json(text).ok()?;
    let before = NOW.load(Ordering::Relaxed);
    PEAK.store(before, Ordering::Relaxed);
    let start = processor_time();
    let spent = || processor_time().saturating_sub(start);
    let budget = Budget { nodes: u64::MAX, time_ms };
    let asked = Cell::new(0);
    let stop = || {
        asked.set(asked.get() + 1);
        spent() >= stop_after.unwrap_or(LONGEST)
    };
    let done = job.run_until(&budget, &stop).ok()?;
    let _ = (done.sheet_of_outcome(), done.picture_of_outcome(), done.page_of_outcome());
    let peak = PEAK.load(Ordering::Relaxed) - before;
    Some(Cost { took: spent(), peak, asked: asked.get() })
}

/// How long a run goes on that is told to stop after so many milliseconds.
fn goes_on(text: &str, stop_ms: u64) -> Option<Cost> {
    let after = Duration::from_millis(stop_ms);
    let cost = run(text, Some(after), None)?;
    Some(Cost { took: cost.took.saturating_sub(after), ..cost })
}

/// What a search for the worst by `what` makes of a document.
fn cost(text: &str, what: &str) -> Option<Cost> {
    match what {
        "stop" => STOPS_MS
            .map(|stop_ms| goes_on(text, stop_ms))
            .into_iter()
            .collect::<Option<Vec<_>>>()?
            .into_iter()
            .max_by_key(|cost| cost.took),
        _ => run(text, None, None),
    }
}

/// Runs the documents in files, and says what each costs.
fn measure(paths: &[String]) {
    for path in paths {
        let text = match std::fs::read_to_string(path) {
            Ok(text) => text,
            Err(error) => {
                eprintln!("{path}: {error}");
                continue;
            }
        };
        let Some(whole) = run(&text, None, None) else {
            println!("{path}: refused");
            continue;
        };
        let (ms, mb) = (whole.took.as_millis(), whole.peak / 1_000_000);
        println!("{path}: {} bytes, {ms} ms, {mb} MB, asked {} times", text.len(), whole.asked);
        for stop_ms in STOPS_MS {
            let on = goes_on(&text, stop_ms).map_or(0, |cost| cost.took.as_millis());
            println!("    told to stop after {stop_ms} ms it goes on for {on} ms");
        }
        for time_ms in TIMES_MS {
            let start = Instant::now();
            let took = run(&text, None, Some(time_ms)).map_or(Duration::ZERO, |cost| cost.took);
            let clock = start.elapsed().as_secs_f64() * 1000.0;
            let most = 1.2 * time_ms as f64 + 50.0;
            println!(
                "    with a time_ms of {time_ms}: {} ms, {clock:.0} ms by the clock, {:.2} of 1.2 × time_ms + 50 ms",
                took.as_millis(),
                clock / most
            );
        }
    }
}

fn main() {
    let paths: Vec<String> = std::env::args().skip(1).collect();
    if paths.first().is_some_and(|first| first.parse::<u64>().is_err()) {
        measure(&paths);
        return;
    }
    let mut arguments = std::env::args().skip(1);
    let seconds = arguments.next().and_then(|it| it.parse().ok()).unwrap_or(60);
    let what = arguments.next().unwrap_or_else(|| "time".to_owned());
    let folder = arguments.next().map(PathBuf::from);
    let clock = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH);
    let mut random = Random(clock.map_or(0, |it| it.as_nanos() as u64));
    let until = Instant::now() + Duration::from_secs(seconds);
    let size = |cost: &Cost| match what.as_str() {
        "memory" => cost.peak as f64,
        _ => cost.took.as_secs_f64(),
    };
    let mut starts = 0;
    while Instant::now() < until {
        let mut best: Option<(Recipe, Cost, String)> = None;
        let mut idle = 0;
        while idle < 25 && Instant::now() < until {
            let mut recipe = match &best {
                Some((recipe, ..)) => recipe.clone(),
                None => Recipe::new(&mut random),
            };
            for _ in 0..random.between(1, 3) {
                recipe.change(&mut random);
            }
            let text = recipe.document().to_string();
            let cost = if text.len() > MOST_BYTES { None } else { cost(&text, &what) };
            let better =
                cost.filter(|cost| best.as_ref().is_none_or(|it| size(cost) > size(&it.1)));
            idle += 1;
            if let Some(cost) = better {
                let much = best.as_ref().is_none_or(|it| size(&cost) > 1.1 * size(&it.1));
                idle = if much { 0 } else { idle };
                best = Some((recipe, cost, text));
            }
        }
        let Some((recipe, cost, text)) = best else { continue };
        starts += 1;
        let (ms, mb) = (cost.took.as_millis(), cost.peak / 1_000_000);
        println!("{ms} ms {mb} MB {} bytes {what} {:?}", text.len(), recipe.0);
        if let Some(folder) = &folder {
            let path = folder.join(format!("{what}-{starts}-{ms}ms-{mb}mb.json"));
            if let Err(error) = std::fs::write(&path, &text) {
                eprintln!("{}: {error}", path.display());
            }
        }
    }
}
