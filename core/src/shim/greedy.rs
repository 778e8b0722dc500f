//! A first plan by rule of thumb, for when a search ends before it has found one.

use super::budget::{Meter, NEVER};
use super::model::{Model, spans_of};
use super::problem::Budget;
use super::stacking::Stacking;
use super::stacks::{Stacks, Weights};

/// Gives every support in turn, from the lowest up, the lightest stack that the stock left allows,
/// at a high, a middle and a low level; none where a support comes away empty-handed at each.
pub(super) fn greedy(model: &Model) -> Option<Stacking> {
    [0, -model.width / 2, -model.width].into_iter().find_map(|low| at_level(model, low))
}

fn at_level(model: &Model, low: i64) -> Option<Stacking> {
    const NODES_A_SUPPORT: u64 = 500;
    let supports = model.heights.len();
    let nodes = NODES_A_SUPPORT * supports as u64;
    let mut meter = Meter::new(&Budget { nodes, time_ms: None }, NEVER);
    let mut stacks = Stacks::new(model);
    let weights = Weights::new(model, &vec![0; model.thickness.len()]);
    let mut extents = vec![(i64::MAX, i64::MIN); model.spans.len()];
    let mut plan = Stacking { counts: Vec::new(), cost: 0, tops: Vec::new(), kinds: 0 };
    for (support, spans) in spans_of(supports, &model.spans).iter().enumerate() {
        let mut window = [low, low + model.width];
        for &span in spans {
            let ((lowest, highest), width) = (extents[span], model.spans[span].1);
            if lowest <= highest {
                window = [window[0].max(highest - width), window[1].min(lowest + width)];
            }
        }
        // The highest support is always one that may stay bare, and one has to.
        if support + 1 == supports {
            window = [window[0].max(0), window[1].min(0)];
        }
        let mut counts = vec![0; model.thickness.len()];
        stacks.lightest(support, window, &weights, &mut counts, &mut meter).ok()??;
        stacks.take(&counts);
        let lift =
            counts.iter().zip(&model.thickness).map(|(&count, each)| i64::from(count) * each);
        let top = model.heights[support] + lift.sum::<i64>();
        let (cost, kinds) = model.cost(&counts);
        plan.cost += cost;
        plan.kinds |= kinds;
        for &span in spans {
            extents[span] = (extents[span].0.min(top), extents[span].1.max(top));
        }
        plan.tops.push(top);
        plan.counts.push(counts);
    }
    Some(plan)
}
