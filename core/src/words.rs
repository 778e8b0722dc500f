//! Every sentence that a person reads on a sheet, in a picture or in the notes of a job, once.
//!
//! What to say is decided by those who know; how it is said stands here. A sentence takes names,
//! numbers and what the core finds, and knows nothing of documents or pages.

pub(crate) mod bed;
pub(crate) mod budget;
pub(crate) mod estimate;
pub(crate) mod floor;
pub(crate) mod legend;
pub(crate) mod plan;
pub(crate) mod plate;
pub(crate) mod play;
pub(crate) mod shortfall;
pub(crate) mod stack;
pub(crate) mod survey;
pub(crate) mod verdict;

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
