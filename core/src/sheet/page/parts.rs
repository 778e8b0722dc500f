//! What the parts of a page are made of.

use crate::sheet::html::Html;

/// A box to tick.
pub(super) fn tick(page: &mut Html, done: bool) {
    page.text("span", if done { "box done" } else { "box" }, "");
}

/// A head that is seen above a table only where the table has columns, and stands beside each cell on
/// the screen of a phone.
pub(super) fn labelled(row: &mut Html, class: &'static str, label: &str, words: &str) {
    row.element("td", class, |cell| {
        cell.text("span", "label", &format!("{label}: "));
        cell.words(words);
    });
}

/// The heads of a table.
pub(super) fn head(table: &mut Html, names: &[&str]) {
    table.element("thead", "", |head| head.row("th", names));
}

/// A line to be signed.
pub(super) fn signed(page: &mut Html, words: &str) {
    page.element("p", "", |page| {
        page.words(words);
        page.words(": ");
        page.text("span", "blank", "");
        page.words(" Date: ");
        page.text("span", "blank", "");
    });
}
