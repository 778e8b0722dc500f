//! What a person reads and works from.

mod text;

/// What stands on everything that a person will lift by.
pub const CAUTIONS: [&str; 5] = [
    "Slates and other heavy slabs are moved by enough trained people with proper lifting gear.",
    "Nobody puts a hand or a foot under a raised leg or slab.",
    "A jacked frame is blocked before anyone reaches under it.",
    "Keep stacks low and their bearing area wide; never go beyond what the maker of the shims or the frame allows.",
    "The floor's load capacity, local building codes and licensed trades decide wherever they apply.",
];
