//! Work that does not end at once when it is told to, on a thread of its own. Where the answer is
//! not wanted any more, the thread is left to itself. Such a thread is counted until
//! it ends. Where too many threads are left, no new work is begun.

use super::Limit;
use std::any::Any;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::sync::{Arc, Condvar, LazyLock, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// So many threads may be left to themselves at once.
pub const MOST_LEFT: usize = 8;

/// How long new work waits for a thread that is left to end.
const PATIENCE: Duration = Duration::from_secs(60);

/// The time between two looks at a limit.
const STEP: Duration = Duration::from_millis(20);

/// Too many threads were left to themselves, and none ended in time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("{0} searches that were stopped earlier still use the machine")]
pub struct Crowded(pub usize);

/// Begins work on a thread of its own. Where too many threads are left to
/// themselves, the work waits within the limit for a thread to end.
///
/// # Errors
/// [`Crowded`] where no thread ended in time: then no work is begun.
pub fn begin<T: Send + 'static>(
    limit: &Limit,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<Apart<T>, Crowded> {
    ALL.begin(limit, work)
}

/// How many threads are left to themselves and still at work.
pub fn left() -> usize {
    *ALL.left()
}

/// All threads of this program, since they share one machine.
static ALL: LazyLock<Arc<Crowd>> = LazyLock::new(|| Crowd::new(MOST_LEFT, PATIENCE));

/// Threads that are left to themselves.
struct Crowd {
    most: usize,
    patience: Duration,
    left: Mutex<usize>,
    one_ended: Condvar,
}

impl Crowd {
    fn new(most: usize, patience: Duration) -> Arc<Crowd> {
        Arc::new(Crowd {
            most,
            patience,
            left: Mutex::new(0),
            one_ended: Condvar::new(),
        })
    }

    fn left(&self) -> MutexGuard<'_, usize> {
        self.left.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Waits until there is room for one more.
    fn make_room(&self, limit: &Limit) -> Result<(), Crowded> {
        let begun = Instant::now();
        let mut left = self.left();
        while *left >= self.most {
            if limit.is_over() || begun.elapsed() >= self.patience {
                return Err(Crowded(*left));
            }
            let waited = self.one_ended.wait_timeout(left, STEP);
            left = waited.unwrap_or_else(PoisonError::into_inner).0;
        }
        Ok(())
    }

    fn begin<T: Send + 'static>(
        self: &Arc<Self>,
        limit: &Limit,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<Apart<T>, Crowded> {
        self.make_room(limit)?;
        let state = Arc::new(Mutex::new(State::Wanted));
        let (send, answer) = channel();
        let end = End(Arc::clone(self), Arc::clone(&state));
        std::thread::spawn(move || {
            let _end = end;
            // Nobody listens any more where the thread was left.
            let _ = send.send(catch_unwind(AssertUnwindSafe(work)));
        });
        let crowd = Arc::clone(self);
        Ok(Apart {
            answer,
            state,
            crowd,
        })
    }
}

#[derive(Debug, PartialEq, Eq)]
enum State {
    /// Somebody waits for the answer.
    Wanted,
    /// Nobody waits for the answer any more.
    Left,
    /// The thread has ended.
    Ended,
}

/// Takes note that a thread has ended, by a panic as well.
struct End(Arc<Crowd>, Arc<Mutex<State>>);

impl Drop for End {
    fn drop(&mut self) {
        let mut state = self.1.lock().unwrap_or_else(PoisonError::into_inner);
        if *state == State::Left {
            *self.0.left() -= 1;
            self.0.one_ended.notify_all();
        }
        *state = State::Ended;
    }
}

/// Work on a thread of its own. Once this value is dropped, the thread is left to
/// itself.
pub struct Apart<T> {
    answer: Receiver<Result<T, Box<dyn Any + Send>>>,
    state: Arc<Mutex<State>>,
    crowd: Arc<Crowd>,
}

impl<T> Apart<T> {
    /// The answer, if it comes within so long.
    ///
    /// # Panics
    /// With the panic of the work, where that is how the work ended.
    pub fn wait(&self, longest: Duration) -> Option<T> {
        match self.answer.recv_timeout(longest) {
            Ok(Ok(answer)) => Some(answer),
            Ok(Err(panic)) => resume_unwind(panic),
            // The answer is sent however the work ends. So it can be missing
            // only where it was given before.
            Err(RecvTimeoutError::Timeout | RecvTimeoutError::Disconnected) => None,
        }
    }

    /// The answer; none where a stop comes first.
    ///
    /// # Panics
    /// As [`Apart::wait`].
    pub fn unless_stopped(self, limit: &Limit) -> Option<T> {
        loop {
            match self.wait(STEP) {
                Some(answer) => return Some(answer),
                None if limit.stop.is_asked() => return None,
                None => {}
            }
        }
    }
}

impl<T> Drop for Apart<T> {
    fn drop(&mut self) {
        let mut state = self.state.lock().unwrap_or_else(PoisonError::into_inner);
        if *state == State::Wanted {
            *state = State::Left;
            *self.crowd.left() += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::mpsc::Sender;

    const SOON: Duration = Duration::from_millis(200);

    /// Work that goes on until it is told to end, left to itself.
    fn left(crowd: &Arc<Crowd>) -> Sender<()> {
        let (end, ended) = channel::<()>();
        let work = move || ended.recv().is_ok();
        drop(crowd.begin(&Limit::default(), work).expect("room"));
        end
    }

    fn answer(crowd: &Arc<Crowd>, limit: &Limit) -> Result<Option<u8>, Crowded> {
        Ok(crowd.begin(limit, || 7)?.unless_stopped(limit))
    }

    #[test]
    fn what_is_waited_for_is_not_left() {
        let crowd = Crowd::new(1, SOON);
        for _ in 0..50 {
            assert_eq!(answer(&crowd, &Limit::default()), Ok(Some(7)));
        }
        // The last one may still be on its way out.
        crowd.make_room(&Limit::default()).expect("room");
    }

    #[test]
    fn no_more_are_left_than_may_be_and_one_that_ends_makes_room() {
        let crowd = Crowd::new(2, SOON);
        let (first, _second) = (left(&crowd), left(&crowd));
        assert_eq!(*crowd.left(), 2);
        let begun = Instant::now();
        assert_eq!(answer(&crowd, &Limit::default()), Err(Crowded(2)));
        assert!(begun.elapsed() >= SOON);
        first.send(()).expect("it goes on");
        assert_eq!(answer(&crowd, &Limit::default()), Ok(Some(7)));
        assert!(*crowd.left() <= 2);
    }

    #[test]
    fn a_crowd_is_waited_for_no_longer_than_the_limit() {
        let crowd = Crowd::new(1, Duration::from_secs(3600));
        let _one = left(&crowd);
        let limit = Limit::default();
        let late = limit.within(Duration::ZERO);
        assert_eq!(answer(&crowd, &late), Err(Crowded(1)));
        limit.stop.ask();
        assert_eq!(answer(&crowd, &limit), Err(Crowded(1)));
    }

    #[test]
    fn a_stop_leaves_work_to_itself() {
        let crowd = Crowd::new(3, SOON);
        let limit = Limit::default();
        let (end, ended) = channel::<()>();
        let apart = crowd.begin(&limit, move || ended.recv().is_ok());
        limit.stop.ask();
        assert_eq!(apart.expect("room").unless_stopped(&limit), None);
        assert_eq!(*crowd.left(), 1);
        end.send(()).expect("it goes on");
        while *crowd.left() > 0 {
            std::thread::sleep(STEP);
        }
    }

    #[test]
    fn a_panic_is_told_with_its_text() {
        let crowd = Crowd::new(1, SOON);
        let apart = crowd.begin(&Limit::default(), || -> u8 { panic!("no such row") });
        let apart = apart.expect("room");
        let told = catch_unwind(AssertUnwindSafe(|| apart.wait(SOON * 50)));
        let panic = told.expect_err("the panic goes on");
        assert_eq!(panic.downcast_ref::<&str>(), Some(&"no such row"));
    }
}
