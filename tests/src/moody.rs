//! A surface plate as published: 126 stations on eight lines.
//!
//! Readings: J. C. Moody, "How to calibrate surface plates in the plant", The Tool Engineer, October
//! 1955, 15-21: a plate of 48 × 72 in, an autocollimator on a foot of 4 in, arcseconds. The
//! misprints that B. Allen found ("Comments on Moody's method", 2019) are corrected.

const ARCSECOND: f64 = std::f64::consts::PI / 648_000.0;
const FOOT_UIN: f64 = 4e6;

/// Lines by the places that they run between, in sixteenths and tenths of the two sides, with the
/// readings.
#[rustfmt::skip]
const LINES: [(&str, &[f64]); 8] = [
    ("NW SE", &[6.5, 6.0, 5.0, 5.2, 5.5, 5.6, 5.5, 5.0, 5.5, 4.8, 5.0, 5.2, 5.3, 4.9, 4.6, 4.2, 5.3, 4.9, 4.5, 3.5]),
    ("NE SW", &[6.6, 5.4, 5.4, 5.2, 5.5, 5.7, 5.0, 5.0, 5.4, 4.5, 4.4, 4.5, 4.5, 4.8, 4.2, 4.2, 4.2, 4.8, 4.3, 3.2]),
    ("NE NW", &[20.5, 19.7, 20.5, 20.3, 20.2, 19.9, 19.0, 19.5, 18.8, 18.6, 18.7, 18.6, 18.4, 18.5, 19.0, 17.9]),
    ("NE SE", &[3.5, 2.1, 2.5, 2.8, 3.4, 3.2, 3.5, 4.0, 4.2, 3.5]),
    ("SE SW", &[16.4, 15.0, 15.6, 15.5, 15.1, 15.3, 15.1, 14.6, 14.0, 13.5, 13.5, 13.3, 13.3, 13.4, 14.0, 13.9]),
    ("NW SW", &[6.0, 4.6, 4.5, 4.7, 5.0, 4.5, 5.9, 6.0, 6.0, 4.9]),
    ("E W", &[11.7, 12.4, 12.1, 12.5, 12.0, 11.5, 11.5, 11.3, 11.3, 10.3, 10.8, 10.3, 10.0, 10.7, 10.4, 10.4]),
    ("N S", &[6.6, 6.4, 6.3, 6.5, 6.6, 6.9, 7.5, 7.4, 7.1, 7.0]),
];

fn place(name: &str) -> [f64; 2] {
    let x = if name.contains('E') {
        64.0
    } else if name.contains('W') {
        0.0
    } else {
        32.0
    };
    let y = if name.contains('N') {
        40.0
    } else if name.contains('S') {
        0.0
    } else {
        20.0
    };
    [x, y]
}

/// Places in inches and heights in microinches of all stations, by Moody's own procedure: the
/// diagonals cross at zero and end level, the sides are tied to their ends, the centre lines to the
/// middles of the sides. Where lines meet the same place comes more than once.
pub fn stations() -> (Vec<[f64; 2]>, Vec<f64>) {
    let (mut xy, mut z) = (Vec::new(), Vec::new());
    // Heights at the ends of lines to come.
    let mut known: Vec<(String, f64)> = Vec::new();
    for (name, readings) in LINES {
        let (from, to) = name.split_once(' ').unwrap();
        let count = readings.len();
        let mut heights = vec![0.0];
        for reading in readings {
            heights
                .push(heights[heights.len() - 1] + (reading - readings[0]) * ARCSECOND * FOOT_UIN);
        }
        let end = |place: &str| known.iter().find(|(name, _)| name == place).map(|it| it.1);
        let (first, last) = (end(from).unwrap_or(0.0), end(to).unwrap_or(0.0));
        let rise = (last - first - heights[count]) / count as f64;
        for (at, height) in heights.iter_mut().enumerate() {
            *height += first + rise * at as f64;
        }
        if count == 20 {
            let middle = heights[10];
            heights.iter_mut().for_each(|height| *height -= middle);
            known.push((from.into(), heights[0]));
            known.push((to.into(), heights[20]));
        } else {
            let side: String = from.chars().filter(|&c| to.contains(c)).collect();
            known.push((side, heights[count / 2]));
        }
        let ([x0, y0], [x1, y1]) = (place(from), place(to));
        for (at, height) in heights.into_iter().enumerate() {
            let part = at as f64 / count as f64;
            xy.push([x0 + part * (x1 - x0), y0 + part * (y1 - y0)]);
            z.push(height);
        }
    }
    (xy, z)
}
