//! A stack of shims.

use crate::length::Length;
use crate::shown::HARD_SPACE;
use crate::stock::Shim;
use crate::units::Units;

/// A piece of a stack: its thickness, and the name of its kind, empty where it has none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Piece<'a> {
    pub(crate) thickness: Length,
    pub(crate) name: &'a str,
}

/// The pieces of a stack with their names, of which there are none or one for each.
pub(crate) fn pieces<'a>(shims: &[Length], names: &'a [String]) -> Vec<Piece<'a>> {
    let name = |at: usize| names.get(at).map_or("", String::as_str);
    let piece = |(at, &thickness): (usize, &Length)| Piece { thickness, name: name(at) };
    shims.iter().enumerate().map(piece).collect()
}

/// A kind of shim, as a person knows it: its thickness and its name.
pub(crate) fn kind_name(shim: &Shim, units: Units) -> String {
    let thickness = match shim.adjusts {
        Some(adjusts) => {
            format!("{} to {}", units.thickness(shim.thickness), units.thickness(adjusts.to))
        }
        None => units.thickness(shim.thickness),
    };
    with_name(thickness, &shim.name)
}

/// A thickness, and the name of its kind if it has one.
pub(crate) fn with_name(thickness: String, name: &str) -> String {
    if name.is_empty() { thickness } else { format!("{thickness} {name}") }
}

/// The pieces of a stack, equal ones together: `2 × 1/8 in`, `0.010 in` and the name of their kind.
pub(crate) fn thicknesses<'a>(
    stack: &'a [Piece<'a>],
    units: Units,
) -> impl Iterator<Item = (String, &'a str)> {
    let run = move |run: &'a [Piece<'a>]| {
        let times = if run.len() > 1 { format!("{} × ", run.len()) } else { String::new() };
        (format!("{times}{}", units.thickness(run[0].thickness)), run[0].name)
    };
    stack.chunk_by(|a, b| a == b).map(run)
}

/// A stack; where something is in place, what to do about it. Broken between pieces and words only.
pub(crate) fn stack(stack: &[Piece<'_>], placed: Option<&[Piece<'_>]>, units: Units) -> String {
    match (placed, stack) {
        (Some(placed), _) => to_do(stack, Some(placed), units),
        (None, []) => "none".to_owned(),
        (None, _) => told(stack, units),
    }
}

/// Pieces, each held together but for the name of its kind.
fn told(stack: &[Piece<'_>], units: Units) -> String {
    let held =
        |(run, name): (String, &str)| with_name(run.replace(' ', &HARD_SPACE.to_string()), name);
    thicknesses(stack, units).map(held).collect::<Vec<_>>().join(" + ")
}

/// What to do: `before` is what is in place, thickest first, or nothing where this is the first pass.
pub(crate) fn to_do(stack: &[Piece<'_>], before: Option<&[Piece<'_>]>, units: Units) -> String {
    let before = before.unwrap_or(&[]);
    let (mut stay, mut out, mut add) = (Vec::new(), Vec::new(), stack.to_vec());
    for &piece in before {
        match add.iter().position(|&it| it == piece) {
            Some(at) => stay.push(add.remove(at)),
            None => out.push(piece),
        }
    }
    let named = |pieces: &[Piece<'_>]| told(pieces, units);
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
            let (before, after) = (before.map(|it| mm(&it)), mm(&after));
            let before = before.as_deref().map(|it| pieces(it, &[]));
            let told = to_do(&pieces(&after, &[]), before.as_deref(), Units::Metric);
            assert_eq!(told.replace(HARD_SPACE, " "), words);
        }
    }

    #[test]
    fn kinds_that_are_as_thick_as_each_other_are_told_apart_by_their_names() {
        let shims = [Length::from_nm(1_000_000); 3];
        let names = ["steel leaf", "steel leaf", "oak leaf"].map(str::to_owned);
        let after = pieces(&shims, &names);
        let told = |before| to_do(&after, before, Units::Metric).replace(HARD_SPACE, " ");
        assert_eq!(told(None), "add 2 × 1 mm steel leaf + 1 mm oak leaf");
        let before = [after[2]];
        assert_eq!(told(Some(&before)), "add 2 × 1 mm steel leaf to 1 mm oak leaf");
    }
}
