//! The estimate on the page.

use super::estimate::{Figures, figures, lists, said};
use super::estimate_picture::histogram_picture;
use super::html::Html;
use crate::job::{EstimateOutcome, JobOutcome};
use crate::units::Units;
use crate::words::estimate::HEADING;

pub(super) fn estimated(
    page: &mut Html,
    estimate: &EstimateOutcome,
    outcome: &JobOutcome,
    units: Units,
) {
    page.text("h2", "", HEADING);
    for words in said(estimate, outcome, units) {
        page.text("p", "", &words);
    }
    for (class, narrow) in [("picture broad", false), ("picture phone", true)] {
        if let Some(picture) = histogram_picture(estimate, narrow) {
            page.picture(class, &picture);
        }
    }
    for table in figures(estimate, units) {
        page.element("table", "", |page| {
            let [mean, half, most, all] = Figures::HEADS;
            page.row("th", &[table.head, mean, half, most, all]);
            for (name, [mean, half, most, all]) in &table.rows {
                page.row("td", &[name, mean, half, most, all]);
            }
        });
    }
    for (title, all) in lists(estimate, units) {
        page.text("p", "soft", title);
        page.element("ul", "", |list| all.iter().for_each(|words| list.text("li", "", words)));
    }
}
