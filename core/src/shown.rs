//! Text from elsewhere, made fit to be shown: in an error, on a sheet, in a picture, on a page.
//!
//! A document may come from a stranger. Whatever it holds, one text stays one line of visible
//! characters that run the way they are written, each about as wide as it counts. General categories
//! are those of the Unicode Character Database; widths are those of UAX #11.

use unicode_general_category::{GeneralCategory as Category, get_general_category};

/// Holds words together where lines are broken.
pub(crate) const HARD_SPACE: char = '\u{a0}';

/// Stands for what cannot be shown.
const INSTEAD: char = '\u{fffd}';

/// As many marks as a letter may carry: no living script needs more above or below one letter (from
/// memory).
const MOST_MARKS: usize = 3;

/// A text with what cannot be shown replaced by U+FFFD, and every run of spaces and line breaks by one
/// space. Replaced are control and format characters, bidirectional and zero-width ones among them,
/// what is private or not assigned, what shows nothing or is far wider than it counts, and marks
/// without a letter or more than three on one.
pub(crate) fn shown(text: &str) -> String {
    let mut shown = String::with_capacity(text.len());
    let (mut last, mut marks) = (None, 0);
    for c in text.chars().filter(|&c| !is_variant(c)) {
        let c = if c.is_whitespace() && c != HARD_SPACE { ' ' } else { c };
        let is_space = |c: char| c == ' ' || c == HARD_SPACE;
        if is_space(c) && last.is_some_and(is_space) {
            continue;
        }
        let is_mark = is_mark(c);
        marks = if is_mark { marks + 1 } else { 0 };
        let on_a_letter = last.is_some_and(|last| !is_space(last) && last != INSTEAD);
        let lost = is_hidden(c) || is_mark && (marks > MOST_MARKS || !on_a_letter);
        let c = if lost { INSTEAD } else { c };
        shown.push(c);
        last = Some(c);
    }
    shown
}

/// A text in parts, each with whether its letters run from right to left. Spaces, figures and hyphens
/// between such letters belong to their part, those beside it do not: the words of a page that stand
/// beside a name are not its own.
pub(crate) fn runs(text: &str) -> Vec<(bool, &str)> {
    let mut runs = Vec::new();
    let mut rest = text;
    while let Some(from) = rest.find(is_leftwards) {
        let end = |part: &str| part.rfind(is_leftwards).map(|at| at + width_at(part, at));
        let joined = rest[from..].find(|c| !is_leftwards(c) && !joins(c));
        let part = joined.map_or(&rest[from..], |to| &rest[from..from + to]);
        let to = from + end(part).unwrap_or(part.len());
        if from > 0 {
            runs.push((false, &rest[..from]));
        }
        runs.push((true, &rest[from..to]));
        rest = &rest[to..];
    }
    if !rest.is_empty() {
        runs.push((false, rest));
    }
    runs
}

fn width_at(text: &str, at: usize) -> usize {
    text[at..].chars().next().map_or(0, char::len_utf8)
}

fn joins(c: char) -> bool {
    matches!(c, ' ' | HARD_SPACE | '-' | '\'' | '\u{2019}') || c.is_ascii_digit() || is_mark(c)
}

/// Blocks of letters that run from right to left (Bidi_Class R and AL, from memory).
fn is_leftwards(c: char) -> bool {
    matches!(
        c,
        '\u{590}'..='\u{8ff}'
            | '\u{fb1d}'..='\u{fdff}'
            | '\u{fe70}'..='\u{fefe}'
            | '\u{10800}'..='\u{10fff}'
            | '\u{1e800}'..='\u{1efff}'
    )
}

/// How many columns a text takes where every character has one width, or two.
pub(crate) fn columns(text: &str) -> usize {
    textwrap::core::display_width(text)
}

/// A text with spaces behind it up to so many columns.
pub(crate) fn padded(text: &str, width: usize) -> String {
    let spaces = width.saturating_sub(columns(text));
    format!("{text}{}", " ".repeat(spaces))
}

/// Chooses a look of the letter before it, which is left to the font.
fn is_variant(c: char) -> bool {
    matches!(c, '\u{fe00}'..='\u{fe0f}' | '\u{e0100}'..='\u{e01ef}')
}

fn is_mark(c: char) -> bool {
    let category = get_general_category(c);
    let is_mark = matches!(category, Category::NonspacingMark | Category::EnclosingMark);
    is_mark || columns(c.encode_utf8(&mut [0; 4])) == 0
}

/// Shows nothing, steers what is shown, or is not what it seems.
fn is_hidden(c: char) -> bool {
    let by_category = matches!(
        get_general_category(c),
        Category::Control
            | Category::Format
            | Category::LineSeparator
            | Category::ParagraphSeparator
            | Category::PrivateUse
            | Category::Surrogate
            | Category::Unassigned
    );
    by_category || is_blank(c) || is_over_wide(c)
}

/// Letters, symbols and marks that leave no ink (Default_Ignorable_Code_Point of the database, and
/// the blank of braille).
fn is_blank(c: char) -> bool {
    matches!(
        c,
        '\u{34f}'
            | '\u{115f}'..='\u{1160}'
            | '\u{17b4}'..='\u{17b5}'
            | '\u{180b}'..='\u{180f}'
            | '\u{2800}'
            | '\u{3164}'
            | '\u{ffa0}'
    )
}

/// Signs that fonts draw several times as wide as they count (from memory).
fn is_over_wide(c: char) -> bool {
    matches!(
        c,
        '\u{2e3a}' | '\u{2e3b}' | '\u{a9c1}' | '\u{a9c2}' | '\u{a9c5}' | '\u{fdfa}'..='\u{fdfd}'
            | '\u{12000}'..='\u{1254f}'
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_text_stays() {
        for text in ["near the door", "Fuß №3 (links)", "台脚 1", "e\u{301}", "±0.5 mm\u{a0}", "😀"]
        {
            assert_eq!(shown(text), text);
        }
        assert_eq!(shown("⚠\u{fe0f} heavy"), "⚠ heavy");
    }

    #[test]
    fn names_from_right_to_left_are_parts_of_their_own() {
        for (text, expected) in [
            ("leg NW", vec![(false, "leg NW")]),
            ("", vec![]),
            ("רגל 2 א", vec![(true, "רגל 2 א")]),
            (
                "on רגל, שולחן 3 mm.",
                vec![
                    (false, "on "),
                    (true, "רגל"),
                    (false, ", "),
                    (true, "שולחן"),
                    (false, " 3 mm."),
                ],
            ),
        ] {
            assert_eq!(runs(text), expected);
        }
    }

    #[test]
    fn nothing_becomes_structure() {
        for (text, safe) in [
            ("a\n[ ] S2  none", "a [ ] S2 none"),
            ("a\r\n\tb\u{2028}\u{2029}\u{85}c", "a b c"),
            ("\u{1b}[31mred", "\u{fffd}[31mred"),
            ("a\u{202e}b\u{2066}\u{200f}", "a\u{fffd}b\u{fffd}\u{fffd}"),
            ("a\u{200b}\u{ad}\u{feff}", "a\u{fffd}\u{fffd}\u{fffd}"),
            ("a\u{3164}\u{e000}\u{fdd0}", "a\u{fffd}\u{fffd}\u{fffd}"),
            ("\u{301}a\u{301}\u{301}\u{301}\u{301}", "\u{fffd}a\u{301}\u{301}\u{301}\u{fffd}"),
            ("a \u{301}\u{301}", "a \u{fffd}\u{fffd}"),
        ] {
            assert_eq!(shown(text), safe, "{text:?}");
        }
    }

    #[test]
    fn what_was_shown_stays() {
        for c in (char::MIN..=char::MAX).step_by(13) {
            let text = format!("a{c}{c}b {c}");
            let once = shown(&text);
            assert_eq!(shown(&once), once, "{text:?}");
            assert!(!once.contains(|c: char| c.is_control() || c == '\u{202e}'));
        }
    }

    #[test]
    fn wide_letters_take_two_columns() {
        assert_eq!([columns("台"), columns("e\u{301}"), columns("ab")], [2, 1, 2]);
        assert_eq!(padded("台", 4), "台  ");
    }
}
