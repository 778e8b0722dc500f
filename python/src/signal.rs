//! Ctrl-C while a search runs without the GIL.

use std::cell::Cell;
use std::time::{Duration, Instant};

use pyo3::prelude::*;

/// Looks now and then whether a signal came whose handler raises; only Python's main thread runs
/// handlers.
pub(crate) struct Signals {
    looked: Cell<Instant>,
    raised: Cell<Option<PyErr>>,
    stop: Cell<bool>,
}

impl Signals {
    /// Short for whoever waits after Ctrl-C, and long against the wait for the GIL that a look can
    /// cost where other threads are busy with it.
    const BETWEEN_LOOKS: Duration = Duration::from_millis(100);

    pub(crate) fn new() -> Self {
        let looked = Cell::new(Instant::now());
        Self { looked, raised: Cell::new(None), stop: Cell::new(false) }
    }

    /// Whether a handler has raised; the search has to stop then.
    pub(crate) fn raised(&self) -> bool {
        self.raised_or(|_| Ok(()))
    }

    /// The same, where what is called between two looks may raise too.
    pub(crate) fn raised_or(&self, call: impl FnOnce(Python<'_>) -> PyResult<()>) -> bool {
        self.stops(|py| call(py).map(|()| false))
    }

    /// The same, where what is called between two looks may also say true, to stop.
    pub(crate) fn stops(&self, call: impl FnOnce(Python<'_>) -> PyResult<bool>) -> bool {
        if !self.stop.get() && self.looked.get().elapsed() >= Self::BETWEEN_LOOKS {
            let looked = Python::attach(|py| py.check_signals().and_then(|()| call(py)));
            let stop = looked.unwrap_or_else(|error| {
                self.raised.set(Some(error));
                true
            });
            self.stop.set(stop);
            self.looked.set(Instant::now());
        }
        self.stop.get()
    }

    /// What was raised.
    pub(crate) fn finish(self) -> PyResult<()> {
        self.raised.into_inner().map_or(Ok(()), Err)
    }
}

/// Runs work without the GIL until it is done or Ctrl-C comes.
pub(crate) fn interruptible<T: Send>(
    py: Python<'_>,
    work: impl FnOnce(&dyn Fn() -> bool) -> T + Send,
) -> PyResult<T> {
    let (found, signalled) = py.detach(|| {
        let signals = Signals::new();
        let found = work(&|| signals.raised());
        (found, signals.finish())
    });
    signalled?;
    Ok(found)
}
