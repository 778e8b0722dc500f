//! Colours and patches of a heat map.

/// Ten steps of the palette cividis, from dark blue to yellow: even steps of lightness that look
/// much the same to people with and without colour-blindness, and stay in order in grey print.
/// Source: Nuñez, Anderson, Renslow, "Optimizing colormaps with consideration for color vision
/// deficiency", PLoS ONE 13(7), 2018.
const PALETTE: [[u8; 3]; 10] = [
    [0x00, 0x22, 0x4e],
    [0x12, 0x35, 0x70],
    [0x3b, 0x49, 0x6c],
    [0x57, 0x5d, 0x6d],
    [0x70, 0x71, 0x73],
    [0x8a, 0x86, 0x78],
    [0xa5, 0x9c, 0x74],
    [0xc3, 0xb3, 0x69],
    [0xe1, 0xcc, 0x55],
    [0xfe, 0xe8, 0x38],
];

/// The colour of a share from 0 to 1 of the scale, and whether white ink stands out on it.
pub(super) fn colour(share: f64) -> (String, bool) {
    let place = share.clamp(0.0, 1.0) * (PALETTE.len() - 1) as f64;
    let below = (place.floor() as usize).min(PALETTE.len() - 2);
    let part = place - below as f64;
    let mix = |at: usize| {
        let [from, to] = [PALETTE[below], PALETTE[below + 1]].map(|rgb| f64::from(rgb[at]));
        (from + (to - from) * part).round() as u8
    };
    let [red, green, blue] = [mix(0), mix(1), mix(2)];
    (format!("#{red:02x}{green:02x}{blue:02x}"), share < 0.465)
}

/// What of a rectangle lies nearer to each place than to any other. Of two equal places the second
/// has nothing.
pub(super) fn patches(places: &[[f64; 2]], [x, y, w, h]: [f64; 4]) -> Vec<Vec<[f64; 2]>> {
    let frame = [[x, y], [x + w, y], [x + w, y + h], [x, y + h]];
    let patch = |at: usize| {
        places.iter().enumerate().filter(|&(other, _)| other != at).fold(
            frame.to_vec(),
            |patch, (other, place)| match *place == places[at] {
                true if other < at => Vec::new(),
                true => patch,
                false => nearer(&patch, places[at], *place),
            },
        )
    };
    (0..places.len()).map(patch).collect()
}

/// The part of a convex polygon that lies nearer to one place than to another.
fn nearer(polygon: &[[f64; 2]], one: [f64; 2], other: [f64; 2]) -> Vec<[f64; 2]> {
    let square = |[x, y]: [f64; 2], [a, b]: [f64; 2]| (x - a) * (x - a) + (y - b) * (y - b);
    // Below zero on the side of `one`; linear in the corner, since the squares cancel.
    let side = |corner: [f64; 2]| square(corner, one) - square(corner, other);
    let mut part = Vec::new();
    for (at, &corner) in polygon.iter().enumerate() {
        let next = polygon[(at + 1) % polygon.len()];
        let (here, there) = (side(corner), side(next));
        if here <= 0.0 {
            part.push(corner);
        }
        if (here < 0.0 && there > 0.0) || (here > 0.0 && there < 0.0) {
            let share = here / (here - there);
            part.push([0, 1].map(|axis| corner[axis] + (next[axis] - corner[axis]) * share));
        }
    }
    part
}

/// A surface that is known on a lattice, at a place between its points (row, column): linear along both.
pub(super) fn between(rows: &[Vec<f64>], row: f64, column: f64) -> f64 {
    let place = |at: f64, count: usize| {
        let below = (at.max(0.0) as usize).min(count.saturating_sub(2));
        (below, at - below as f64)
    };
    let (r, x) = place(row, rows.len());
    let (c, y) = place(column, rows[r].len());
    let side = |r: usize| rows[r][c] + (rows[r][c + 1] - rows[r][c]) * y;
    side(r) + (side(r + 1) - side(r)) * x
}

/// Patches of half a step of the lattice: where each begins (row, column), and the height of its middle.
pub(super) fn cells(rows: &[Vec<f64>]) -> Vec<[f64; 3]> {
    let halves = |count: usize| 2 * (count - 1);
    let (along, across) = (halves(rows.len()), halves(rows[0].len()));
    let cell = |at: usize| {
        let [row, column] = [at / across, at % across].map(|half| half as f64 / 2.0);
        [row, column, between(rows, row + 0.25, column + 0.25)]
    };
    (0..along * across).map(cell).collect()
}

/// Lines at which a surface has a height that is a multiple of a step: pairs of places (row, column). Each
/// square of the lattice counts as two triangles, on which the surface is flat.
pub(super) fn contours(rows: &[Vec<f64>], step: f64) -> Vec<[[f64; 2]; 2]> {
    let mut lines = Vec::new();
    for row in 0..rows.len() - 1 {
        for column in 0..rows[row].len() - 1 {
            let corner = |[r, c]: [usize; 2]| ([r as f64, c as f64], rows[r][c]);
            let (a, d) = ([row, column], [row + 1, column + 1]);
            for b in [[row + 1, column], [row, column + 1]] {
                lines.extend(crossings([a, b, d].map(corner), step));
            }
        }
    }
    lines
}

/// The lines across one triangle.
fn crossings(corners: [([f64; 2], f64); 3], step: f64) -> Vec<[[f64; 2]; 2]> {
    const MOST: i64 = 100;
    let heights = corners.map(|(_, height)| height / step);
    let lowest = heights.iter().copied().fold(f64::INFINITY, f64::min).ceil() as i64;
    let highest = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max).floor() as i64;
    let across = |level: i64| {
        let level = level as f64 * step;
        let mut ends = [[0, 1], [1, 2], [2, 0]].into_iter().filter_map(|[from, to]| {
            let ((a, low), (b, high)) = (corners[from], corners[to]);
            let crosses = (low < level) != (high < level);
            let share = (level - low) / (high - low);
            crosses.then(|| [0, 1].map(|axis| a[axis] + (b[axis] - a[axis]) * share))
        });
        Some([ends.next()?, ends.next()?])
    };
    (lowest..=highest.min(lowest.saturating_add(MOST))).filter_map(across).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance as WCAG 2 has it.
    fn luminance(rgb: [u8; 3]) -> f64 {
        let linear = |value: u8| match f64::from(value) / 255.0 {
            low if low <= 0.04045 => low / 12.92,
            high => ((high + 0.055) / 1.055).powf(2.4),
        };
        0.2126 * linear(rgb[0]) + 0.7152 * linear(rgb[1]) + 0.0722 * linear(rgb[2])
    }

    #[test]
    fn the_palette_rises_in_lightness_and_its_ink_is_legible() {
        let lights = PALETTE.map(luminance);
        assert!(lights.is_sorted());
        for step in 0..=100 {
            let (hex, white) = colour(f64::from(step) / 100.0);
            let part = |at: usize| u8::from_str_radix(&hex[at..at + 2], 16).unwrap();
            let paper = luminance([part(1), part(3), part(5)]);
            let ink: f64 = if white { 1.0 } else { 0.0 };
            let contrast = (ink.max(paper) + 0.05) / (ink.min(paper) + 0.05);
            assert!(contrast >= 4.5, "{hex}: {contrast}");
        }
        assert_eq!(colour(f64::NAN).0.len(), 7);
    }

    #[test]
    fn contours_lie_where_the_surface_has_their_height() {
        let plane = |row: usize, column: usize| 0.3 * row as f64 - 0.7 * column as f64 + 0.05;
        let rows: Vec<Vec<f64>> =
            (0..5).map(|row| (0..4).map(|column| plane(row, column)).collect()).collect();
        let lines = contours(&rows, 0.5);
        assert!(lines.len() > 10);
        for [row, column] in lines.into_iter().flatten() {
            let height = between(&rows, row, column) / 0.5;
            assert!((height - height.round()).abs() < 1e-9, "{height}");
        }
        assert_eq!(cells(&rows).len(), 8 * 6);
    }

    #[test]
    fn patches_cover_the_rectangle_once() {
        let area = |patch: &Vec<[f64; 2]>| {
            let corner = |at: usize| patch[at % patch.len()];
            let cross = |at| corner(at)[0] * corner(at + 1)[1] - corner(at + 1)[0] * corner(at)[1];
            (0..patch.len()).map(cross).sum::<f64>().abs() / 2.0
        };
        let places = [[1.0, 1.0], [9.0, 1.0], [9.0, 4.0], [9.0, 4.0], [2.0, 4.5], [5.0, 2.0]];
        let patches = patches(&places, [0.0, 0.0, 10.0, 5.0]);
        assert!(patches[3].is_empty());
        let sum: f64 = patches.iter().map(area).sum();
        assert!((sum - 50.0).abs() < 1e-9, "{sum}");
    }
}
