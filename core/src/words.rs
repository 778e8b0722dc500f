//! Every sentence that a person reads on a sheet, in a picture or in the notes of a job, once.
//!
//! What to say is decided by those who know; how it is said stands here. A sentence takes names,
//! numbers and what the core finds, and knows nothing of documents or pages.

pub(crate) mod ball;
pub(crate) mod bed;
pub(crate) mod budget;
pub(crate) mod document;
pub(crate) mod estimate;
pub(crate) mod floor;
pub(crate) mod legend;
pub(crate) mod plan;
pub(crate) mod plate;
pub(crate) mod shortfall;
pub(crate) mod site;
pub(crate) mod stack;
pub(crate) mod survey;
pub(crate) mod verdict;

use crate::shown::HARD_SPACE;
use crate::verify::Conformity;

/// What stands on everything that a person will lift by.
pub const CAUTIONS: [&str; 5] = [
    "Slates and other heavy slabs are moved by enough trained people with proper lifting gear.",
    "Nobody puts a hand or a foot under a raised leg or slab.",
    "A jacked frame is blocked before anyone reaches under it.",
    "Keep stacks low and their bearing area wide; never go beyond what the maker of the shims or the frame allows.",
    "The floor's load capacity, local building codes and licensed trades decide wherever they apply.",
];

/// Why a job has no plan of its slates.
pub(crate) const LEGS_FIRST: &str = "The slates are not planned: the legs come first.";

/// A verdict in one of three words.
pub(crate) fn met(conformity: Conformity) -> &'static str {
    match conformity {
        Conformity::Met => "met",
        Conformity::NotMet => "NOT MET",
        Conformity::CannotTell => "CANNOT TELL",
    }
}

/// A probability, never rounded to what is certain.
pub(crate) fn percent(probability: f64) -> String {
    match probability {
        p if p > 0.9995 => "over 99.9 %".to_owned(),
        p if p < 0.0005 => "under 0.1 %".to_owned(),
        p => {
            let text = format!("{:.1}", 100.0 * p);
            format!("{} %", text.strip_suffix(".0").unwrap_or(&text))
        }
    }
}

/// A probability as [`percent`] writes it, unless that would look like another one that decides.
pub(crate) fn percent_beside(probability: f64, decides: f64) -> String {
    let plain = percent(probability);
    if plain != percent(decides) || probability >= decides {
        return plain;
    }
    format!("under {plain}")
}

/// A text whose figures are held together with their units where lines are broken.
pub(crate) fn held(text: &str) -> String {
    const UNITS: [&str; 13] =
        ["%", "mm", "in", "µm", "µin", "mm/m", "in/ft", "N", "lbf", "kg", "lb", "m", "MPa"];
    let mut held = String::with_capacity(text.len());
    let mut words = text.split(' ').peekable();
    while let Some(word) = words.next() {
        held.push_str(word);
        if let Some(next) = words.peek() {
            let is_figure = word.ends_with(|last: char| last.is_ascii_digit());
            let unit = next.trim_matches(|c: char| ".,;:()".contains(c));
            held.push(if is_figure && UNITS.contains(&unit) { HARD_SPACE } else { ' ' });
        }
    }
    held
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_stay_with_their_units() {
        for (text, expected) in [
            ("met with 95 % (5 % asked).", "met with 95_% (5_% asked)."),
            ("±0.06 mm, 1/32 in; 3 of 4", "±0.06_mm, 1/32_in; 3 of 4"),
            ("  two  spaces", "  two  spaces"),
        ] {
            assert_eq!(held(text).replace(HARD_SPACE, "_"), expected);
        }
    }

    #[test]
    fn a_probability_that_does_not_suffice_never_looks_as_if_it_did() {
        assert_eq!(percent_beside(0.9497, 0.95), "under 95 %");
        assert_eq!(percent_beside(0.9503, 0.95), "95 %");
        assert_eq!(percent_beside(0.93, 0.95), "93 %");
    }
}
