//! The surface of slates on a map: patches and lines of equal height.

use svg::node::Node;

use super::canvas::Canvas;
use super::heat;
use crate::job::SlateOutcome;

/// All heights that are known of the surfaces, mm above the target.
pub(super) fn heights(slates: &[SlateOutcome]) -> impl Iterator<Item = f64> {
    slates.iter().flat_map(|slate| slate.surface_mm.iter().flatten().copied())
}

/// The step of the lines, mm: 1, 2 or 5 of a power of ten, so that there are a few of them. None where no
/// surface is known.
pub(super) fn contour_step(slates: &[SlateOutcome]) -> Option<f64> {
    const MOST: f64 = 6.0;
    let ends = [f64::INFINITY, f64::NEG_INFINITY];
    let [low, high] = heights(slates).fold(ends, |[low, high], mm| [low.min(mm), high.max(mm)]);
    let powers = [1e-4, 1e-3, 1e-2, 1e-1, 1.0, 1e1, 1e2];
    let mut steps = powers.into_iter().flat_map(|power| [1.0, 2.0, 5.0].map(|step| step * power));
    (high > low).then(|| steps.find(|step| high - low <= MOST * step))?
}

/// Draws the surfaces where places on the bed are on the page, in the colours of a scale from 0 to 1.
pub(super) fn draw(
    canvas: &mut Canvas,
    slates: &[SlateOutcome],
    on_page: &dyn Fn([f64; 2]) -> [f64; 2],
    share: &dyn Fn(f64) -> f64,
) {
    let step = contour_step(slates);
    for slate in slates {
        let rows = &slate.surface_mm;
        let (along, across) = (rows.len(), rows.first().map_or(0, Vec::len));
        if along < 2 || across < 2 || rows.iter().any(|row| row.len() != across) {
            continue;
        }
        let corners = [[slate.x_mm[0], slate.y_mm[0]], [slate.x_mm[1], slate.y_mm[1]]];
        let [from, to] = corners.map(on_page);
        // Where a place of the lattice is on the page; it may lie between two of them.
        let at = |row: f64, column: f64| {
            let [x, y] = [row / (along - 1) as f64, column / (across - 1) as f64];
            [from[0] + x * (to[0] - from[0]), from[1] + y * (to[1] - from[1])]
        };
        for [row, column, mm] in heat::cells(rows) {
            let [[x0, y1], [x1, y0]] = [at(row, column), at(row + 0.5, column + 0.5)];
            // Neighbours overlap by a hair, or the paper would show between them.
            let cell = [x0, y0, x1 - x0 + 0.3, y1 - y0 + 0.3];
            canvas.rect("patch", cell).assign("fill", heat::colour(share(mm)).0);
        }
        for [[a, b], [c, d]] in step.map(|step| heat::contours(rows, step)).unwrap_or_default() {
            let on_dark = heat::colour(share(heat::between(rows, a, b))).1;
            let ink = if on_dark { "contour-on-dark" } else { "contour" };
            canvas.line(ink, at(a, b), at(c, d));
        }
        canvas.rect("line", [from[0], to[1], to[0] - from[0], from[1] - to[1]]);
    }
}
