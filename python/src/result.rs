//! Results: classes of the package, made of named values.

/// Makes a result of the package, as in `result!(py, "_roll", Roll { start_mm: …, end_mm: … })`: calls
/// the class of that module with these values by name. The class refuses a field that it does not
/// have and asks for each that it has, so a field that stands on one side only fails at the first
/// call.
macro_rules! result {
    ($py:expr, $module:literal, $class:ident { $($field:ident: $value:expr),+ $(,)? }) => {{
        static CLASS: ::pyo3::sync::PyOnceLock<::pyo3::Py<::pyo3::types::PyType>> =
            ::pyo3::sync::PyOnceLock::new();
        let (py, values) = ($py, ::pyo3::types::PyDict::new($py));
        $(values.set_item(::pyo3::intern!(py, stringify!($field)), $value)?;)+
        let class = CLASS.import(py, concat!("truebed.", $module), stringify!($class))?;
        class.call((), Some(&values))?
    }};
}

pub(crate) use result;
