//! When work has to stop: at a time, or because someone asks for it.
//!
//! Every loop that can take long counts its operations here. The clock is looked at, and the caller
//! asked, once in so many of them, which is a few milliseconds at the most.

use std::cell::Cell;
use std::time::{Duration, Instant};

use crate::error::Error;

/// The time by which work has to end, and whoever may stop it before.
pub(crate) struct Deadline<'a> {
    until: Option<Instant>,
    asked_to_stop: &'a dyn Fn() -> bool,
    /// Operations since the last look.
    since: Cell<u64>,
    over: Cell<bool>,
    /// Operations that nobody has asked for yet.
    counted: Cell<u64>,
    /// Operations that are left, where there is an end to them.
    left: Cell<Option<u64>>,
}

impl<'a> Deadline<'a> {
    /// An operation takes a nanosecond or a few.
    const OPERATIONS_A_LOOK: u64 = 1 << 21;

    /// So much time from now on, or all there is, unless `asked_to_stop` says true.
    pub(crate) fn new(time: Option<Duration>, asked_to_stop: &'a dyn Fn() -> bool) -> Self {
        let until = time.and_then(|time| Instant::now().checked_add(time));
        Self::at(until, asked_to_stop)
    }

    /// Until a time, unless `asked_to_stop` says true.
    pub(crate) fn at(until: Option<Instant>, asked_to_stop: &'a dyn Fn() -> bool) -> Self {
        let (since, over, counted) = (Cell::new(0), Cell::new(false), Cell::new(0));
        Self { until, asked_to_stop, since, over, counted, left: Cell::new(None) }
    }

    /// For work that nobody stops.
    pub(crate) fn never() -> Deadline<'static> {
        Deadline::new(None, &|| false)
    }

    /// So much time from now on, but no more than is left.
    pub(crate) fn part(&self, time: Option<Duration>) -> Self {
        let part = Self::new(time, self.asked_to_stop);
        let sooner = match (part.until, self.until) {
            (Some(part), Some(whole)) => Some(part.min(whole)),
            (part, whole) => part.or(whole),
        };
        Self { until: sooner, over: self.over.clone(), left: self.left.clone(), ..part }
    }

    /// All the time that is left, but no more than so many operations: the same on every machine.
    pub(crate) fn within(&self, operations: u64) -> Self {
        let left = self.left.get().map_or(operations, |left| left.min(operations));
        Self { left: Cell::new(Some(left)), ..self.part(None) }
    }

    /// The time that is left; none where there is no end to it.
    pub(crate) fn left(&self) -> Option<Duration> {
        self.until.map(|until| until.saturating_duration_since(Instant::now()))
    }

    /// Whether it is time to stop. Once it is, it stays so.
    pub(crate) fn is_over(&self) -> bool {
        if !self.over.get() {
            let late = self.until.is_some_and(|until| Instant::now() >= until);
            self.over.set(late || (self.asked_to_stop)());
        }
        self.over.get()
    }

    /// The operations that were counted since this was asked last.
    pub(crate) fn counted(&self) -> u64 {
        self.counted.take()
    }

    /// Counts operations, and looks now and then whether it is time to stop.
    ///
    /// # Errors
    /// [`Error::stopped`] where it is.
    pub(crate) fn spend(&self, operations: u64) -> Result<(), Error> {
        self.counted.set(self.counted.get().saturating_add(operations));
        // Whoever only wants a look says that it is high time.
        if let Some(left) = self.left.get().filter(|_| operations < u64::MAX) {
            self.left.set(Some(left.saturating_sub(operations)));
            if left < operations {
                self.over.set(true);
            }
        }
        let since = self.since.get().saturating_add(operations);
        if since < Self::OPERATIONS_A_LOOK {
            self.since.set(since);
            return if self.over.get() { Err(Error::stopped()) } else { Ok(()) };
        }
        self.since.set(0);
        if self.is_over() { Err(Error::stopped()) } else { Ok(()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_part_ends_no_later_than_the_whole() {
        let whole = Deadline::new(Some(Duration::from_secs(3600)), &|| false);
        assert_eq!(whole.part(None).until, whole.until);
        assert_eq!(whole.part(Some(Duration::from_secs(7200))).until, whole.until);
        assert!(whole.part(Some(Duration::from_secs(60))).left() <= Some(Duration::from_secs(60)));
        assert!(Deadline::never().part(None).left().is_none());
    }

    #[test]
    fn operations_have_an_end_where_one_is_set() {
        let whole = Deadline::never();
        let part = whole.within(1000);
        assert!(part.spend(u64::MAX).is_ok() && part.spend(1000).is_ok());
        assert!(part.within(5000).spend(1).is_err());
        assert!(part.spend(1).unwrap_err().is_stopped() && part.is_over());
        assert!(whole.spend(u64::MAX).is_ok() && !whole.is_over());
    }

    #[test]
    fn who_asks_to_stop_is_heard_and_the_time_is_kept() {
        let asked = Cell::new(false);
        let stop = || asked.get();
        let deadline = Deadline::new(None, &stop);
        assert!(deadline.spend(u64::MAX).is_ok());
        asked.set(true);
        // Not looked at yet.
        assert!(deadline.spend(1).is_ok());
        assert!(deadline.spend(Deadline::OPERATIONS_A_LOOK).unwrap_err().is_stopped());
        asked.set(false);
        assert!(deadline.spend(1).is_err() && deadline.part(None).is_over());
        assert!(Deadline::new(Some(Duration::ZERO), &|| false).is_over());
    }
}
