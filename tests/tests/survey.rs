//! Surveys against published networks and plates.

use truebed::{
    BlunderTest, Divisions, Fixed, Heights, Instrument, Level, Mm, ProblemKind, Reading, Slope,
    SpiritLevel, Survey, SurveySettings, Surveyed, adjust, level_grid, level_line,
    readings_from_csv, tau_critical,
};

fn close(got: f64, expected: f64, within: f64) {
    assert!((got - expected).abs() <= within, "{got}, not {expected} ± {within}");
}

fn all_close(got: &[f64], expected: &[f64], within: f64) {
    assert_eq!(got.len(), expected.len());
    got.iter().zip(expected).for_each(|(&got, &expected)| close(got, expected, within));
}

fn fixed(point: &str, mm: f64) -> Fixed {
    Fixed { point: point.to_owned(), height: Mm(mm), sigma: None }
}

fn rises(rises: &[(&str, &str, f64, f64)]) -> Survey {
    let rise = |&(a, b, mm, sigma): &(_, _, f64, f64)| Reading::rise(a, b, mm, Some(sigma));
    Survey::new(rises.iter().map(rise).collect())
}

fn height(heights: &Heights, id: &str) -> (f64, f64) {
    let at = heights.ids.position(id).unwrap();
    (heights.mm[at], heights.sigma_mm[at])
}

/// "Sample 1D vertical least square adjustment", the output of a forward-and-back network that is
/// published with gama-local 1.5.09 (vrmapper.com/gama/1doutput.html); further digits recomputed.
#[test]
fn forward_and_back() {
    let mut survey = rises(&[
        ("1a", "4", -1225.0, 5.0),
        ("4", "3", -848.0, 5.0),
        ("3", "2", 1342.0, 5.0),
        ("2", "1a", 720.0, 5.0),
        ("1a", "2", -724.0, 5.0),
        ("2", "3", -1335.0, 5.0),
        ("3", "4", 842.0, 5.0),
        ("4", "1a", 1231.0, 5.0),
    ]);
    survey.settings.fixed = vec![fixed("1a", 1_000_000.0)];
    let heights = adjust(&survey).unwrap();
    for (id, mm, sigma) in [
        ("1a", 1_000_000.0, 0.0),
        ("4", 998_775.125, 3.06186),
        ("3", 997_933.25, 3.53553),
        ("2", 999_274.875, 3.06186),
    ] {
        close(height(&heights, id).0, mm, 1e-6);
        close(height(&heights, id).1, sigma, 1e-5);
    }
    let residuals = [0.125, 6.125, -0.375, 5.125, -1.125, -6.625, -0.125, -6.125];
    all_close(&heights.residuals_mm, &residuals, 1e-6);
    all_close(&heights.redundancy, &[0.625; 8], 1e-9);
    let w = [0.0316, 1.5495, -0.0949, 1.2965, -0.2846, -1.6760, -0.0316, -1.5495];
    all_close(&heights.normalised, &w, 5e-5);
    assert_eq!(heights.dof, 5);
    close(heights.variance_factor, 1.083051_f64.powi(2), 2e-6);
    // [pvv] = 146.625 as printed, in units of 5 mm.
    close(heights.variance_factor * 5.0, 146.625 / 25.0, 1e-9);
    assert!(heights.suspects.is_empty());
    // The printed test: at 5 % the critical value is 1.96 and the largest, 1.68 of the sixth.
    survey.settings.alpha = 0.05;
    let heights = adjust(&survey).unwrap();
    close(heights.critical, 1.96, 5e-4);
    assert!(heights.suspects.is_empty());
    // Every loop closes by its residuals: forward 4, back 4, and each pair.
    assert_eq!(heights.closures().len(), 5);
}

/// J. Mahun, Open Access Surveying Library, "Least Squares Lite", chapters D and E, in feet (here
/// a foot is a millimetre). The page rounds as it goes: 0.002 in heights, 0.001 in S₀.
#[test]
fn open_access_surveying() {
    let lines = [
        ("BMA", "Q", 8.91, 3.0),
        ("BMB", "Q", -2.92, 2.0),
        ("BMC", "Q", -4.67, 1.0),
        ("BMD", "Q", -8.66, 3.0),
        ("BMA", "R", -3.56, 3.0),
        ("BMC", "R", -17.12, 4.0),
        ("BMD", "R", -21.10, 2.0),
        ("Q", "R", -12.47, 3.0),
    ];
    let marks = [("BMA", 806.52), ("BMB", 818.32), ("BMC", 820.12), ("BMD", 824.04)];
    let adjusted = |sigma: &dyn Fn(f64) -> f64| {
        let mut survey = rises(&lines.map(|(a, b, rise, setups)| (a, b, rise, sigma(setups))));
        survey.settings.fixed = marks.map(|(id, height)| fixed(id, height)).to_vec();
        adjust(&survey).unwrap()
    };
    let posterior = |heights: &Heights, id: &str, s0: f64| height(heights, id).1 * s0;

    let heights = adjusted(&|_| 1.0);
    let s0 = heights.variance_factor.sqrt();
    close(height(&heights, "Q").0, 815.418, 0.002);
    close(height(&heights, "R").0, 802.962, 0.002);
    close(s0, 0.028, 0.0015); // printed; 0.0290 recomputed
    close(s0, 0.0290, 5e-5);
    close(posterior(&heights, "Q", s0), 0.0133, 5e-5);
    close(posterior(&heights, "R", s0), 0.0149, 5e-5);
    let printed = [8.898, -2.902, -4.702, -8.622, -3.558, -17.158, -21.078, -12.456];
    let adjusted_rises: Vec<f64> =
        heights.residuals_mm.iter().zip(lines).map(|(v, (_, _, rise, _))| rise + v).collect();
    all_close(&adjusted_rises, &printed, 0.0011);

    // Weights of 12 / set-ups.
    let heights = adjusted(&|setups| (setups / 12.0).sqrt());
    let s0 = heights.variance_factor.sqrt();
    close(height(&heights, "Q").0, 815.424, 0.002);
    close(height(&heights, "R").0, 802.958, 0.002);
    close(s0, 0.067, 0.001);
    close(posterior(&heights, "Q", s0), 0.012, 0.0005);
    close(posterior(&heights, "R", s0), 0.016, 0.0005);
}

/// C. D. Ghilani & P. R. Wolf, Adjustment Computations, example 12.1, in metres (here a metre is a
/// millimetre); heights from memory, everything recomputed to these digits.
#[test]
fn ghilani_wolf() {
    let mut survey = rises(&[
        ("A", "B", 10.509, 0.006),
        ("B", "C", 5.360, 0.004),
        ("C", "D", -8.523, 0.005),
        ("D", "A", -7.348, 0.003),
        ("B", "D", -3.167, 0.004),
        ("A", "C", 15.881, 0.012),
    ]);
    survey.settings.fixed = vec![fixed("A", 437.596)];
    survey.settings.test = BlunderTest::Tau;
    let heights = adjust(&survey).unwrap();
    let s0 = heights.variance_factor.sqrt();
    close(s0, 0.651184, 1e-6);
    for (id, mm, sigma) in
        [("B", 448.108712, 0.0022953), ("C", 453.468468, 0.0026363), ("D", 444.943605, 0.0017607)]
    {
        close(height(&heights, id).0, mm, 1e-6);
        close(height(&heights, id).1 * s0, sigma, 1e-7);
    }
    let redundancy = [0.65487, 0.32945, 0.50917, 0.18770, 0.43262, 0.88618];
    all_close(&heights.redundancy, &redundancy, 5e-6);
    let w = [0.7644, -0.1063, -0.5220, 0.3037, 0.7197, -0.7553];
    all_close(&heights.normalised, &w, 5e-5);
    let tau = [1.1739, -0.1632, -0.8016, 0.4663, 1.1053, -1.1599];
    all_close(&heights.tau, &tau, 5e-5);
    close(heights.critical, tau_critical(0.001, 3), 1e-15);
    assert!(heights.suspects.is_empty());
}

/// Exact by hand: the same three rises without a datum. Differences stay, the mean is 0, and with
/// equal weights on a triangle each height has the variance 2/9 σ² about the mean.
#[test]
fn free_network() {
    let survey = rises(&[("A", "B", 1.0, 0.3), ("B", "C", 2.0, 0.3), ("C", "A", -3.3, 0.3)]);
    let heights = adjust(&survey).unwrap();
    all_close(&heights.residuals_mm, &[0.1; 3], 1e-12);
    close(heights.mm.iter().sum(), 0.0, 1e-12);
    close(heights.mm[1] - heights.mm[0], 1.1, 1e-12);
    all_close(&heights.sigma_mm, &[0.3 * (2.0_f64 / 9.0).sqrt(); 3], 1e-12);
    let covariance = heights.covariance_mm2();
    for row in covariance.chunks(3) {
        close(row.iter().sum(), 0.0, 1e-15);
    }
    // About one point of the datum: that one is exact, and another has the variance of the rise.
    let mut held = survey;
    held.settings.datum = vec!["B".to_owned()];
    let heights = adjust(&held).unwrap();
    close(heights.mm[1], 0.0, 1e-12);
    close(heights.sigma_mm[1], 0.0, 1e-9);
    close(heights.sigma_mm[0], 0.3 * (2.0_f64 / 3.0).sqrt(), 1e-12);
    held.settings.datum.clear();
    held.settings.fixed = vec![fixed("B", 0.0)];
    let same = adjust(&held).unwrap();
    all_close(&same.covariance_mm2(), &heights.covariance_mm2(), 1e-12);
}

/// Exact by hand: staff and indicator count opposite ways, and each set-up has its own height.
#[test]
fn setups() {
    let read =
        |setup, instrument, point, mm| Reading::from_setup(setup, instrument, point, mm, Some(0.1));
    let survey = Survey::new(vec![
        read("S", Instrument::Staff, "A", 1203.0),
        read("S", Instrument::Staff, "B", 1201.0),
        read("dial", Instrument::Indicator, "B", 0.5),
        read("dial", Instrument::Indicator, "C", 0.2),
        read("laser", Instrument::Laser, "C", 300.0),
        read("laser", Instrument::Laser, "A", 301.7),
        Reading::height("A", 10.0, None),
    ]);
    let heights = adjust(&survey).unwrap();
    assert_eq!(heights.dof, 1);
    assert!(heights.residuals_mm.iter().all(|v| v.abs() < 1e-9));
    all_close(&heights.mm, &[10.0, 12.0, 11.7], 1e-9);
    let setups: Vec<_> = heights.setups.iter().map(|it| (it.name.as_str(), it.value)).collect();
    assert_eq!(setups.iter().map(|it| it.0).collect::<Vec<_>>(), ["S", "dial", "laser"]);
    all_close(&setups.iter().map(|it| it.1).collect::<Vec<_>>(), &[1213.0, 11.5, 311.7], 1e-9);
}

fn bubble(a: &str, b: &str, divisions: &[f64], turned: bool) -> Reading {
    Reading::Bubble {
        a: a.into(),
        b: b.into(),
        divisions: Divisions::Steps(divisions.to_vec()),
        sensitivity: Slope::from_mm_per_m(0.1),
        base: Some(Mm(200.0)),
        span: None,
        level: "level".into(),
        turned,
        sigma: None,
        note: None,
    }
}

/// Exact by hand: a division of 0.1 mm/m over 200 mm is 0.02 mm. Read both ways round, the rise is
/// half the difference and the zero error half the sum.
#[test]
fn a_level_turned_end_for_end() {
    let both = Survey::new(vec![bubble("A", "B", &[3.0], false), bubble("A", "B", &[-1.0], true)]);
    // Turned, it shows −1 towards B: slope 1, zero error 2 divisions.
    let heights = adjust(&both).unwrap();
    close(heights.mm[1] - heights.mm[0], 0.02, 1e-12);
    // It is known beforehand as 0 ± 0.05 mm/m too, and read as 0.2 ± 0.02/√2.
    assert_eq!(heights.dof, 1);
    let weights: [f64; 2] = [0.05_f64.powi(-2), 2.0 * 0.02_f64.powi(-2)];
    let sum = weights[0] + weights[1];
    close(heights.zero_errors[0].value, 0.2 * weights[1] / sum, 1e-12);
    close(heights.zero_errors[0].sigma, sum.powf(-0.5), 1e-12);
    // Walked back with the level turned with the walker says the same.
    let back = Survey::new(vec![bubble("A", "B", &[3.0], false), bubble("B", "A", &[1.0], false)]);
    let heights = adjust(&back).unwrap();
    close(heights.mm[1] - heights.mm[0], 0.02, 1e-12);
    close(heights.zero_errors[0].value, 0.2 * weights[1] / sum, 1e-12);

    // One way round only, what the zero error may be enters: half a division by default.
    let mut once = Survey::new(vec![bubble("A", "B", &[3.0, 1.0, 2.0], false)]);
    let sigma = |heights: &Heights| {
        let covariance = heights.covariance_mm2();
        (covariance[0] - 2.0 * covariance[1] + covariance[3]).sqrt()
    };
    let heights = adjust(&once).unwrap();
    close(heights.mm[1] - heights.mm[0], 0.12, 1e-12);
    close(sigma(&heights), 0.06 * (0.2_f64.powi(2) / 3.0 + 0.25).sqrt(), 1e-12);
    let zero_sigma = Slope::from_mm_per_m(0.01);
    once.settings.levels = vec![Level { name: "level".into(), zero_sigma }];
    let heights = adjust(&once).unwrap();
    close(sigma(&heights), 0.06 * (0.2_f64.powi(2) / 3.0 + 0.01).sqrt(), 1e-12);
    // All readings of the level share it: two steps on are twice as doubtful, not √2 times.
    once.readings.push(bubble("B", "C", &[0.0, 0.0, 0.0], false));
    once.settings.datum = vec!["A".into()];
    let heights = adjust(&once).unwrap();
    let step = 0.06_f64.powi(2);
    close(heights.sigma_mm[2].powi(2), step * (2.0 * 0.04 / 3.0 + 4.0 * 0.01), 1e-12);
}

/// Exact by hand: under a straightedge on A (0) and B (1 mm), a gap of 0.2 mm three quarters along.
#[test]
fn straightedge() {
    let gap = |at, sigma| Reading::Gap {
        point: "P".into(),
        a: "A".into(),
        b: "B".into(),
        value: Mm(0.2),
        at,
        sigma,
        note: None,
    };
    let ends = [Reading::height("A", 0.0, Some(0.1)), Reading::height("B", 1.0, Some(0.2))];
    let mut survey = Survey::new(ends.to_vec());
    survey.readings.push(gap(Some(0.75), Some(Mm(0.03))));
    let heights = adjust(&survey).unwrap();
    let (mm, sigma) = height(&heights, "P");
    close(mm, 0.55, 1e-12);
    close(sigma.powi(2), (0.25_f64 * 0.1).powi(2) + (0.75_f64 * 0.2).powi(2) + 9e-4, 1e-12);

    let place = |id: &str, x: &str, y: &str| truebed::Place {
        id: id.into(),
        x: x.parse().unwrap(),
        y: y.parse().unwrap(),
    };
    survey.readings[2] = gap(None, Some(Mm(0.03)));
    survey.places =
        vec![place("A", "0 mm", "0 mm"), place("P", "0.75 m", "5 mm"), place("B", "1 m", "0 mm")];
    close(height(&adjust(&survey).unwrap(), "P").0, 0.55, 1e-12);
    survey.places[1].y = "0.2 m".parse().unwrap();
    assert_eq!(adjust(&survey).unwrap_err().problems()[0].kind, ProblemKind::Geometry);
}

/// Exact by hand: a frame read on top of its four legs, one of which floats by 1.5 mm.
#[test]
fn a_frame_that_rocks() {
    let mut survey = Survey::new(
        ["L1", "L2", "L3", "L4"]
            .iter()
            .zip([0.0, -1.0, -2.0, -0.9])
            .map(|(id, mm)| Reading::height(*id, mm, Some(0.1)))
            .collect(),
    );
    survey.readings.push(Reading::LegGap {
        point: "L4".into(),
        value: Mm(1.5),
        sigma: Some(Mm(0.05)),
        note: None,
    });
    let floor = adjust(&survey).unwrap();
    all_close(&floor.mm, &[0.0, -1.0, -2.0, -2.4], 1e-12);
    close(floor.sigma_mm[3], 0.1_f64.hypot(0.05), 1e-12);
    survey.settings.surface = Surveyed::Frame;
    let frame = adjust(&survey).unwrap();
    all_close(&frame.mm, &[0.0, -1.0, -2.0, -0.9], 1e-12);
    close(frame.sigma_mm[3], 0.1, 1e-12);
}

/// Exact by hand: a slate read on top clears one of its supports by what the feelers say, so its frame
/// is lower by that, and as uncertain as both readings.
#[test]
fn a_slate_that_clears_a_support() {
    let mut survey = Survey::new(vec![
        Reading::height("W1", 0.0, Some(0.1)),
        Reading::height("W2", -0.4, Some(0.1)),
    ]);
    let (point, value, sigma) = ("W2".to_owned(), Mm(0.25), Some(Mm(0.02)));
    survey.readings.push(Reading::SlateGap { point, value, sigma, note: None });
    let frame = adjust(&survey).unwrap();
    all_close(&frame.mm, &[0.0, -0.65], 1e-12);
    close(frame.sigma_mm[1], 0.1_f64.hypot(0.02), 1e-12);
    survey.settings.surface = Surveyed::Frame;
    all_close(&adjust(&survey).unwrap().mm, &[0.0, -0.4], 1e-12);
}

#[test]
fn a_blunder_is_named_and_left_out_in_one_call() {
    let mut survey = rises(&[
        ("A", "B", 1.0, 0.05),
        ("B", "C", 0.5, 0.05),
        ("C", "D", -2.0, 0.05),
        ("D", "A", 0.5, 0.05),
        ("A", "C", 2.5, 0.05), // should be 1.5
        ("B", "D", -1.5, 0.05),
    ]);
    survey.settings.fixed = vec![fixed("A", 0.0)];
    let heights = adjust(&survey).unwrap();
    assert_eq!(heights.suspects[0], 4);
    assert!(heights.p_value < 1e-6);
    let worst = heights.closures().into_iter().find(|it| it.readings.contains(&4)).unwrap();
    close(worst.mm.abs(), 1.0, 1e-9);

    let again = adjust(&survey.without(4)).unwrap();
    assert_eq!(again.left_out, [4]);
    assert!(again.suspects.is_empty());
    all_close(&again.mm, &[0.0, 1.0, 1.5, -0.5], 1e-9);
    close(again.residuals_mm[4], -1.0, 1e-9);
    assert!(again.normalised[4].abs() > 10.0);
    close(again.redundancy.iter().sum(), again.dof as f64, 1e-9);
}

#[test]
fn untied_points_are_named_with_what_would_tie_them() {
    let survey = rises(&[("A", "B", 1.0, 0.1), ("C", "D", 1.0, 0.1), ("D", "E", 1.0, 0.1)]);
    let error = adjust(&survey).unwrap_err();
    assert_eq!(error.problems()[0].kind, ProblemKind::Untied);
    assert_eq!(
        error.to_string(),
        "readings: got no tie between {A, B} and {C, D, E}, expected a reading that ties them, \
         such as a rise from \"A\" to \"C\""
    );
    assert_eq!(survey.components().unwrap(), [vec!["A", "B"], vec!["C", "D", "E"]]);

    // Gaps alone tell how a line bends and not how it lies.
    let gap = |point: &str, a: &str, b: &str| Reading::Gap {
        point: point.into(),
        a: a.into(),
        b: b.into(),
        value: Mm(0.1),
        at: Some(0.5),
        sigma: None,
        note: None,
    };
    let mut line = Survey::new(vec![gap("B", "A", "C"), gap("C", "B", "D"), gap("D", "C", "E")]);
    assert_eq!(adjust(&line).unwrap_err().problems()[0].kind, ProblemKind::Untied);
    line.readings.push(Reading::rise("A", "B", 0.0, None));
    assert_eq!(adjust(&line).unwrap().dof, 0);
    // Straightedges that cross tie what no two points of any of them do: fixed at three corners,
    // the fourth follows from the middle that both share.
    let mut cross = Survey::new(vec![gap("M", "A", "C"), gap("M", "B", "D")]);
    cross.settings.fixed = vec![fixed("A", 0.0), fixed("C", 2.0), fixed("B", 1.0)];
    close(height(&adjust(&cross).unwrap(), "D").0, 1.0, 1e-9);
}

#[test]
fn lines_and_grids_close() {
    let level = SpiritLevel {
        name: "level".into(),
        sensitivity: Slope::from_mm_per_m(0.02),
        base: Mm(500.0),
        sigma: None,
    };
    let ids = |ids: &str| ids.split(' ').map(str::to_owned).collect::<Vec<_>>();
    let line = level_line(&level, &ids("A B C A"), &[1.0, 2.0, -3.0], false).unwrap();
    let heights = adjust(&Survey::new(line)).unwrap();
    // The zero error is known beforehand and checked by the loop.
    assert_eq!(heights.dof, 1);
    close(heights.mm[1] - heights.mm[0], 0.01, 1e-12);
    assert_eq!(heights.closures()[0].readings.len(), 3);
    assert!(level_line(&level, &ids("A B"), &[], false).is_err());

    // A surface z = x + 2 y in divisions, on 3 × 4 points.
    let names: Vec<Vec<String>> =
        (0..3).map(|row| (0..4).map(|column| format!("{row},{column}")).collect()).collect();
    let (along, across) = (vec![vec![1.0; 3]; 3], vec![vec![2.0; 4]; 2]);
    let grid = level_grid(&level, &names, &along, &across).unwrap();
    let heights = adjust(&Survey::new(grid)).unwrap();
    assert_eq!(heights.dof, 6);
    close(heights.mm[11] - heights.mm[0], 0.01 * (3.0 + 4.0), 1e-9);
    assert_eq!(heights.closures().len(), 6);
    assert!(level_grid(&level, &names, &along, &across[..1]).is_err());
}

#[test]
fn a_table_of_readings() {
    let readings = readings_from_csv(
        "\u{feff}kind,point,a,b,value,sigma,setup,instrument,divisions,sensitivity,base,turned,at,note\n\
         # the morning\n\
         height,A,,,1203 mm,,S,water-level,,,,,,first\n\
         rise,,A,B,1/64 in,0.1 mm,,,,,,,,\n\
         bubble,,B,C,,0.3,,,1.5; 2,0.02 mm/m,200 mm,yes,,\n\
         gap,P,A,C,0.05 mm,,,,,,,,0.5,\n\
         leg-gap,C,,,2 mm\n\
         slate-gap,C,,,0.2 mm\n",
    )
    .unwrap();
    assert_eq!(readings.len(), 6);
    let gap = Reading::SlateGap { point: "C".into(), value: Mm(0.2), sigma: None, note: None };
    assert_eq!(readings[5], gap);
    assert_eq!(
        readings[0],
        Reading::Height {
            point: "A".into(),
            value: Mm(1203.0),
            sigma: None,
            setup: Some("S".into()),
            instrument: Some(Instrument::WaterLevel),
            note: Some("first".into()),
        }
    );
    let Reading::Bubble { divisions, turned: true, sigma: Some(0.3), .. } = &readings[2] else {
        panic!("{:?}", readings[2]);
    };
    assert_eq!(divisions.steps(), [1.5, 2.0]);

    let error = readings_from_csv(
        "kind,a,b,value,sigma,setup\n\nrise,A,B,1,0.1 mm,\nrise,A,,1 mm,0.1 mm,S\nslope,A,B,2 mm,,\nfall,,,,,\n",
    )
    .unwrap_err();
    let told: Vec<_> = error.problems().iter().map(|it| it.field.as_str()).collect();
    assert_eq!(
        told,
        ["line 3, value", "line 4, b", "line 4, setup", "line 5, value", "line 6, kind"]
    );
    for bad in [
        "",
        "a,b\n",
        "kind,kind\n",
        "kind,height\n",
        "kind,a\nrise,\"A\nB,1\n",
        "kind,a\nrise,A,B,C\n",
    ] {
        assert!(readings_from_csv(bad).is_err(), "{bad:?}");
    }
}

#[test]
fn what_is_known_may_be_uncertain() {
    // Exact by hand: 0 ± 0.3 beforehand and 1.25 ± 0.4 read weigh 16 : 9.
    let settings = SurveySettings {
        fixed: vec![Fixed { point: "A".into(), height: Mm(0.0), sigma: Some(Mm(0.3)) }],
        ..SurveySettings::default()
    };
    let readings = vec![Reading::height("A", 1.25, Some(0.4))];
    let heights = adjust(&Survey { readings, settings, ..Survey::default() }).unwrap();
    close(heights.mm[0], 0.45, 1e-12);
    close(heights.sigma_mm[0], 0.24, 1e-12);
    assert_eq!(heights.dof, 1);
    close(heights.residuals_mm[0], -0.8, 1e-12);
}

/// An id that is empty would name no point on any sheet.
#[test]
fn empty_ids_are_refused() {
    let read =
        Survey::new(vec![Reading::rise("A", "", 1.0, None), Reading::rise("A", "B", 1.0, None)]);
    let error = adjust(&read).unwrap_err();
    assert_eq!(error.to_string(), "readings[0].b: got \"\", expected a name");
    let origin = truebed::Length::ZERO;
    let place = |id: &str| truebed::Place { id: id.to_owned(), x: origin, y: origin };
    let listed = Survey { places: vec![place("A"), place(""), place("B")], ..read };
    let error = adjust(&listed).unwrap_err();
    assert_eq!(error.to_string(), "points[1].id: got \"\", expected a name");
}

/// An exact height that is left out is held against the others like any other reading, and the only tie
/// of a point is named, in whatever order the readings stand.
#[test]
fn typed_heights_and_only_ties_left_out() {
    let typed = |point: &str, mm: f64| Reading::height(point, mm, None);
    let orders = [
        vec![typed("A", 0.0), typed("B", 5.0), Reading::rise("A", "B", 1.0, Some(0.1))],
        vec![Reading::rise("A", "B", 1.0, Some(0.1)), typed("B", 5.0), typed("A", 0.0)],
    ];
    for readings in orders {
        let heights = adjust(&Survey::new(readings).without(1)).unwrap();
        let b = heights.ids.position("B").unwrap();
        assert!((heights.mm[b] - 1.0).abs() < 1e-12);
        assert!((heights.residuals_mm[1] + 4.0).abs() < 1e-12, "{:?}", heights.residuals_mm);
        assert!((heights.normalised[1] + 40.0).abs() < 1e-9, "{:?}", heights.normalised);
    }
    let ties = [Reading::rise("A", "B", 1.0, Some(0.1)), Reading::rise("B", "C", 1.0, Some(3.0))];
    for (order, out) in [([0, 1], 1), ([1, 0], 0)] {
        let readings = order.map(|at: usize| ties[at].clone()).to_vec();
        let error = adjust(&Survey::new(readings).without(out)).unwrap_err();
        assert_eq!(error.problems()[0].kind, ProblemKind::Untied, "{error}");
    }
}
