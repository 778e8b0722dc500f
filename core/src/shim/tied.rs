//! The first goal where lines and joints tie supports to each other.
//!
//! What the spans tell (`split`) brings the bound so close to the cost that levels need not be taken
//! region by region: all windows are searched at once, the width over all supports being one more
//! span, and the cost goes up from the bound one by one. The multipliers of the stock are tuned anew
//! with the spans in view, by the same subgradient steps as in `region`.

use super::budget::{Budgeted, Meter};
use super::lists::Lists;
use super::model::Model;
use super::search::order;
use super::split::Split;

/// What is known of the plans of a problem with spans up to some cost.
pub(super) struct Tied {
    /// The candidates of all plans that cost no more, and how their weights are split.
    pub(super) lists: Lists,
    pub(super) multipliers: Vec<i64>,
    /// No plan costs less.
    pub(super) floor: i64,
}

impl Tied {
    /// Steps of the multipliers.
    const STEPS: usize = 48;

    /// Of lists that have all candidates of plans that cost at most `cost` and come within `width`;
    /// none where there are no such plans.
    pub(super) fn new(
        model: &Model,
        mut lists: Lists,
        multipliers: &[i64],
        cost: i64,
        width: i64,
        meter: &mut Meter,
    ) -> Budgeted<Option<Self>> {
        let mut spans = model.spans.clone();
        spans.push(((0..lists.of.len()).collect(), width));
        let order = order(model, &model.spans);
        let mut multipliers = multipliers.to_vec();
        let cap =
            |multipliers: &[i64]| (cost * model.scale).saturating_add(model.worth(multipliers));
        let mut left_out = i64::MAX;
        let within = Split::within(
            &spans,
            &mut lists.of,
            &order,
            None,
            cap(&multipliers),
            &mut left_out,
            meter,
        )?;
        let Some(mut split) = within else { return Ok(None) };
        let bound = |split: &Split, multipliers: &[i64]| split.bound() - model.worth(multipliers);
        let mut best = (bound(&split, &multipliers), multipliers.clone(), split.clone());
        let mut reach = model.scale;
        for step in 0..Self::STEPS {
            let mut used = vec![0_i64; multipliers.len()];
            for candidate in split.lightest(&lists.of) {
                let counts = lists.counts(candidate);
                used.iter_mut().zip(counts).for_each(|(used, &count)| *used += i64::from(count));
            }
            let pull = |kind: usize| match model.counts[kind] {
                Some(count) if used[kind] > count.into() || multipliers[kind] > 0 => {
                    (used[kind] - i64::from(count)) as f64
                }
                _ => 0.0,
            };
            let pulls: Vec<f64> = (0..used.len()).map(pull).collect();
            let norm: f64 = pulls.iter().map(|pull| pull * pull).sum();
            if norm == 0.0 {
                break;
            }
            let length = reach as f64 / norm;
            for (multiplier, pull) in multipliers.iter_mut().zip(&pulls) {
                let to = (*multiplier as f64 + length * pull).round() as i64;
                *multiplier = to.clamp(0, model.multiplier_end);
            }
            lists.weigh(model, &multipliers);
            split.weigh(&lists.of);
            split.improve(&order, step % 2 == 0, meter)?;
            let now = bound(&split, &multipliers);
            if now > cost * model.scale {
                return Ok(None);
            }
            if now > best.0 {
                best = (now, multipliers.clone(), split.clone());
            } else {
                reach = reach * 7 / 8;
            }
        }
        let (_, multipliers, split) = best;
        lists.weigh(model, &multipliers);
        let start = Some(&split);
        let cap = cap(&multipliers);
        let within =
            Split::within(&spans, &mut lists.of, &order, start, cap, &mut left_out, meter)?;
        let Some(split) = within else { return Ok(None) };
        let floor = model.unscaled(bound(&split, &multipliers));
        lists.split = Some(split);
        Ok(Some(Self { lists, multipliers, floor }))
    }
}

/// Leaves in the lists what plans that cost at most `cost` and come within `width` can have, with the
/// split of their weights; false where there are no such plans.
pub(super) fn thin(
    model: &Model,
    lists: &mut Lists,
    multipliers: &[i64],
    cost: i64,
    width: i64,
    meter: &mut Meter,
) -> Budgeted<bool> {
    let mut spans = model.spans.clone();
    spans.push(((0..lists.of.len()).collect(), width));
    let order = order(model, &model.spans);
    let cap = (cost * model.scale).saturating_add(model.worth(multipliers));
    let start = lists.split.take();
    let (start, mut left_out) = (start.as_ref(), i64::MAX);
    lists.split = Split::within(&spans, &mut lists.of, &order, start, cap, &mut left_out, meter)?;
    Ok(lists.split.is_some())
}
