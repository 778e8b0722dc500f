//! The union-jack survey against its published example.

use truebed::{Job, Mm, Slope, UnionJackLines, union_jack};

/// J. C. Moody, "How to calibrate surface plates in the plant", The Tool Engineer, October 1955:
/// a plate of 48 × 72 in surveyed with a foot of 4 in, arc-seconds. Two readings and a station are
/// as corrected by B. Allen, "Comments on Moody's method" (2019).
fn moody() -> UnionJackLines {
    UnionJackLines {
        nw_se: vec![
            6.5, 6.0, 5.0, 5.2, 5.5, 5.6, 5.5, 5.0, 5.5, 4.8, 5.0, 5.2, 5.3, 4.9, 4.6, 4.2, 5.3,
            4.9, 4.5, 3.5,
        ],
        ne_sw: vec![
            6.6, 5.4, 5.4, 5.2, 5.5, 5.7, 5.0, 5.0, 5.4, 4.5, 4.4, 4.5, 4.5, 4.8, 4.2, 4.2, 4.2,
            4.8, 4.3, 3.2,
        ],
        ne_nw: vec![
            20.5, 19.7, 20.5, 20.3, 20.2, 19.9, 19.0, 19.5, 18.8, 18.6, 18.7, 18.6, 18.4, 18.5,
            19.0, 17.9,
        ],
        ne_se: vec![3.5, 2.1, 2.5, 2.8, 3.4, 3.2, 3.5, 4.0, 4.2, 3.5],
        se_sw: vec![
            16.4, 15.0, 15.6, 15.5, 15.1, 15.3, 15.1, 14.6, 14.0, 13.5, 13.5, 13.3, 13.3, 13.4,
            14.0, 13.9,
        ],
        nw_sw: vec![6.0, 4.6, 4.5, 4.7, 5.0, 4.5, 5.9, 6.0, 6.0, 4.9],
        e_w: vec![
            11.7, 12.4, 12.1, 12.5, 12.0, 11.5, 11.5, 11.3, 11.3, 10.3, 10.8, 10.3, 10.0, 10.7,
            10.4, 10.4,
        ],
        n_s: vec![6.6, 6.4, 6.3, 6.5, 6.6, 6.9, 7.5, 7.4, 7.1, 7.0],
    }
}

const FOOT: Mm = Mm(101.6);

fn arcsec() -> Slope {
    "1 arcsec".parse().unwrap()
}

/// Column 6 of the article, arc-seconds, from the first station of each line to the last; the third
/// of the east side computes to −5.9 from the article's own readings.
const COLUMN_6: [&[f64]; 8] = [
    &[
        -3.6, -2.2, -1.3, -1.4, -1.3, -0.9, -0.4, 0.0, -0.1, 0.3, 0.0, -0.1, 0.0, 0.2, 0.0, -0.5,
        -1.4, -1.2, -1.4, -2.0, -3.6,
    ],
    &[
        -5.3, -3.5, -3.0, -2.4, -2.1, -1.4, -0.5, -0.4, -0.2, 0.3, 0.0, -0.4, -0.8, -1.1, -1.2,
        -1.8, -2.4, -3.1, -3.1, -3.7, -5.3,
    ],
    &[
        -5.3, -4.0, -3.4, -2.1, -0.9, 0.1, 0.9, 0.7, 1.1, 0.8, 0.2, -0.2, -0.8, -1.5, -2.2, -2.3,
        -3.6,
    ],
    &[-5.3, -4.9, -5.9, -6.5, -6.8, -6.5, -6.4, -6.0, -5.1, -4.0, -3.6],
    &[
        -3.6, -1.8, -1.4, -0.3, 0.6, 1.1, 1.8, 2.4, 2.4, 1.8, 0.8, -0.3, -1.6, -2.9, -4.0, -4.6,
        -5.3,
    ],
    &[-3.6, -3.0, -3.8, -4.6, -5.3, -5.7, -6.6, -6.1, -5.4, -4.8, -5.3],
    &[
        -6.5, -5.9, -4.7, -3.7, -2.3, -1.5, -1.1, -0.8, -0.7, -0.5, -1.4, -1.7, -2.6, -3.7, -4.2,
        -4.9, -5.7,
    ],
    &[1.1, 1.0, 0.7, 0.3, 0.1, 0.0, 0.2, 1.0, 1.7, 2.1, 2.4],
];

#[test]
fn the_published_plate() {
    let plate = union_jack(&moody(), arcsec(), FOOT).unwrap();
    // A station of 1 arc-second over the foot, mm.
    let unit = arcsec().mm_per_m * 1e-3 * FOOT.0;
    for (line, column) in plate.lines_mm.iter().zip(COLUMN_6) {
        assert_eq!(line.len(), column.len());
        for (mm, printed) in line.iter().zip(column) {
            assert!((mm / unit - printed).abs() < 0.1, "{}, not {printed}", mm / unit);
        }
    }
    let [east_west, north_south] = plate.closures_mm.map(|mm| mm / unit);
    assert!((east_west + 0.7).abs() < 0.05, "{east_west}");
    assert!(north_south.abs() < 0.05, "{north_south}");
    // 178.41 µin: the headline, and B. Allen's heights to their last digit.
    let microinches = plate.flatness_mm / 25.4e-6;
    assert!((microinches - 178.41145).abs() < 5e-3, "{microinches}");
    assert!((plate.flatness_mm - 4.5317e-3).abs() < 5e-7);
}

/// A job tells what the call does, line by line, and so does its sheet.
#[test]
fn the_published_plate_in_a_job() {
    let job = Job::from_json(include_str!("../vectors/good/plates.job.json")).unwrap();
    assert_eq!(job.plates[0].lines, moody());
    let sheet = job.sheet().unwrap();
    assert!(sheet.contains("Flat within 4.53 µm (178.4 µin)"), "{sheet}");
    let outcome = job.run().unwrap().outcome.unwrap();
    let [plate, misread] = &outcome.plates[..] else { panic!("two plates") };
    assert!((plate.flatness_mm - 4.5317e-3).abs() < 5e-8, "{}", plate.flatness_mm);
    let called = union_jack(&moody(), arcsec(), FOOT).unwrap();
    let UnionJackLines { nw_se, ne_sw, ne_nw, ne_se, se_sw, nw_sw, e_w, n_s } = &plate.lines_mm;
    let lines = [nw_se, ne_sw, ne_nw, ne_se, se_sw, nw_sw, e_w, n_s];
    assert_eq!(lines.map(Vec::clone), called.lines_mm);
    assert_eq!([plate.closures_mm.e_w, plate.closures_mm.n_s], called.closures_mm);
    assert_eq!(plate.flatness_mm, called.flatness_mm);
    // A centre line that rises by half a division of 0.01 mm/m over 200 mm and falls again.
    assert!((misread.closures_mm.e_w - 0.001).abs() < 1e-12);
}

/// What a line's own slope is does not count, nor does a tilt or a lift of the plate.
#[test]
fn slopes_of_lines_do_not_count() {
    let plate = union_jack(&moody(), arcsec(), FOOT).unwrap();
    let mut tilted = moody();
    for (by, line) in [&mut tilted.nw_se, &mut tilted.ne_nw, &mut tilted.se_sw, &mut tilted.n_s]
        .into_iter()
        .enumerate()
    {
        line.iter_mut().for_each(|reading| *reading += 3.0 + by as f64);
    }
    let again = union_jack(&tilted, arcsec(), FOOT).unwrap();
    for (one, other) in again.lines_mm.iter().flatten().zip(plate.lines_mm.iter().flatten()) {
        assert!((one - other).abs() < 1e-12);
    }
}

#[test]
fn what_is_no_union_jack_is_refused() {
    let told = |spoil: &dyn Fn(&mut UnionJackLines)| {
        let mut lines = moody();
        spoil(&mut lines);
        let error = union_jack(&lines, arcsec(), FOOT).unwrap_err();
        error.problems().iter().map(|problem| problem.field.clone()).collect::<Vec<_>>()
    };
    assert_eq!(told(&|lines| lines.nw_se.clear()), ["nw_se"]);
    assert_eq!(told(&|lines| lines.e_w.truncate(3)), ["e_w"]);
    assert_eq!(told(&|lines| lines.n_s[3] = f64::NAN), ["n_s[3]"]);
    for step in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(union_jack(&moody(), arcsec(), Mm(step)).is_err());
    }
    assert!(union_jack(&moody(), Slope::from_mm_per_m(0.0), FOOT).is_err());
}
