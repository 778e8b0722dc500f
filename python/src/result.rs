//! Results: classes of the package, made of named values.

use std::collections::BTreeSet;

use numpy::{PyArray1, PyArray2, PyArrayMethods};
use pyo3::exceptions::PyTypeError;
use pyo3::ffi;
use pyo3::prelude::*;
use pyo3::types::{PyString, PyType};

/// Makes a result of the package, as in `result!(py, "_roll", Roll { start_mm: …, end_mm: … })`: an
/// object of the class of that module with these values as its fields. A field that the class does
/// not have, or that is missing here, is a `TypeError` at the first call.
macro_rules! result {
    ($py:expr, $module:literal, $class:ident { $($field:ident: $value:expr),+ $(,)? }) => {{
        static CLASS: ::pyo3::sync::PyOnceLock<$crate::result::Class> =
            ::pyo3::sync::PyOnceLock::new();
        let py = $py;
        let class = CLASS.get_or_try_init(py, || {
            let module = concat!("truebed.", $module);
            $crate::result::Class::new(py, module, stringify!($class), &[$(stringify!($field)),+])
        })?;
        let values = [$(::pyo3::IntoPyObjectExt::into_bound_py_any($value, py)?),+];
        class.make(py, &values)?
    }};
}

pub(crate) use result;

/// A result class: a frozen dataclass whose slots are its fields.
pub(crate) struct Class {
    class: Py<PyType>,
    fields: Vec<Py<PyString>>,
}

impl Class {
    pub(crate) fn new(py: Python<'_>, module: &str, name: &str, fields: &[&str]) -> PyResult<Self> {
        let class = py.import(module)?.getattr(name)?.cast_into::<PyType>()?;
        let slots = class.getattr("__slots__")?.try_iter()?;
        let slots = slots.map(|slot| slot?.extract()).collect::<PyResult<BTreeSet<String>>>()?;
        let given: BTreeSet<String> = fields.iter().map(ToString::to_string).collect();
        if slots != given {
            let [missing, extra] = [&slots - &given, &given - &slots];
            let text = format!("{module}.{name}: fields {missing:?} missing, {extra:?} unknown");
            return Err(PyTypeError::new_err(text));
        }
        let fields = fields.iter().map(|field| PyString::intern(py, field).unbind()).collect();
        Ok(Self { class: class.unbind(), fields })
    }

    /// An object with these values, in the order of the fields that the class was made with.
    pub(crate) fn make<'py>(
        &self,
        py: Python<'py>,
        values: &[Bound<'py, PyAny>],
    ) -> PyResult<Bound<'py, PyAny>> {
        // What the class's own constructor does, but for a frozen class that takes as long as a
        // small plan: it goes by `object.__setattr__` from Python, field by field.
        let class = self.class.bind(py).as_ptr().cast::<ffi::PyTypeObject>();
        // SAFETY: `class` is a type object that has no constructor of its own below `object`'s, so an
        // instance fresh from the allocator is a valid one whose slots are empty.
        let made = unsafe { Bound::from_owned_ptr_or_err(py, ffi::PyType_GenericAlloc(class, 0))? };
        for (field, value) in self.fields.iter().zip(values) {
            lock(value);
            // SAFETY: three valid objects; it takes its own reference to the value.
            let set = unsafe {
                ffi::PyObject_GenericSetAttr(made.as_ptr(), field.as_ptr(), value.as_ptr())
            };
            if set != 0 {
                return Err(PyErr::fetch(py));
            }
        }
        Ok(made)
    }
}

/// Holds Python's cyclic garbage collector back while many objects are made that hold no cycles: it would
/// go through all of them again and again.
pub(crate) struct Uncollected<'py> {
    /// The GIL is held, so that nobody else turns it on or off.
    _py: Python<'py>,
    was_on: bool,
}

impl<'py> Uncollected<'py> {
    pub(crate) fn new(py: Python<'py>) -> Self {
        // SAFETY: the GIL is held.
        Self { _py: py, was_on: unsafe { ffi::PyGC_Disable() } != 0 }
    }
}

impl Drop for Uncollected<'_> {
    fn drop(&mut self) {
        if self.was_on {
            // SAFETY: the GIL is held.
            unsafe { ffi::PyGC_Enable() };
        }
    }
}

/// Takes the permission to write from what is an array.
fn lock(value: &Bound<'_, PyAny>) {
    if let Ok(array) = value.cast::<PyArray1<f64>>() {
        array.readwrite().make_nonwriteable();
    } else if let Ok(array) = value.cast::<PyArray2<f64>>() {
        array.readwrite().make_nonwriteable();
    } else if let Ok(array) = value.cast::<PyArray1<bool>>() {
        array.readwrite().make_nonwriteable();
    }
}
