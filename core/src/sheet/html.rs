//! A page of HTML, element by element. Text gets in only escaped, attributes are only the page's
//! own words, and every element that is opened is closed.

use crate::shown::{runs, shown};
use crate::words::held;

/// Where HTML is written to.
#[derive(Default)]
pub(super) struct Html(String);

impl Html {
    /// An element with a class, and what is in it.
    pub(super) fn element(
        &mut self,
        name: &'static str,
        class: &'static str,
        within: impl FnOnce(&mut Self),
    ) {
        self.0.push('<');
        self.0.push_str(name);
        if !class.is_empty() {
            self.0.push_str(" class=\"");
            self.0.push_str(class);
            self.0.push('"');
        }
        self.0.push('>');
        within(self);
        self.0.push_str("</");
        self.0.push_str(name);
        self.0.push_str(">\n");
    }

    /// An element with a text.
    pub(super) fn text(&mut self, name: &'static str, class: &'static str, text: &str) {
        self.element(name, class, |within| within.words(text));
    }

    /// A text. The page runs from left to right; letters that run the other way stand in an element of
    /// their own, so that figures beside them stay where they are.
    pub(super) fn words(&mut self, text: &str) {
        for (leftwards, part) in runs(&held(&shown(text))) {
            self.0.push_str(if leftwards { "<bdi>" } else { "" });
            self.escaped(part);
            self.0.push_str(if leftwards { "</bdi>" } else { "" });
        }
    }

    fn escaped(&mut self, text: &str) {
        for c in text.chars() {
            match c {
                '&' => self.0.push_str("&amp;"),
                '<' => self.0.push_str("&lt;"),
                '>' => self.0.push_str("&gt;"),
                '"' => self.0.push_str("&quot;"),
                '\'' => self.0.push_str("&#39;"),
                c => self.0.push(c),
            }
        }
    }

    /// A row of a table.
    pub(super) fn row(&mut self, name: &'static str, cells: &[&str]) {
        self.element("tr", "", |row| cells.iter().for_each(|cell| row.text(name, "", cell)));
    }

    /// Cells of a row, each with its class.
    pub(super) fn cells(&mut self, cells: &[(&'static str, &str)]) {
        self.element("tr", "", |row| {
            cells.iter().for_each(|(class, cell)| row.text("td", class, cell));
        });
    }

    /// A picture that the library has drawn.
    pub(super) fn picture(&mut self, class: &'static str, svg: &str) {
        self.element("div", class, |within| within.0.push_str(svg));
    }

    /// The whole document.
    pub(super) fn document(self, title: &str, style: &'static str) -> String {
        let mut head = Self::default();
        head.0.push_str("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n");
        head.0.push_str(
            "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n",
        );
        head.element("title", "", |head| head.escaped(&shown(title)));
        head.0.push_str("<style>");
        head.0.push_str(style);
        head.0.push_str("</style>\n</head>\n<body>\n");
        head.0.push_str(&self.0);
        head.0.push_str("</body>\n</html>\n");
        head.0
    }
}
