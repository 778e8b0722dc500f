//! Room on a page for marks and their labels, without overlaps.

/// A rectangle: left, top, width, height.
pub(super) type Frame = [f64; 4];

fn overlap([ax, ay, aw, ah]: Frame, [bx, by, bw, bh]: Frame) -> bool {
    ax < bx + bw && bx < ax + aw && ay < by + bh && by < ay + ah
}

fn within([ax, ay, aw, ah]: Frame, [bx, by, bw, bh]: Frame) -> bool {
    ax >= bx && ay >= by && ax + aw <= bx + bw && ay + ah <= by + bh
}

/// Moves marks apart until their middles are `gap` from each other, as far as a few hundred rounds
/// take it, or a few where there are many marks; marks on one place go to the left and to the right.
pub(super) fn spread(places: &[[f64; 2]], gap: f64, [x, y, w, h]: Frame) -> Vec<[f64; 2]> {
    const MOST_PAIRS: usize = 600_000;
    let mut spread = places.to_vec();
    let pairs = places.len() * places.len() / 2 + 1;
    for _ in 0..(MOST_PAIRS / pairs).min(300) {
        let mut still = true;
        for a in 0..spread.len() {
            for b in a + 1..spread.len() {
                let [dx, dy] = [0, 1].map(|axis| spread[b][axis] - spread[a][axis]);
                let distance = (dx * dx + dy * dy).sqrt();
                if distance >= gap - 0.05 {
                    continue;
                }
                still = false;
                let push = (gap - distance) / 2.0;
                let [ux, uy] = match distance > 0.01 {
                    true => [dx / distance, dy / distance],
                    false => [1.0, 0.0],
                };
                for (at, sign) in [(a, -push), (b, push)] {
                    spread[at][0] = (spread[at][0] + sign * ux).clamp(x, x + w);
                    spread[at][1] = (spread[at][1] + sign * uy).clamp(y, y + h);
                }
            }
        }
        if still {
            break;
        }
    }
    spread
}

/// What is taken on a page.
pub(super) struct Room {
    taken: Vec<Frame>,
}

impl Room {
    pub(super) fn new() -> Self {
        Self { taken: Vec::new() }
    }

    pub(super) fn take(&mut self, frame: Frame) {
        self.taken.push(frame);
    }

    /// Takes room within bounds for a label of a size beside a mark: on the side that points away from `centre`
    /// if it is free, else on another.
    pub(super) fn beside(
        &mut self,
        [x, y]: [f64; 2],
        radius: f64,
        [w, h]: [f64; 2],
        centre: [f64; 2],
        bounds: Frame,
    ) -> Option<Frame> {
        let gap = radius + 5.0;
        let (left, right) = (x - gap - w, x + gap);
        let (above, below) = (y - gap - h, y + gap);
        let sides = if x < centre[0] { [left, right] } else { [right, left] };
        let ends = if y < centre[1] { [above, below] } else { [below, above] };
        let level = y - h / 2.0;
        let candidates =
            [[sides[0], level], [x - w / 2.0, ends[0]], [x - w / 2.0, ends[1]], [sides[1], level]];
        candidates.into_iter().find_map(|[x, y]| self.claim([x, y, w, h], bounds))
    }

    /// Takes room around a middle.
    pub(super) fn centred(
        &mut self,
        [x, y]: [f64; 2],
        [w, h]: [f64; 2],
        bounds: Frame,
    ) -> Option<Frame> {
        self.claim([x - w / 2.0, y - h / 2.0, w, h], bounds)
    }

    fn claim(&mut self, frame: Frame, bounds: Frame) -> Option<Frame> {
        let free = within(frame, bounds) && !self.taken.iter().any(|&it| overlap(frame, it));
        free.then(|| self.take(frame))?;
        Some(frame)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_moved_apart_and_stay_inside() {
        let frame = [0.0, 0.0, 300.0, 100.0];
        let places: Vec<_> =
            (0..24).map(|at| [f64::from(at % 8) * 40.0, f64::from(at / 12) * 90.0]).collect();
        let spread = spread(&places, 20.0, frame);
        for (at, a) in spread.iter().enumerate() {
            assert!(within([a[0], a[1], 0.0, 0.0], frame));
            for b in &spread[at + 1..] {
                assert!((a[0] - b[0]).hypot(a[1] - b[1]) > 19.0, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn labels_do_not_overlap() {
        let mut room = Room::new();
        let labels: Vec<_> = (0..9)
            .filter_map(|_| {
                room.beside([50.0, 50.0], 5.0, [30.0, 12.0], [40.0, 40.0], [0.0, 0.0, 100.0, 100.0])
            })
            .collect();
        assert!(labels.len() == 4);
        for (at, &a) in labels.iter().enumerate() {
            assert!(labels[at + 1..].iter().all(|&b| !overlap(a, b)));
        }
    }
}
