//! Why no plan meets the limits, and what would help.

use crate::limits::{LimitKind, Span};
use crate::shim::{Addition, Conflict, Status};
use crate::stock::Shim;
use crate::units::Units;
use crate::words::stack::kind_name;

/// What cannot go together.
pub(crate) fn in_the_way(
    conflict: &Conflict,
    stock: &[Shim],
    names: &[&str],
    units: Units,
) -> String {
    let named = |of: &[usize]| of.iter().map(|&at| names[at]).collect::<Vec<_>>().join(", ");
    let mut parts = vec![format!("the points {}", named(&conflict.supports))];
    parts.extend((conflict.limits.iter()).map(|span| limit(span, &named(&span.members), units)));
    if !conflict.scarce.is_empty() {
        let kinds: Vec<_> =
            conflict.scarce.iter().map(|&kind| kind_name(&stock[kind], units)).collect();
        parts.push(format!("so few pieces of {}", kinds.join(", ")));
    }
    if conflict.max_pieces {
        parts.push("so few pieces under one point".to_owned());
    }
    if conflict.max_stack {
        parts.push("such low stacks".to_owned());
    }
    let all = if conflict.minimal { "" } else { " (or some of these)" };
    format!("These do not go together{all}: {}.", parts.join("; "))
}

fn limit(span: &Span, points: &str, units: Units) -> String {
    let (name, within) = (span.limit, units.figure("", span.width.mm()));
    match name {
        LimitKind::Overall => format!("the overall limit ({within})"),
        _ => format!("the limit {name} ({within}) over {points}"),
    }
}

/// The pieces with which there is a plan, of these kinds.
pub(crate) fn what_helps(addition: Option<&Addition>, kinds: &[Shim], units: Units) -> String {
    let Some(addition) = addition else {
        return "No number of these pieces was found to help: it may take other thicknesses."
            .to_owned();
    };
    let pieces: Vec<_> = (kinds.iter().zip(&addition.pieces))
        .filter(|(_, count)| **count > 0)
        .map(|(kind, count)| format!("{count} of {}", kind_name(kind, units)))
        .collect();
    let proven = if addition.plan.status == Status::Proven { "; nothing cheaper does" } else { "" };
    format!("With more pieces there is a plan: {}{proven}.", pieces.join(", "))
}
