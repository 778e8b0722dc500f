//! Surveys, and the tables that they are read from.

use truebed::{Instrument, Reading, Survey, adjust, readings_from_csv};
use truebed_tests::random::Random;

const CELLS: [&str; 27] = [
    "height",
    "rise",
    "bubble",
    "slope",
    "gap",
    "leg-gap",
    "slate-gap",
    "leg_gap",
    "A",
    "B",
    "C",
    "1 mm",
    "0.1 mm",
    "-2 mm",
    "0.05 mm/m",
    "3",
    "3;2.5",
    "",
    "true",
    "staff",
    "laser",
    "0",
    "1e999 mm",
    "\"a,b\"",
    "NaN",
    "\u{202e}",
    "1/64 in",
];

const COLUMNS: [&str; 16] = [
    "kind",
    "point",
    "a",
    "b",
    "value",
    "sigma",
    "setup",
    "instrument",
    "divisions",
    "sensitivity",
    "base",
    "span",
    "level",
    "turned",
    "at",
    "note",
];

/// A table is read or refused, the same way twice; a survey of it is adjusted or refused.
pub(crate) fn tables(random: &mut Random) {
    let mut columns: Vec<&str> =
        COLUMNS.into_iter().filter(|name| *name == "kind" || !random.once_in(3)).collect();
    if random.once_in(10) {
        columns.push(COLUMNS[random.between(0, 15) as usize]);
    }
    let separator =
        if random.once_in(5) { [";", "\t"][random.between(0, 1) as usize] } else { "," };
    let mut text = columns.join(separator);
    for _ in 0..random.between(0, 6) {
        text.push_str(if random.once_in(4) { "\r\n" } else { "\n" });
        let row: Vec<&str> = columns
            .iter()
            .map(|column| match *column {
                "kind" => CELLS[random.between(0, 6) as usize],
                "point" | "a" | "b" => ["A", "B", "C", "D"][random.between(0, 3) as usize],
                _ if random.once_in(2) => "",
                _ => CELLS[random.between(0, 25) as usize],
            })
            .collect();
        text.push_str(&row.join(separator));
    }
    let read = || readings_from_csv(&text);
    assert_eq!(format!("{:?}", read()), format!("{:?}", read()), "{text}");
    if let Ok(readings) = read() {
        is_sound(&Survey::new(readings));
    }
}

/// A number of every size, and now and then none at all.
fn any(random: &mut Random) -> f64 {
    match random.between(0, 19) {
        0 => [f64::NAN, f64::INFINITY, 1e300, -1e300, 1e-300][random.between(0, 4) as usize],
        1 => random.normal() * 10_f64.powi(random.between(-9, 9) as i32),
        _ => random.normal(),
    }
}

fn sigma(random: &mut Random) -> Option<f64> {
    match random.between(0, 9) {
        0 => None,
        1 => Some(10_f64.powi(random.between(-12, 12) as i32)),
        2 => Some([0.0, -1.0, f64::NAN][random.between(0, 2) as usize]),
        _ => Some(0.1 + random.unit()),
    }
}

/// Heights, rises and readings from set-ups among a few points.
pub(crate) fn surveys(random: &mut Random) {
    let id = |random: &mut Random| format!("P{}", random.between(0, 5));
    let mut readings = Vec::new();
    for _ in 0..random.between(1, 14) {
        let (a, b, value, sigma) = (id(random), id(random), any(random), sigma(random));
        readings.push(match random.between(0, 2) {
            0 => Reading::rise(a, b, value, sigma),
            1 => {
                let setup = ["S1", "S2"][random.between(0, 1) as usize];
                Reading::from_setup(setup, Instrument::Laser, a, value, sigma)
            }
            _ => Reading::height(a, value, sigma),
        });
    }
    is_sound(&Survey::new(readings));
}

fn is_sound(survey: &Survey) {
    let (Ok(heights), Ok(again)) = (adjust(survey), adjust(survey)) else {
        assert_eq!(adjust(survey).err(), adjust(survey).err());
        return;
    };
    let bits = |values: &[f64]| values.iter().map(|value| value.to_bits()).collect::<Vec<_>>();
    assert_eq!(bits(&heights.mm), bits(&again.mm), "{survey:?}");
    assert_eq!(bits(&heights.sigma_mm), bits(&again.sigma_mm), "{survey:?}");
    assert!(heights.mm.iter().all(|mm| mm.is_finite()), "{survey:?}");
    assert!(heights.sigma_mm.iter().all(|sigma| *sigma >= 0.0), "{survey:?}");
    assert!(heights.redundancy.iter().all(|it| (-1e-9..=1.0 + 1e-9).contains(it)), "{survey:?}");
    let (covariance, count) = (heights.covariance_mm2(), heights.mm.len());
    for i in 0..count {
        let own = covariance[i * count + i];
        let expected = heights.sigma_mm[i].powi(2);
        assert!((own - expected).abs() <= 1e-6 * own.abs().max(expected), "{survey:?}");
        for j in 0..i {
            let (there, back) = (covariance[i * count + j], covariance[j * count + i]);
            assert!((there - back).abs() <= 1e-9 * own.abs().max(1e-300), "{survey:?}");
        }
    }
}
