//! Lines of the text sheet.

use std::fmt::{self, Write};

use crate::shown::{columns, shown};
use crate::words::held;

/// The width of the sheet.
pub(super) const COLUMNS: usize = 80;

/// A heading with a line under it.
pub(super) fn heading(out: &mut String, words: &str) -> fmt::Result {
    writeln!(out)?;
    paragraph(out, words, "", "  ")?;
    writeln!(out, "{}", "-".repeat(columns(&shown(words)).min(COLUMNS)))
}

/// Words broken into lines, the first after `head` and the others after `indent`.
pub(super) fn paragraph(out: &mut String, words: &str, head: &str, indent: &str) -> fmt::Result {
    let options = textwrap::Options::new(COLUMNS).initial_indent(head).subsequent_indent(indent);
    textwrap::wrap(&held(&shown(words)), options)
        .iter()
        .try_for_each(|line| writeln!(out, "{line}"))
}
