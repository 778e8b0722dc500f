//! Points by index or by id.

use std::collections::HashMap;
use std::fmt;

use pyo3::prelude::*;
use pyo3::types::PyString;

use crate::error::Refused;
use crate::value::{index, unicode};

/// A point as the caller calls it.
#[derive(Clone, PartialEq, Eq, Hash, IntoPyObject, IntoPyObjectRef)]
pub(crate) enum Name {
    /// By its place in the order of the points.
    At(usize),
    /// By its id.
    Id(String),
}

impl Name {
    pub(crate) fn read(value: &Bound<'_, PyAny>) -> Result<Self, Refused> {
        match value.cast::<PyString>() {
            Ok(id) => unicode(id).map(Self::Id),
            Err(_) => index(value).map(Self::At),
        }
    }
}

/// As Python writes it.
impl fmt::Debug for Name {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::At(at) => at.fmt(f),
            Self::Id(id) => id.fmt(f),
        }
    }
}

/// The ids of points.
#[derive(Default)]
pub(crate) struct Names<'a>(HashMap<&'a str, usize>);

impl<'a> Names<'a> {
    pub(crate) fn new(ids: Option<&'a [String]>) -> Self {
        Self(ids.unwrap_or_default().iter().enumerate().map(|(at, id)| (&**id, at)).collect())
    }

    /// The indices of points.
    pub(crate) fn find(&self, names: &[Name]) -> Result<Vec<usize>, Refused> {
        let find = |name: &Name| match name {
            Name::At(at) => Ok(*at),
            Name::Id(id) => self.0.get(&**id).copied().ok_or_else(|| {
                let expected = match self.0.is_empty() {
                    true => "indices, since the points have no ids",
                    false => "indices, or ids of the points",
                };
                Refused::unknown(format!("{id:?}"), expected)
            }),
        };
        names.iter().map(find).collect()
    }
}
