//! A stack of shims.

use crate::length::Length;
use crate::shown::HARD_SPACE;
use crate::units::Units;

/// A stack; where something is in place, what to do about it. Broken between pieces and words only.
pub(crate) fn stack(shims: &[Length], placed: Option<&[Length]>, units: Units) -> String {
    match (placed, shims) {
        (Some(placed), shims) => to_do(shims, Some(placed), units),
        (None, []) => "none".to_owned(),
        (None, shims) => pieces(shims, units),
    }
}

/// Pieces, held together each.
fn pieces(shims: &[Length], units: Units) -> String {
    let held = |run: String| run.replace(' ', &HARD_SPACE.to_string());
    units.stack(shims).into_iter().map(held).collect::<Vec<_>>().join(" + ")
}

/// What to do: `before` is what is in place, thickest first, or nothing where this is the first pass.
pub(crate) fn to_do(shims: &[Length], before: Option<&[Length]>, units: Units) -> String {
    let before = before.unwrap_or(&[]);
    let (mut stay, mut out, mut add) = (Vec::new(), Vec::new(), shims.to_vec());
    for &piece in before {
        match add.iter().position(|&it| it == piece) {
            Some(at) => stay.push(add.remove(at)),
            None => out.push(piece),
        }
    }
    let named = |shims: &[Length]| pieces(shims, units);
    match (out.is_empty(), add.is_empty(), stay.is_empty()) {
        (true, true, true) => "leave bare".to_owned(),
        (true, true, false) => format!("leave {}", named(&stay)),
        (true, false, true) => format!("add {}", named(&add)),
        (true, false, false) => format!("add {} to {}", named(&add), named(&stay)),
        (false, true, true) => format!("take out {}, leave bare", named(&out)),
        (false, true, false) => format!("take out {}, leave {}", named(&out), named(&stay)),
        (false, false, true) => format!("take out {}, add {}", named(&out), named(&add)),
        (false, false, false) => {
            format!("take out {}, add {} to {}", named(&out), named(&add), named(&stay))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_to_do_is_what_differs() {
        let mm = |shims: &[f64]| -> Vec<Length> {
            shims.iter().map(|&it| Length::from_mm(it).unwrap()).collect()
        };
        for (before, after, words) in [
            (None, vec![], "leave bare"),
            (None, vec![1.0, 1.0, 0.5], "add 2 × 1 mm + 0.5 mm"),
            (Some(vec![1.0, 1.0]), vec![1.0, 1.0], "leave 2 × 1 mm"),
            (Some(vec![1.0, 1.0]), vec![1.0, 1.0, 0.5], "add 0.5 mm to 2 × 1 mm"),
            (Some(vec![1.0, 0.5]), vec![1.0], "take out 0.5 mm, leave 1 mm"),
            (Some(vec![0.5]), vec![], "take out 0.5 mm, leave bare"),
            (Some(vec![0.5]), vec![0.2], "take out 0.5 mm, add 0.2 mm"),
            (Some(vec![1.0, 0.5]), vec![1.0, 0.2], "take out 0.5 mm, add 0.2 mm to 1 mm"),
        ] {
            let before = before.map(|it| mm(&it));
            let told = to_do(&mm(&after), before.as_deref(), Units::Metric);
            assert_eq!(told.replace(HARD_SPACE, " "), words);
        }
    }
}
