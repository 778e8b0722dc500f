//! Stacks that are already in place.

use crate::error::{Error, ProblemKind, Problems};
use crate::length::Length;
use crate::stock::Shim;

/// What stands under the supports when they are read again. Their heights are then those of the
/// tops as they stand, so whatever the floor, the pieces or the frame gave way is in them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Placed {
    /// The stack under each support: indices into the stock, one a piece. Pieces in place are no
    /// longer among those on hand.
    pub stacks: Vec<Vec<usize>>,
    /// The thickness at which the adjustable piece of each stack is set; `None` where it has none.
    pub settings: Vec<Option<Length>>,
}

impl Placed {
    /// Stacks by the thickness of each piece, an adjustable one by its setting: each is of the first
    /// kind of the stock that can be so thick.
    ///
    /// # Errors
    /// Thicknesses that no kind has.
    pub fn from_thicknesses(stacks: &[Vec<Length>], stock: &[Shim]) -> Result<Self, Error> {
        let mut found = Problems::default();
        let mut placed = Self::default();
        for (at, stack) in stacks.iter().enumerate() {
            let (mut kinds, mut set) = (Vec::new(), None);
            for (piece, &thickness) in stack.iter().enumerate() {
                let Some(kind) = stock.iter().position(|shim| shim.can_be(thickness)) else {
                    let expected = "a thickness of the stock (a kind that has run out has count 0)";
                    let field = format!("placed[{at}][{piece}]");
                    found.add(ProblemKind::Unknown, field, thickness, expected);
                    continue;
                };
                kinds.push(kind);
                if stock[kind].adjusts.is_some() {
                    set = Some(thickness);
                }
            }
            placed.stacks.push(kinds);
            placed.settings.push(set);
        }
        found.into_result()?;
        Ok(placed)
    }

    /// What is left on hand of a whole stock, one that counts these pieces too.
    ///
    /// # Errors
    /// More pieces of a kind in place than the whole stock has.
    pub fn left_of(&self, whole: &[Shim]) -> Result<Vec<Shim>, Error> {
        let mut found = Problems::default();
        let in_place = pieces(Some(self), whole.len());
        let mut left = whole.to_vec();
        for (at, (shim, in_place)) in left.iter_mut().zip(in_place).enumerate() {
            let Some(count) = shim.count else { continue };
            shim.count = count.checked_sub(in_place);
            if shim.count.is_none() {
                let got = format!("{count} pieces in all, {in_place} of them in place");
                let expected = "a whole stock that counts the pieces in place too";
                found.add(ProblemKind::Value, format!("stock[{at}].count"), got, expected);
            }
        }
        found.into_result()?;
        Ok(left)
    }

    /// What the stack under a support lifts it by.
    pub(crate) fn lift(&self, support: usize, stock: &[Shim]) -> Length {
        lift(&self.stacks[support], self.settings[support], stock)
    }

    pub(super) fn check(&self, supports: usize, stock: &[Shim], found: &mut Problems) {
        if self.stacks.len() != supports || self.settings.len() != supports {
            let got = format!("{} stacks, {} settings", self.stacks.len(), self.settings.len());
            let expected = format!("{supports} of each, one for each support");
            found.add(ProblemKind::Shape, "placed", got, expected);
            return;
        }
        for (at, (shim, in_place)) in stock.iter().zip(pieces(Some(self), stock.len())).enumerate()
        {
            if let Some(count) = shim.count
                && count.checked_add(in_place).is_none()
            {
                let got = format!("{count} on hand, {in_place} more in place");
                let expected = format!("at most {} pieces of a kind in all", u32::MAX);
                found.add(ProblemKind::Value, format!("stock[{at}].count"), got, expected);
            }
        }
        for (at, (stack, setting)) in self.stacks.iter().zip(&self.settings).enumerate() {
            let field = || format!("placed[{at}]");
            if let Some(kind) = stack.iter().find(|&&kind| kind >= stock.len()) {
                let expected = format!("an index below {}", stock.len());
                found.add(ProblemKind::Unknown, field(), kind, expected);
                continue;
            }
            let mut adjustable = stack.iter().filter(|&&kind| stock[kind].adjusts.is_some());
            let set = match (adjustable.next(), setting) {
                (None, None) => true,
                (Some(&kind), Some(setting)) => stock[kind].can_be(*setting),
                _ => false,
            };
            if !set || adjustable.next().is_some() {
                let got = setting.map_or("none".to_owned(), |setting| setting.to_string());
                let got = format!("pieces {stack:?} with the setting {got}");
                let expected = "at most one adjustable piece, with one of its settings";
                found.add(ProblemKind::Value, field(), got, expected);
            }
        }
    }
}

/// How many pieces of each of so many kinds are in place; what is no kind does not count.
pub(crate) fn pieces(placed: Option<&Placed>, kinds: usize) -> Vec<u32> {
    let mut pieces = vec![0; kinds];
    for &kind in placed.iter().flat_map(|placed| placed.stacks.iter().flatten()) {
        if let Some(pieces) = pieces.get_mut(kind) {
            *pieces += 1;
        }
    }
    pieces
}

/// What a stack lifts by.
pub(super) fn lift(stack: &[usize], setting: Option<Length>, stock: &[Shim]) -> Length {
    let of = |&kind: &usize| {
        let shim = &stock[kind];
        shim.loaded(shim.adjusts.and(setting))
    };
    stack.iter().map(of).sum()
}
