//! What a call through the C library costs over the same call in Rust, in one run: the shortest of
//! many repetitions of each, in turn. Ends with 1 where it is 200 ns or more.

use std::env;
use std::error::Error;
use std::ffi::{CStr, CString, c_char, c_int, c_void};
use std::hint::black_box;
use std::process::{Command, ExitCode};
use std::time::Instant;

use truebed::{Length, Limits, PlaneKind, check, fit_plane};

unsafe extern "C" {
    fn dlopen(path: *const c_char, mode: c_int) -> *mut c_void;
    fn dlsym(library: *mut c_void, name: *const c_char) -> *mut c_void;
}

const RTLD_NOW: c_int = 2;

type Parse = unsafe extern "C" fn(*const c_char, *mut f64) -> i32;
type Fit = unsafe extern "C" fn(
    *const f64,
    *const f64,
    *const f64,
    usize,
    i32,
    *mut PlaneOut,
    *mut f64,
) -> i32;
type Check = unsafe extern "C" fn(
    *const f64,
    *const f64,
    usize,
    *const LimitsIn,
    *const c_void,
    usize,
    *mut *mut c_void,
) -> i32;
type Free = unsafe extern "C" fn(*mut c_void);

/// `truebed_plane`, in its first version.
#[repr(C)]
struct PlaneOut {
    struct_size: usize,
    numbers: [f64; 5],
}

/// `truebed_limits`.
#[repr(C)]
struct LimitsIn {
    struct_size: usize,
    asked: u32,
    overall_mm: f64,
    others_mm: [f64; 4],
    named: *const c_void,
    named_count: usize,
    slopes: [u32; 2],
}

/// The library, built for this run and loaded as a program would.
fn load() -> Result<*mut c_void, Box<dyn Error>> {
    let program = env::current_exe()?;
    let target = program.ancestors().nth(3).ok_or("this program has no target directory")?;
    let built = Command::new(env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .args(["build", "--release", "--package", "truebed-ffi", "--lib", "--target-dir"])
        .arg(target)
        .status()?;
    let path = CString::new(format!("{}/release/libtruebed.so", target.display()))?;
    // SAFETY: a text that ends with a NUL.
    let library = unsafe { dlopen(path.as_ptr(), RTLD_NOW) };
    if !built.success() || library.is_null() {
        return Err("the C library does not build or load".into());
    }
    Ok(library)
}

fn function(library: *mut c_void, name: &CStr) -> Result<*mut c_void, Box<dyn Error>> {
    // SAFETY: the library is loaded, the name ends with a NUL.
    let found = unsafe { dlsym(library, name.as_ptr()) };
    if found.is_null() { Err(format!("no {name:?} in the library").into()) } else { Ok(found) }
}

/// Nanoseconds of one call of each, Rust and C, prints them, and tells whether C's are close.
fn measure(name: &str, mut rust: impl FnMut(), mut c: impl FnMut()) -> bool {
    const REPETITIONS: usize = 400;
    const CALLS: u32 = 500;
    let time = |call: &mut dyn FnMut()| {
        let start = Instant::now();
        for _ in 0..CALLS {
            call();
        }
        start.elapsed().as_secs_f64() * 1e9 / f64::from(CALLS)
    };
    let mut shortest = [f64::INFINITY; 2];
    for _ in 0..REPETITIONS {
        shortest[0] = shortest[0].min(time(&mut rust));
        shortest[1] = shortest[1].min(time(&mut c));
    }
    let [rust, c] = shortest;
    println!("{name:<24} Rust {rust:>8.1} ns   C {c:>8.1} ns   over {:>7.1} ns", c - rust);
    c - rust < 200.0
}

fn run() -> Result<bool, Box<dyn Error>> {
    let library = load()?;
    // SAFETY: the types are those of the header, here and below.
    let parse: Parse =
        unsafe { std::mem::transmute(function(library, c"truebed_length_parse_mm")?) };
    // SAFETY: as above.
    let fit: Fit = unsafe { std::mem::transmute(function(library, c"truebed_fit_plane")?) };
    // SAFETY: as above.
    let check_c: Check = unsafe { std::mem::transmute(function(library, c"truebed_check")?) };
    // SAFETY: as above.
    let free: Free = unsafe { std::mem::transmute(function(library, c"truebed_verdict_free")?) };

    let lengths = measure(
        "a length",
        || drop(black_box(black_box("0.25 mm").parse::<Length>())),
        || {
            let mut mm = 0.0;
            // SAFETY: both are valid.
            unsafe { parse(black_box(c"0.25 mm").as_ptr(), &mut mm) };
            black_box(mm);
        },
    );

    let xy = [[0.0, 0.0], [2134.0, 0.0], [2134.0, 1016.0], [0.0, 1016.0]];
    let z = [0.0, -4.2, -1.1, -2.5];
    let planes = measure(
        "a plane of four points",
        || drop(black_box(fit_plane(black_box(&xy), &z, PlaneKind::LeastSquares, None))),
        || {
            let mut plane = PlaneOut { struct_size: size_of::<PlaneOut>(), numbers: [0.0; 5] };
            let (none, deviations) = (std::ptr::null(), &mut [0.0; 4]);
            let (xy, out) = (black_box(&xy).as_ptr().cast(), deviations.as_mut_ptr());
            // SAFETY: all are valid for four points.
            unsafe { fit(xy, z.as_ptr(), none, 4, 0, &mut plane, out) };
            black_box(plane.numbers);
        },
    );

    let mm = |mm: f64| Length::from_mm(mm);
    let places = xy.map(|[x, y]| Ok([mm(x)?, mm(y)?]));
    let places = places.into_iter().collect::<Result<Vec<_>, truebed::Error>>()?;
    let heights = z.map(mm).into_iter().collect::<Result<Vec<_>, _>>()?;
    let limits = Limits::overall(mm(0.1)?);
    let limits_c = LimitsIn {
        struct_size: size_of::<LimitsIn>(),
        asked: 1,
        overall_mm: 0.1,
        others_mm: [0.0; 4],
        named: std::ptr::null(),
        named_count: 0,
        slopes: [0; 2],
    };
    let verdicts = measure(
        "a check of four heights",
        || drop(black_box(check(black_box(&places), &heights, &limits, &[]))),
        || {
            let mut verdict = std::ptr::null_mut();
            let (xy, joints) = (black_box(&xy).as_ptr().cast(), std::ptr::null());
            // SAFETY: all are valid for four points, and the verdict is freed once.
            unsafe {
                check_c(xy, z.as_ptr(), 4, &limits_c, joints, 0, &mut verdict);
                free(verdict);
            }
        },
    );
    Ok(lengths && planes && verdicts)
}

fn main() -> ExitCode {
    match run() {
        Ok(close) => ExitCode::from(u8::from(!close)),
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}
