//! Surveys: readings, to be adjusted to heights.

use std::ffi::c_char;
use std::ptr;

use truebed_core::{
    BlunderTest, Divisions, Fixed, Instrument, Level, Mm, Place, Reading, Setup, Slope,
    SpiritLevel, Survey, Surveyed, UnionJackLines, level_grid, level_line, readings_from_csv,
    union_jack,
};

use crate::pointer;
use crate::problems::Problems;
use crate::status::{Failure, TRUEBED_BAD_VALUE, boundary};

/// Instrument: a staff in the sight of an optical level; more reading is lower.
pub const TRUEBED_INSTRUMENT_STAFF: i32 = 0;
/// Instrument: the scale at one end of a water level; more reading is lower.
pub const TRUEBED_INSTRUMENT_WATER_LEVEL: i32 = 1;
/// Instrument: a staff in the plane of a laser; more reading is lower.
pub const TRUEBED_INSTRUMENT_LASER: i32 = 2;
/// Instrument: a dial indicator that points down; more reading is higher.
pub const TRUEBED_INSTRUMENT_INDICATOR: i32 = 3;

/// Surface: the floor, under legs that float lower than the frame by the gap.
pub const TRUEBED_SURFACE_FLOOR: i32 = 0;
/// Surface: the frame on top of which readings were taken.
pub const TRUEBED_SURFACE_FRAME: i32 = 1;

/// Test for blunders: Baarda's w, which trusts the stated uncertainties.
pub const TRUEBED_TEST_W: i32 = 0;
/// Test for blunders: Pope's tau, which trusts them up to a common factor.
pub const TRUEBED_TEST_TAU: i32 = 1;

/// Readings, and what else is known of them. It changes while it is being filled: until then it is
/// for one thread at a time.
pub struct truebed_survey {
    pub(crate) survey: Survey,
}

/// Makes an empty survey. Add readings to it, then call `truebed_adjust`; free it with
/// `truebed_survey_free`.
///
/// Points are named by ids, texts that end with a NUL. The numbers of a reading are checked when the
/// survey is adjusted, all at once. A standard uncertainty of 0 stands for the default of the kind
/// of reading (common practice: staff 0.3 mm, water level and laser 0.5 mm, indicator 0.005 mm,
/// rise 0.42 mm, gaps 0.0144 mm, bubble 0.2 divisions a step, slope 0.05 degrees).
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_new(out: *mut *mut truebed_survey) -> i32 {
    boundary(|| {
        let out = pointer::out(out, "out")?;
        let survey = truebed_survey { survey: Survey::default() };
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(Box::into_raw(Box::new(survey))) };
        Ok(())
    })
}

/// Frees a survey. Freeing NULL does nothing; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_free(survey: *mut truebed_survey) {
    if !survey.is_null() {
        // SAFETY: the caller's promise: from this library, and freed once.
        drop(unsafe { Box::from_raw(survey) });
    }
}

/// The number of readings of a survey. 0 for NULL; the call cannot fail.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_count(survey: *const truebed_survey) -> usize {
    // SAFETY: the caller's promise: NULL or a survey that is not freed yet.
    unsafe { survey.as_ref() }.map_or(0, |survey| survey.survey.readings.len())
}

/// Adds the known height of a point. With a sigma_mm of 0 it counts as exact.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_height(
    survey: *mut truebed_survey,
    point: *const c_char,
    value_mm: f64,
    sigma_mm: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let point = id(point, "point")?;
        let (setup, instrument) = (None, None);
        let (value, sigma) = (Mm(value_mm), given(sigma_mm).map(Mm));
        add(survey, Reading::Height { point, value, sigma, setup, instrument, note: None })
    })
}

/// Adds what an instrument, by its TRUEBED_INSTRUMENT_ number, reads at a point from the set-up of
/// that name.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_VALUE for an unknown instrument.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_height_from_setup(
    survey: *mut truebed_survey,
    setup: *const c_char,
    instrument: i32,
    point: *const c_char,
    value_mm: f64,
    sigma_mm: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let instrument = match instrument {
            TRUEBED_INSTRUMENT_STAFF => Instrument::Staff,
            TRUEBED_INSTRUMENT_WATER_LEVEL => Instrument::WaterLevel,
            TRUEBED_INSTRUMENT_LASER => Instrument::Laser,
            TRUEBED_INSTRUMENT_INDICATOR => Instrument::Indicator,
            _ => return Err(no_choice("instrument", instrument, "a TRUEBED_INSTRUMENT_ number")),
        };
        let (setup, point) = (Some(id(setup, "setup")?), id(point, "point")?);
        let (value, sigma) = (Mm(value_mm), given(sigma_mm).map(Mm));
        add(
            survey,
            Reading::Height {
                point,
                value,
                sigma,
                setup,
                instrument: Some(instrument),
                note: None,
            },
        )
    })
}

/// Adds how much higher b is than a.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_rise(
    survey: *mut truebed_survey,
    a: *const c_char,
    b: *const c_char,
    value_mm: f64,
    sigma_mm: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let (a, b) = (id(a, "a")?, id(b, "b")?);
        add(
            survey,
            Reading::Rise { a, b, value: Mm(value_mm), sigma: given(sigma_mm).map(Mm), note: None },
        )
    })
}

/// Adds a spirit level's reading from a to b: `steps` numbers of divisions off the middle towards b
/// (the bubble runs to the higher end), the slope of a division, the length of its base (0 where it
/// does not matter), the distance (0: from the places of a and b, or steps × base). `level` is the
/// name of the level, or NULL where there is one only; `turned` 1 if it was turned end for end, else
/// 0; `sigma` the uncertainty of a step in divisions.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_VALUE for `turned`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_bubble(
    survey: *mut truebed_survey,
    a: *const c_char,
    b: *const c_char,
    divisions: *const f64,
    steps: usize,
    sensitivity_mm_per_m: f64,
    base_mm: f64,
    span_mm: f64,
    level: *const c_char,
    turned: i32,
    sigma: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let reading = Reading::Bubble {
            a: id(a, "a")?,
            b: id(b, "b")?,
            divisions: Divisions::Steps(pointer::array(divisions, steps, "divisions")?.to_vec()),
            sensitivity: Slope::from_mm_per_m(sensitivity_mm_per_m),
            base: given(base_mm).map(Mm),
            span: given(span_mm).map(Mm),
            level: level_name(level)?,
            turned: flag("turned", turned)?,
            sigma: given(sigma),
            note: None,
        };
        add(survey, reading)
    })
}

/// Adds the reading of an electronic level or inclinometer from a to b: the slope, positive where b is
/// higher; the distance
/// (0: from their places); `level` and `turned` as in `truebed_survey_bubble`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_VALUE for `turned`.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_slope(
    survey: *mut truebed_survey,
    a: *const c_char,
    b: *const c_char,
    value_mm_per_m: f64,
    span_mm: f64,
    level: *const c_char,
    turned: i32,
    sigma_mm_per_m: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let reading = Reading::Slope {
            a: id(a, "a")?,
            b: id(b, "b")?,
            value: Slope::from_mm_per_m(value_mm_per_m),
            span: given(span_mm).map(Mm),
            level: level_name(level)?,
            turned: flag("turned", turned)?,
            sigma: given(sigma_mm_per_m).map(Slope::from_mm_per_m),
            note: None,
        };
        add(survey, reading)
    })
}

/// Adds the gap at a point under a straightedge that rests on a and b; `at` is where the point lies
/// between a (0) and b (1), or 0 for where their places have it.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_gap(
    survey: *mut truebed_survey,
    point: *const c_char,
    a: *const c_char,
    b: *const c_char,
    at: f64,
    value_mm: f64,
    sigma_mm: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let (point, a, b) = (id(point, "point")?, id(a, "a")?, id(b, "b")?);
        let (value, at, sigma) = (Mm(value_mm), given(at), given(sigma_mm).map(Mm));
        add(survey, Reading::Gap { point, a, b, value, at, sigma, note: None })
    })
}

/// Adds the gap under a leg that floats while the frame stands on the others. All other readings at
/// this leg were taken on the frame; see `truebed_survey_surface`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_leg_gap(
    survey: *mut truebed_survey,
    point: *const c_char,
    value_mm: f64,
    sigma_mm: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let point = id(point, "point")?;
        let (value, sigma) = (Mm(value_mm), given(sigma_mm).map(Mm));
        add(survey, Reading::LegGap { point, value, sigma, note: None })
    })
}

/// Adds the gap below a slate at a support that it does not touch, read with feelers. All other
/// readings at this point were taken on the slate, and the height of the point is that of the support.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_slate_gap(
    survey: *mut truebed_survey,
    point: *const c_char,
    value_mm: f64,
    sigma_mm: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let point = id(point, "point")?;
        let (value, sigma) = (Mm(value_mm), given(sigma_mm).map(Mm));
        add(survey, Reading::SlateGap { point, value, sigma, note: None })
    })
}

/// Adds the readings of a level stepped along a line of `count` points, one number of divisions a
/// step, `count` - 1 of them. A line that ends where it began closes. The other arguments are those
/// of `truebed_survey_bubble`, `base_mm` being the length of a step.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_VALUE for `turned`; TRUEBED_BAD_SHAPE
/// for fewer than two points.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_line(
    survey: *mut truebed_survey,
    points: *const *const c_char,
    count: usize,
    divisions: *const f64,
    sensitivity_mm_per_m: f64,
    base_mm: f64,
    level: *const c_char,
    turned: i32,
    sigma: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let points = ids(points, count)?;
        let divisions = pointer::array(divisions, count.saturating_sub(1), "divisions")?;
        let level = spirit_level(level, sensitivity_mm_per_m, base_mm, sigma)?;
        add_all(survey, level_line(&level, &points, divisions, flag("turned", turned)?)?)
    })
}

/// Adds the readings of a level stepped along all lines of a grid of `rows` × `columns` points, row
/// by row: divisions along the rows, `rows` × (`columns` - 1), and across from each row to the next,
/// (`rows` - 1) × `columns`. The other arguments are those of `truebed_survey_line`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_SHAPE for more than memory can hold.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_grid(
    survey: *mut truebed_survey,
    points: *const *const c_char,
    rows: usize,
    columns: usize,
    along: *const f64,
    across: *const f64,
    sensitivity_mm_per_m: f64,
    base_mm: f64,
    level: *const c_char,
    sigma: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        // What overflows is more than any array has.
        let count = |rows: usize, columns: usize| rows.saturating_mul(columns);
        let points = ids(points, count(rows, columns))?;
        let steps = columns.saturating_sub(1);
        let along = pointer::array(along, count(rows, steps), "along")?;
        let across = pointer::array(across, count(rows.saturating_sub(1), columns), "across")?;
        let level = spirit_level(level, sensitivity_mm_per_m, base_mm, sigma)?;
        let table = |values: &[f64], width: usize, rows: usize| match width {
            0 => vec![Vec::new(); rows],
            _ => values.chunks(width).map(<[f64]>::to_vec).collect::<Vec<_>>(),
        };
        let points: Vec<Vec<String>> = match columns {
            0 => Vec::new(),
            _ => points.chunks(columns).map(<[String]>::to_vec).collect(),
        };
        let (along, across) = (
            table(along, steps, points.len()),
            table(across, columns, points.len().saturating_sub(1)),
        );
        add_all(survey, level_grid(&level, &points, &along, &across)?)
    })
}

/// Adds readings from a table: `length` bytes of comma-separated values, a line of column names and
/// then a reading a line. The columns are `kind` (height, rise, bubble, slope, gap, leg-gap, slate-gap) and the
/// fields of the readings: point, a, b, value, sigma, setup, instrument, divisions, sensitivity, base,
/// span, level, turned, at, note; lengths and slopes with their units.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; every other from TRUEBED_BAD_VALUE on for what
/// is wrong with the table, by line.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_csv(
    survey: *mut truebed_survey,
    text: *const c_char,
    length: usize,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let readings = readings_from_csv(pointer::text(text, length, "text")?)?;
        add_all(survey, readings)
    })
}

/// Sets the position of a point in plan. Either all points have one or none has, and each point must
/// have a reading.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_VALUE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_place(
    survey: *mut truebed_survey,
    point: *const c_char,
    x_mm: f64,
    y_mm: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let id = id(point, "point")?;
        let mut problems = Problems::default();
        let x = problems.length(x_mm, || "x".to_owned());
        let y = problems.length(y_mm, || "y".to_owned());
        problems.finish()?;
        open(survey)?.places.push(Place { id, x, y });
        Ok(())
    })
}

/// Says what height a point is known to have; with a sigma_mm of 0 exactly.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_fix(
    survey: *mut truebed_survey,
    point: *const c_char,
    height_mm: f64,
    sigma_mm: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let (point, sigma) = (id(point, "point")?, given(sigma_mm).map(Mm));
        open(survey)?.settings.fixed.push(Fixed { point, height: Mm(height_mm), sigma });
        Ok(())
    })
}

/// Adds a point to the datum: where nothing fixes the heights, the mean height of its points is 0;
/// of all points where none is named.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_datum(
    survey: *mut truebed_survey,
    point: *const c_char,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let point = id(point, "point")?;
        open(survey)?.settings.datum.push(point);
        Ok(())
    })
}

/// Sets the standard uncertainty of the zero error of a level. Beforehand the zero error is taken to
/// be 0 with this uncertainty; readings that were taken both ways round determine it better. NULL is
/// the level without a name. The default is half a division, or 0.05° for an electronic level (common
/// practice).
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_level(
    survey: *mut truebed_survey,
    level: *const c_char,
    zero_sigma_mm_per_m: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let name = level_name(level)?;
        let zero_sigma = Slope::from_mm_per_m(zero_sigma_mm_per_m);
        open(survey)?.settings.levels.push(Level { name, zero_sigma });
        Ok(())
    })
}

/// Sets the standard uncertainty of the slope of the plane that a laser throws from a set-up, along and
/// across alike. Beforehand the plane is taken to be level with this uncertainty; readings that were
/// taken another way determine it better. The default is 0.1 mm/m (common practice: 1 mm at 10 m). It
/// counts where the places of the points are known (`truebed_survey_place`).
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_laser(
    survey: *mut truebed_survey,
    setup: *const c_char,
    slope_sigma_mm_per_m: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let name = id(setup, "setup")?;
        let slope_sigma = Slope::from_mm_per_m(slope_sigma_mm_per_m);
        open(survey)?.settings.setups.push(Setup { name, slope_sigma });
        Ok(())
    })
}

/// Leaves a reading, by index, out of the next adjustment. It stays listed, with how far off it is.
///
/// Errors: TRUEBED_NULL_POINTER.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_without(
    survey: *mut truebed_survey,
    reading: usize,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        open(survey)?.settings.without.push(reading);
        Ok(())
    })
}

/// Says which surface, by its TRUEBED_SURFACE_ number, the heights are to be those of where legs
/// float; the default is the floor.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_surface(survey: *mut truebed_survey, surface: i32) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        open(survey)?.settings.surface = match surface {
            TRUEBED_SURFACE_FLOOR => Surveyed::Floor,
            TRUEBED_SURFACE_FRAME => Surveyed::Frame,
            _ => return Err(no_choice("surface", surface, "a TRUEBED_SURFACE_ number")),
        };
        Ok(())
    })
}

/// Chooses the test for blunders by its TRUEBED_TEST_ number; how often it may suspect a good
/// reading; how surely it finds a blunder of the smallest detectable size. TRUEBED_TEST_W, 0.001 and
/// 0.8 (Baarda 1968) are the defaults.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE for an unknown test.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_survey_test(
    survey: *mut truebed_survey,
    test: i32,
    alpha: f64,
    power: f64,
) -> i32 {
    // SAFETY: the caller's promise, for each of the pointers.
    boundary(|| unsafe {
        let test = match test {
            TRUEBED_TEST_W => BlunderTest::W,
            TRUEBED_TEST_TAU => BlunderTest::Tau,
            _ => return Err(no_choice("test", test, "a TRUEBED_TEST_ number")),
        };
        let settings = &mut open(survey)?.settings;
        (settings.test, settings.alpha, settings.power) = (test, alpha, power);
        Ok(())
    })
}

/// Reads a slope from a text that ends with a NUL: a number with a unit (mm/m, in/ft, arcsec, arcmin,
/// deg, %), as in `"0.02 mm/m"` or `"4 arcsec"`.
///
/// Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_LENGTH.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_slope_parse_mm_per_m(
    text: *const c_char,
    mm_per_m: *mut f64,
) -> i32 {
    boundary(|| {
        let out = pointer::out(mm_per_m, "mm_per_m")?;
        // SAFETY: the caller's promise.
        let slope: Slope = unsafe { pointer::terminated(text, "text") }?.parse()?;
        // SAFETY: the caller's promise: valid for writes.
        unsafe { out.write(slope.mm_per_m) };
        Ok(())
    })
}

/// Works a union-jack survey of a surface plate out (J. C. Moody, The Tool Engineer, October 1955).
/// `lines` are eight arrays of readings, `counts` how many each has: from north-west to south-east,
/// north-east to south-west, north-east to north-west, north-east to south-east, south-east to
/// south-west, north-west to south-west, east to west, north to south. A reading of 1 is a slope of
/// `unit_mm_per_m`; stations are `step_mm` apart.
///
/// `heights_mm`, where it is not NULL, has room for the heights of the stations line by line, one
/// more in each than it has readings; `closures_mm`, for two, gets where the centre lines, east to
/// west and north to south, miss the centre; `*flatness_mm` the highest station above the lowest.
///
/// Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for lines without two halves; TRUEBED_BAD_VALUE.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn truebed_union_jack(
    lines: *const *const f64,
    counts: *const usize,
    unit_mm_per_m: f64,
    step_mm: f64,
    heights_mm: *mut f64,
    closures_mm: *mut f64,
    flatness_mm: *mut f64,
) -> i32 {
    boundary(|| {
        let closures = pointer::out(closures_mm, "closures_mm")?;
        let flatness = pointer::out(flatness_mm, "flatness_mm")?;
        let line = |at: usize| -> Result<Vec<f64>, Failure> {
            // SAFETY: the caller's promise, for each of the pointers.
            unsafe {
                let (lines, counts) =
                    (pointer::array(lines, 8, "lines")?, pointer::array(counts, 8, "counts")?);
                Ok(pointer::array(lines[at], counts[at], &format!("lines[{at}]"))?.to_vec())
            }
        };
        let lines = UnionJackLines {
            nw_se: line(0)?,
            ne_sw: line(1)?,
            ne_nw: line(2)?,
            ne_se: line(3)?,
            se_sw: line(4)?,
            nw_sw: line(5)?,
            e_w: line(6)?,
            n_s: line(7)?,
        };
        let plate = union_jack(&lines, Slope::from_mm_per_m(unit_mm_per_m), Mm(step_mm))?;
        let heights: Vec<f64> = plate.lines_mm.into_iter().flatten().collect();
        // SAFETY: the caller's promise: valid for writes of what is said above.
        unsafe {
            if !heights_mm.is_null() {
                ptr::copy_nonoverlapping(heights.as_ptr(), heights_mm, heights.len());
            }
            ptr::copy_nonoverlapping(plate.closures_mm.as_ptr(), closures.as_ptr(), 2);
            flatness.write(plate.flatness_mm);
        }
        Ok(())
    })
}

/// 0 stands for what is not given.
fn given(value: f64) -> Option<f64> {
    (value != 0.0).then_some(value)
}

fn flag(name: &str, value: i32) -> Result<bool, Failure> {
    match value {
        0 | 1 => Ok(value == 1),
        _ => Err(no_choice(name, value, "0 or 1")),
    }
}

fn no_choice(name: &str, value: i32, expected: &str) -> Failure {
    Failure::new(TRUEBED_BAD_VALUE, name, &value.to_string(), expected)
}

unsafe fn open<'a>(survey: *mut truebed_survey) -> Result<&'a mut Survey, Failure> {
    let mut survey = pointer::out(survey, "survey")?;
    // SAFETY: the caller's promise: a survey that is not freed yet and that no one else uses.
    Ok(&mut unsafe { survey.as_mut() }.survey)
}

unsafe fn add(survey: *mut truebed_survey, reading: Reading) -> Result<(), Failure> {
    // SAFETY: the caller's promise.
    unsafe { open(survey) }?.readings.push(reading);
    Ok(())
}

unsafe fn add_all(survey: *mut truebed_survey, readings: Vec<Reading>) -> Result<(), Failure> {
    // SAFETY: the caller's promise.
    unsafe { open(survey) }?.readings.extend(readings);
    Ok(())
}

unsafe fn id(text: *const c_char, name: &str) -> Result<String, Failure> {
    // SAFETY: the caller's promise.
    unsafe { pointer::terminated(text, name) }.map(str::to_owned)
}

pub(crate) unsafe fn ids(
    texts: *const *const c_char,
    count: usize,
) -> Result<Vec<String>, Failure> {
    // SAFETY: the caller's promise, for the array and for each text in it.
    unsafe {
        let texts = pointer::array(texts, count, "points")?;
        texts.iter().enumerate().map(|(at, &text)| id(text, &format!("points[{at}]"))).collect()
    }
}

unsafe fn level_name(level: *const c_char) -> Result<String, Failure> {
    if level.is_null() {
        return Ok("level".to_owned());
    }
    // SAFETY: the caller's promise.
    unsafe { id(level, "level") }
}

unsafe fn spirit_level(
    level: *const c_char,
    sensitivity_mm_per_m: f64,
    base_mm: f64,
    sigma: f64,
) -> Result<SpiritLevel, Failure> {
    Ok(SpiritLevel {
        // SAFETY: the caller's promise.
        name: unsafe { level_name(level) }?,
        sensitivity: Slope::from_mm_per_m(sensitivity_mm_per_m),
        base: Mm(base_mm),
        sigma: given(sigma),
    })
}
