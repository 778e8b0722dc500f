//! The shims in the van.

use std::fmt::Display;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::points::check_name;

/// One kind of shim, or of adjustable piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Shim {
    /// What a person calls the kind: "steel leaf", "oak wedge". It is shown wherever a piece of the kind
    /// is. The default is no name.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub name: String,
    /// The thickness of one piece; of an adjustable piece, the least thickness. It is above 0 mm
    /// and at most 1000 mm.
    pub thickness: Length,
    /// The number of pieces on hand. Without a count the kind does not run out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// The price or the weight of one piece, in whole units of the smallest kind that matters
    /// (cents, grams), at most 1 000 000. The order of goals `cheapest` adds it up.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub price: u32,
    /// The share of the thickness that is left under load, from 0.5 to 1. The default is 1. A stack
    /// counts with the loaded thickness of its pieces, each rounded to the nearest nanometre.
    #[serde(default = "whole", skip_serializing_if = "is_whole")]
    pub loaded_factor: f64,
    /// The standard uncertainty of the thickness of a piece, by which the pieces of one kind differ
    /// from each other. The default is 0.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub sigma: Length,
    /// The standard uncertainty of the thickness that all pieces of the kind share, as those from
    /// one mislabelled tin do: it is one error, however many pieces there are. The default is 0.
    #[serde(default, skip_serializing_if = "is_nothing")]
    pub common_sigma: Length,
    /// How far a piece can be set beyond its least thickness, for a tapered wedge or a screw foot.
    /// A stack has at most one adjustable piece.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub adjusts: Option<Adjusts>,
    /// Whatever you keep with the kind. A run leaves it as it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub meta: Option<Value>,
}

/// What the counts of a stock are where stacks are in place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StockIs {
    /// What is left on hand beside the pieces in place.
    #[default]
    Left,
    /// All there are, the pieces in place among them.
    Whole,
}

impl StockIs {
    pub(crate) fn is_default(&self) -> bool {
        *self == Self::default()
    }
}

/// The settings of an adjustable piece: from its least thickness up, by whole steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Adjusts {
    /// The greatest thickness: above the least thickness and at most 1000 mm.
    pub to: Length,
    /// The smallest step: above 0 mm, and so large that there are at most 1 000 000 steps.
    pub step: Length,
}

impl Adjusts {
    /// No piece has more settings.
    pub const MOST_STEPS: i64 = 1_000_000;
}

fn is_zero(price: &u32) -> bool {
    *price == 0
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "what serde asks for")]
fn is_nothing(length: &Length) -> bool {
    *length == Length::ZERO
}

fn whole() -> f64 {
    1.0
}

#[expect(clippy::float_cmp, reason = "the default and nothing near it")]
fn is_whole(factor: &f64) -> bool {
    *factor == whole()
}

impl Shim {
    /// No shim is thicker than this.
    pub const THICKEST: Length = Length::from_nm(1_000_000_000);
    /// The highest price of one piece.
    pub const DEAREST: u32 = 1_000_000;

    /// A kind with a count on hand and no price. `None` is a kind that does not run out.
    pub fn new(thickness: Length, count: Option<u32>) -> Self {
        Self {
            name: String::new(),
            thickness,
            count,
            price: 0,
            loaded_factor: whole(),
            sigma: Length::ZERO,
            common_sigma: Length::ZERO,
            adjusts: None,
            meta: None,
        }
    }

    /// Finds what is wrong with the kind; problems name its fields below `name`.
    ///
    /// # Errors
    /// A thickness that is not above zero or beyond [`Shim::THICKEST`], a price beyond
    /// [`Shim::DEAREST`], a factor outside 0.5 to 1, an uncertainty below 0, settings without a step.
    pub fn check(&self, name: &str) -> Result<(), Error> {
        let mut found = Problems::default();
        check_kind(self, &name, &mut found);
        found.into_result()
    }

    /// The thickness of one piece under load; of an adjustable piece, that of a setting.
    pub(crate) fn loaded(&self, setting: Option<Length>) -> Length {
        let nm = setting.unwrap_or(self.thickness).nm();
        if is_whole(&self.loaded_factor) {
            return Length::from_nm(nm);
        }
        Length::from_nm((nm as f64 * self.loaded_factor).round() as i64)
    }

    /// The greatest thickness that a piece can be set to.
    pub(crate) fn greatest(&self) -> Length {
        self.adjusts.map_or(self.thickness, |Adjusts { to, step }| {
            let steps = (to - self.thickness).nm() / step.nm();
            self.thickness + step * steps
        })
    }

    /// Whether a piece can have a thickness.
    pub(crate) fn can_be(&self, thickness: Length) -> bool {
        match self.adjusts {
            None => thickness == self.thickness,
            Some(Adjusts { to, step }) => {
                let more = (thickness - self.thickness).nm();
                (self.thickness..=to).contains(&thickness) && more.checked_rem(step.nm()) == Some(0)
            }
        }
    }
}

/// The most kinds that a stock can have.
pub(crate) const MOST_KINDS: usize = 128;

/// Checks a stock, or a catalogue, by its name.
///
/// # Errors
/// No kind at all, more than 128, a thickness that is not above zero or beyond
/// [`Shim::THICKEST`], a price beyond [`Shim::DEAREST`], a factor outside 0.5 to 1, an uncertainty
/// below 0, settings without a step.
pub(crate) fn check_stock(stock: &[Shim], name: &str) -> Result<(), Error> {
    let mut found = Problems::default();
    if stock.is_empty() || stock.len() > MOST_KINDS {
        let expected = format!("1 to {MOST_KINDS} kinds of shim");
        found.add(ProblemKind::Shape, name, format!("{} kinds", stock.len()), expected);
    }
    for (at, shim) in stock.iter().enumerate() {
        check_kind(shim, &format_args!("{name}[{at}]"), &mut found);
    }
    found.into_result()
}

fn check_kind(shim: &Shim, name: &dyn Display, found: &mut Problems) {
    if !shim.name.is_empty() {
        check_name(&format!("{name}.name"), &shim.name, found);
    }
    if shim.thickness <= Length::ZERO || shim.thickness > Shim::THICKEST {
        let expected = format!("a thickness above 0 mm and at most {}", Shim::THICKEST);
        found.add(ProblemKind::Value, format!("{name}.thickness"), shim.thickness, expected);
    }
    if !(0.5..=1.0).contains(&shim.loaded_factor) {
        let field = format!("{name}.loaded_factor");
        found.add(ProblemKind::Value, field, shim.loaded_factor, "a factor from 0.5 to 1");
    }
    for (field, sigma) in [("sigma", shim.sigma), ("common_sigma", shim.common_sigma)] {
        if sigma < Length::ZERO || sigma > Shim::THICKEST {
            let expected = format!("a length from 0 mm to {}", Shim::THICKEST);
            found.add(ProblemKind::Value, format!("{name}.{field}"), sigma, expected);
        }
    }
    if let Some(adjusts) = shim.adjusts {
        check_adjusts(name, shim, adjusts, found);
    }
    if shim.price > Shim::DEAREST {
        let expected = format!("a price of at most {} units", Shim::DEAREST);
        found.add(ProblemKind::Value, format!("{name}.price"), shim.price, expected);
    }
}

fn check_adjusts(
    name: &dyn Display,
    shim: &Shim,
    Adjusts { to, step }: Adjusts,
    found: &mut Problems,
) {
    if to <= shim.thickness || to > Shim::THICKEST {
        let expected = format!("a length above {} and at most {}", shim.thickness, Shim::THICKEST);
        found.add(ProblemKind::Value, format!("{name}.adjusts.to"), to, expected);
        return;
    }
    let range = to - shim.thickness;
    if step <= Length::ZERO || step > range || range.nm() / step.nm() > Adjusts::MOST_STEPS {
        let most = Adjusts::MOST_STEPS;
        let expected =
            format!("a length above 0 mm, at most {range}, that leaves {most} steps or fewer");
        found.add(ProblemKind::Value, format!("{name}.adjusts.step"), step, expected);
    }
    if !is_whole(&shim.loaded_factor) {
        let expected = "1 for an adjustable piece, which is set under load";
        found.add(
            ProblemKind::Value,
            format!("{name}.loaded_factor"),
            shim.loaded_factor,
            expected,
        );
    }
}

/// The kinds of a stack, the thickest first, an adjustable one last.
fn in_order(stack: &[usize], stock: &[Shim]) -> Vec<usize> {
    let mut stack = stack.to_vec();
    stack.sort_by_key(|&kind| (stock[kind].adjusts.is_some(), -stock[kind].thickness, kind));
    stack
}

/// What an adjustable piece is called whose kind has no name, so that nobody looks for a plain one.
const ADJUSTABLE: &str = "adjustable piece";

/// The name of the kind of each piece of a stack, in the order of [`thicknesses`]; none at all where no
/// kind of it has a name.
pub(crate) fn piece_names(stack: &[usize], stock: &[Shim]) -> Vec<String> {
    let name = |kind: usize| match &stock[kind] {
        shim if shim.name.is_empty() && shim.adjusts.is_some() => ADJUSTABLE.to_owned(),
        shim => shim.name.clone(),
    };
    let names: Vec<String> = in_order(stack, stock).into_iter().map(name).collect();
    if names.iter().all(String::is_empty) { Vec::new() } else { names }
}

/// Thickness of each piece of a stack, thickest first, an adjustable one last and as it is set.
pub(crate) fn thicknesses(stack: &[usize], setting: Option<Length>, stock: &[Shim]) -> Vec<Length> {
    let of = |kind: usize| stock[kind].adjusts.and(setting).unwrap_or(stock[kind].thickness);
    in_order(stack, stock).into_iter().map(of).collect()
}
