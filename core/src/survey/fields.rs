//! The fields of a reading, read one by one from wherever they are given.

use super::divisions::Divisions;
use super::instrument::{Instrument, a_level};
use super::measured::{Mm, Slope};

/// Where the fields of a reading are given: in the cells of a row, in the arguments of a call.
///
/// Each method reads a field by its name. It returns `None` where the field is not given, and where
/// it cannot be read: that, the implementor notes.
pub trait ReadingFields {
    /// An id or a name.
    fn text(&mut self, field: &'static str) -> Option<String>;
    /// A length.
    fn mm(&mut self, field: &'static str) -> Option<Mm>;
    /// A slope.
    fn slope(&mut self, field: &'static str) -> Option<Slope>;
    /// A number without a unit.
    fn number(&mut self, field: &'static str) -> Option<f64>;
    /// One number, or one for each step.
    fn divisions(&mut self, field: &'static str) -> Option<Divisions>;
    /// Yes or no.
    fn flag(&mut self, field: &'static str) -> Option<bool>;
    /// What reads from a set-up.
    fn instrument(&mut self, field: &'static str) -> Option<Instrument>;
}

/// A type that a field can have.
pub(super) trait Field: Sized {
    fn read(fields: &mut dyn ReadingFields, field: &'static str) -> Option<Self>;
}

macro_rules! fields {
    ($($method:ident: $type:ty),*) => {$(
        impl Field for $type {
            fn read(fields: &mut dyn ReadingFields, field: &'static str) -> Option<Self> {
                fields.$method(field)
            }
        }
    )*};
}

fields!(
    text: String, mm: Mm, slope: Slope, number: f64, divisions: Divisions, flag: bool,
    instrument: Instrument
);

/// A type that a field can have which need not be given.
pub(super) trait OptionalField {
    type Given: Field;
    fn or_default(given: Option<Self::Given>) -> Self;
}

impl<T: Field> OptionalField for Option<T> {
    type Given = T;
    fn or_default(given: Option<T>) -> Self {
        given
    }
}

/// A flag is "no" by default.
impl OptionalField for bool {
    type Given = bool;
    fn or_default(given: Option<bool>) -> Self {
        given.unwrap_or_default()
    }
}

/// The name of a level: there is often one only.
impl OptionalField for String {
    type Given = String;
    fn or_default(given: Option<String>) -> Self {
        given.unwrap_or_else(a_level)
    }
}

pub(super) fn optional<T: OptionalField>(fields: &mut dyn ReadingFields, field: &'static str) -> T {
    T::or_default(T::Given::read(fields, field))
}
