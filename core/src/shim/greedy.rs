//! A quick first plan, for a search that ends before it has found one.

use super::budget::{Meter, NEVER};
use super::model::{Model, spans_of};
use super::problem::Budget;
use super::stacking::Stacking;
use super::stacks::{Stacks, Weights};

/// At a high, a middle and a low level: gives each support in turn, from the lowest up, the
/// lightest stack that the remaining stock allows. None where at every level some support gets no
/// stack within `width`. Where prices count, that can take too many nodes, and the stacks of fewest
/// pieces are tried too.
pub(super) fn greedy(model: &Model, width: i64) -> Option<Stacking> {
    const NODES_A_SUPPORT: u64 = 500;
    let anchor = model.anchor?;
    let (high, low) = (model.heights[anchor], -width);
    let nodes = NODES_A_SUPPORT * model.heights.len() as u64;
    let most = model.costs.piece.iter().max().copied().unwrap_or(0);
    let alike: Vec<i64> =
        model.costs.piece.iter().map(|piece| (most - piece) * model.scale).collect();
    let none = vec![0; alike.len()];
    let tried = if alike == none { vec![none] } else { vec![none, alike] };
    tried.iter().find_map(|multipliers| {
        [high, high + (low - high) / 2, low].into_iter().find_map(|low| {
            let mut meter = Meter::new(&Budget { nodes, time_ms: None }, NEVER);
            by_weights(model, multipliers, [low, low + width], &mut meter)
        })
    })
}

/// The same at one level with all tops in a window.
pub(super) fn at_level(model: &Model, all: [i64; 2], meter: &mut Meter<'_>) -> Option<Stacking> {
    by_weights(model, &vec![0; model.thickness.len()], all, meter)
}

/// The same with stacks weighed by these multipliers.
fn by_weights(
    model: &Model,
    multipliers: &[i64],
    all: [i64; 2],
    meter: &mut Meter<'_>,
) -> Option<Stacking> {
    let (supports, anchor) = (model.heights.len(), model.anchor?);
    if !model.stock_fills(all[0]) {
        return None;
    }
    let mut stacks = Stacks::new(model);
    let weights = Weights::new(model, multipliers);
    let mut extents = vec![(i64::MAX, i64::MIN); model.spans.len()];
    let mut plan = Stacking { counts: Vec::new(), cost: 0, tops: Vec::new(), kinds: 0 };
    for (support, spans) in spans_of(supports, &model.spans).iter().enumerate() {
        let mut window = all;
        for &span in spans {
            let ((lowest, highest), width) = (extents[span], model.spans[span].1);
            if lowest <= highest {
                window = [window[0].max(highest - width), window[1].min(lowest + width)];
            }
        }
        // One of those that may stay bare has to. Only a bare stack brings it to where it stands.
        if support == anchor {
            let bare = model.heights[anchor];
            window = [window[0].max(bare), window[1].min(bare)];
        }
        let mut counts = vec![0; model.thickness.len()];
        let lightest = stacks.lightest(support, window, &weights, &mut counts, meter);
        let (_, top) = lightest.ok()??;
        if !model.admits(support, &counts) {
            return None;
        }
        stacks.take(&counts);
        let (cost, kinds) = model.cost(support, &counts, top);
        plan.cost += cost;
        plan.kinds |= kinds;
        for &span in spans {
            extents[span] = (extents[span].0.min(top), extents[span].1.max(top));
        }
        plan.tops.push(top);
        plan.counts.extend(counts);
    }
    Some(plan)
}
