//! The marks that pictures are made of, and the page they are on.
//!
//! Text comes from jobs: it is made safe to show, and the SVG crate escapes it. A page
//! paints its own paper, so that ink and paper fit together on dark screens too; there is no id and
//! no script in it, and its styles name nothing outside, so that many pages fit into one notebook.

use svg::node::element::Element;
use svg::node::{Node, Text, Value};

use crate::shown::{columns, shown};
use crate::words::held;

/// Width of a page, in units that are pixels on a screen; fonts are large enough for it to fill the
/// width of a printed page.
pub(super) const WIDTH: f64 = 720.0;
/// Width of a page for the screen of a phone.
pub(super) const NARROW: f64 = 380.0;
const MARGIN_OF_WIDE: f64 = 24.0;
const MARGIN_OF_NARROW: f64 = 10.0;
pub(super) const MARGIN: f64 = MARGIN_OF_WIDE;
/// Font size of body text.
pub(super) const BODY: f64 = 13.0;

const STYLE: &str = "\
@media screen{.truebed-page{max-width:100%;height:auto}}\
.truebed-page{font-family:sans-serif}\
.truebed-page text{fill:#1a1a1a}\
.truebed-page .paper{fill:#ffffff}\
.truebed-page .soft{fill:#4d4d4d}\
.truebed-page .strong{font-weight:bold}\
.truebed-page .line{fill:none;stroke:#1a1a1a;stroke-width:1.5}\
.truebed-page .faint{fill:none;stroke:#9a9a9a}\
.truebed-page .joint{stroke:#1a1a1a;stroke-width:5;stroke-dasharray:3 3}\
.truebed-page .tips{stroke:#1a1a1a;stroke-width:7}\
.truebed-page .shape{fill:#ffffff;stroke:#1a1a1a;stroke-width:1.5}\
.truebed-page .block{fill:#c9c9c9;stroke:#1a1a1a}\
.truebed-page .wall{fill:none;stroke:#1a1a1a;stroke-width:3}\
.truebed-page .dash{fill:none;stroke:#1a1a1a;stroke-dasharray:5 4}\
.truebed-page .ink{fill:#1a1a1a}\
.truebed-page .contour{stroke:#000000;stroke-width:.8}\
.truebed-page .contour-on-dark{stroke:#ffffff;stroke-width:.8}\
.truebed-page .on-dark{fill:#ffffff}\
.truebed-page .on-light{fill:#000000}\
@media screen and (prefers-color-scheme:dark){\
.truebed-page text{fill:#ececec}\
.truebed-page .paper{fill:#1b1b1b}\
.truebed-page .soft{fill:#bdbdbd}\
.truebed-page .line{stroke:#ececec}\
.truebed-page .faint{stroke:#808080}\
.truebed-page .joint,.truebed-page .tips{stroke:#ececec}\
.truebed-page .shape{fill:#1b1b1b;stroke:#ececec}\
.truebed-page .block{fill:#5a5a5a;stroke:#ececec}\
.truebed-page .wall,.truebed-page .dash{stroke:#ececec}\
.truebed-page .ink{fill:#ececec}\
.truebed-page .on-dark{fill:#ffffff}\
.truebed-page .on-light{fill:#000000}}";

/// Where a text is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Held {
    Start,
    Middle,
    End,
}

/// A page that grows downwards.
pub(super) struct Canvas {
    marks: Vec<Element>,
    pub(super) width: f64,
    pub(super) margin: f64,
    /// The lower end of what is drawn.
    pub(super) y: f64,
}

impl Canvas {
    pub(super) fn new() -> Self {
        Self { marks: Vec::new(), width: WIDTH, margin: MARGIN_OF_WIDE, y: MARGIN_OF_WIDE }
    }

    /// For the screen of a phone.
    pub(super) fn narrow() -> Self {
        Self { width: NARROW, margin: MARGIN_OF_NARROW, y: MARGIN_OF_NARROW, ..Self::new() }
    }

    pub(super) fn is_narrow(&self) -> bool {
        self.width < WIDTH
    }

    /// A mark of a class, with attributes that are lengths.
    pub(super) fn mark(&mut self, name: &str, class: &str, at: &[(&str, f64)]) -> &mut Element {
        let mut mark = Element::new(name);
        mark.assign("class", class);
        for &(name, value) in at {
            mark.assign(name, short(value));
        }
        self.marks.push(mark);
        let last = self.marks.len() - 1;
        &mut self.marks[last]
    }

    pub(super) fn rect(&mut self, class: &str, [x, y, width, height]: [f64; 4]) -> &mut Element {
        self.mark("rect", class, &[("x", x), ("y", y), ("width", width), ("height", height)])
    }

    pub(super) fn line(&mut self, class: &str, [x1, y1]: [f64; 2], [x2, y2]: [f64; 2]) {
        self.mark("line", class, &[("x1", x1), ("y1", y1), ("x2", x2), ("y2", y2)]);
    }

    pub(super) fn polygon(&mut self, class: &str, corners: &[[f64; 2]]) -> &mut Element {
        let corner = |[x, y]: &[f64; 2]| format!("{},{}", short(*x), short(*y));
        let points = corners.iter().map(corner).collect::<Vec<_>>().join(" ");
        let mark = self.mark("polygon", class, &[]);
        mark.assign("points", points);
        mark
    }

    /// One line of text with its baseline at a place.
    pub(super) fn text(
        &mut self,
        class: &str,
        size: f64,
        held: Held,
        [x, y]: [f64; 2],
        text: &str,
    ) {
        let mark = self.mark("text", class, &[("x", x), ("y", y), ("font-size", size)]);
        match held {
            Held::Start => {}
            Held::Middle => mark.assign("text-anchor", "middle"),
            Held::End => mark.assign("text-anchor", "end"),
        }
        mark.append(Text::new(shown(text)));
    }

    /// Words over the width of the page, below what is drawn.
    pub(super) fn paragraph(&mut self, class: &str, size: f64, words: &str) {
        // Prose is narrower than figures and bold letters.
        let room = (self.width - 2.0 * self.margin) * if class == "strong" { 1.0 } else { 1.08 };
        for line in wrapped(words, room, size) {
            self.y += (size * 1.4).round();
            self.text(class, size, Held::Start, [self.margin, self.y], &line);
        }
    }

    pub(super) fn heading(&mut self, words: &str) {
        self.y += 14.0;
        self.paragraph("strong", BODY + 1.0, words);
        self.y += 4.0;
    }

    /// The SVG, with a title and a description of what it shows for those who do not see it.
    pub(super) fn page(self, title: &str, description: &str) -> String {
        let height = short(self.y + self.margin);
        let mut page = Element::new("svg");
        for (name, value) in [
            ("xmlns", Value::from("http://www.w3.org/2000/svg")),
            ("class", "truebed-page".into()),
            ("role", "img".into()),
            ("aria-label", shown(title).into()),
            ("viewBox", format!("0 0 {} {height}", self.width).into()),
            ("width", self.width.into()),
            ("height", height.into()),
        ] {
            page.assign(name, value);
        }
        let (title, description) = (shown(title), shown(description));
        for (name, words) in [("title", &*title), ("desc", &*description), ("style", STYLE)] {
            let mut element = Element::new(name);
            element.append(Text::new(words));
            page.append(element);
        }
        let mut paper = Element::new("rect");
        paper.assign("class", "paper");
        paper.assign("width", "100%");
        paper.assign("height", "100%");
        page.append(paper);
        for mark in self.marks {
            page.append(mark);
        }
        format!("{page}\n")
    }
}

/// Rounds to tenths of a pixel. A value that is not finite, which a caller's figures may be, becomes 0.
fn short(value: f64) -> f64 {
    // No -0.
    if value.is_finite() { (value * 10.0).round() / 10.0 + 0.0 } else { 0.0 }
}

/// How wide a text is, near enough and rather too wide.
pub(super) fn width(text: &str, size: f64) -> f64 {
    columns(text) as f64 * size * 0.62
}

/// Words broken into lines no wider than this.
pub(super) fn wrapped(words: &str, width: f64, size: f64) -> Vec<String> {
    let columns = (width / (size * 0.62)).floor() as usize;
    textwrap::wrap(&held(&shown(words)), columns)
        .into_iter()
        .map(|line| line.into_owned())
        .collect()
}
