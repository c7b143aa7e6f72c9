//! HiGHS run with somebody who listens: the only file with `unsafe`.
//!
//! HiGHS calls one function of ours now and then while it runs. The function says
//! whether the run is to end, hands out each better solution, and hands in solutions
//! from elsewhere. The `highs` crate passes none of that on, but it gives the pointer
//! that the C interface needs.

use ::highs::{HighsStatus, Model, SolvedModel};
use highs_sys::{
    Highs_setCallback, Highs_setCallbackSolution, Highs_startCallback, HighsCallbackDataIn,
    HighsCallbackDataOut, HighsInt, STATUS_OK, kHighsCallbackCallbackMipUserSolution,
    kHighsCallbackIpmInterrupt, kHighsCallbackMipImprovingSolution, kHighsCallbackMipInterrupt,
    kHighsCallbackSimplexInterrupt,
};
use std::any::Any;
use std::ffi::{c_char, c_int, c_void};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Who is asked and told while HiGHS runs. HiGHS may call from any of its threads,
/// and often: what an ear does must be short.
pub(super) trait Ear: Sync {
    /// True where the run is to end.
    fn is_enough(&self) -> bool;

    /// How far the tree of a whole-number program is: least objective, bound, nodes.
    /// What is not known is infinite.
    fn pulse(&self, _best: f64, _bound: f64, _nodes: u64) {}

    /// A solution that is better than all before it, by columns.
    fn found(&self, _values: &[f64]) {}

    /// A solution from elsewhere, by columns, that the run was not given yet.
    fn given(&self) -> Option<Arc<[f64]>> {
        None
    }
}

/// Asked while a relaxation, an interior point or a tree goes on.
const ASKED: [HighsInt; 3] = [
    kHighsCallbackSimplexInterrupt,
    kHighsCallbackIpmInterrupt,
    kHighsCallbackMipInterrupt,
];

/// What is told and taken in beside it.
const TOLD: [HighsInt; 2] = [
    kHighsCallbackMipImprovingSolution,
    kHighsCallbackCallbackMipUserSolution,
];

/// What the function that HiGHS calls finds behind its pointer.
struct Heard<'e> {
    ear: &'e dyn Ear,
    columns: usize,
    /// The first panic of the ear. No panic may pass through the frames of C++.
    panic: Mutex<Option<Box<dyn Any + Send>>>,
}

/// Solves the model while `ear` listens.
///
/// # Errors
/// What HiGHS says where it refuses the program, breaks off, or lets nobody listen.
///
/// # Panics
/// With the panic of the ear, once the run has ended.
pub(super) fn solve(mut model: Model, ear: &dyn Ear) -> Result<SolvedModel, HighsStatus> {
    let heard = Heard {
        ear,
        columns: model.num_cols(),
        panic: Mutex::new(None),
    };
    let solved = match begin(&mut model, &heard) {
        true => model.try_solve().map(end),
        // The model is dropped here, so HiGHS calls nobody.
        false => Err(HighsStatus::Error),
    };
    let panic = heard.panic.into_inner();
    match panic.unwrap_or_else(PoisonError::into_inner) {
        Some(panic) => resume_unwind(panic),
        None => solved,
    }
}

/// Lets `heard` be called from now on; false where HiGHS lets nobody listen.
fn begin(model: &mut Model, heard: &Heard<'_>) -> bool {
    // Several threads of HiGHS may look at it at once.
    fn shared<T: Sync>(_: &T) {}
    shared(heard);
    let data = std::ptr::from_ref(heard).cast_mut().cast::<c_void>();
    let highs = model.as_mut_ptr();
    // SAFETY: `highs` is the live object that `model` owns, and nothing else uses it
    // now. HiGHS only stores both pointers: it calls the function within a run alone.
    // The one run is that of `solve`, which keeps `heard` alive beyond it and then
    // either takes the pointers back (`end`) or has dropped the object.
    let status = unsafe { Highs_setCallback(highs, Some(called), data) };
    status == STATUS_OK
        && ASKED.into_iter().chain(TOLD).all(|kind| {
            // SAFETY: the same live object. The call sets a flag in it.
            STATUS_OK == unsafe { Highs_startCallback(highs, kind) }
        })
}

/// Lets nobody be called any more.
fn end(mut solved: SolvedModel) -> SolvedModel {
    // SAFETY: the pointer is to the live object that `solved` owns, and no run goes on.
    // The call forgets the data and ends all callbacks. What it stores instead needs
    // no data, and is called by nobody.
    unsafe { Highs_setCallback(solved.as_mut_ptr(), Some(nothing), std::ptr::null_mut()) };
    solved
}

extern "C" fn nothing(
    _: c_int,
    _: *const c_char,
    _: *const HighsCallbackDataOut,
    _: *mut HighsCallbackDataIn,
    _: *mut c_void,
) {
}

/// What HiGHS calls.
///
/// # Safety
/// `data` is what `begin` gave, in the midst of a run; `out` and `into` are valid
/// for the length of the call, or null.
unsafe extern "C" fn called(
    kind: c_int,
    _message: *const c_char,
    out: *const HighsCallbackDataOut,
    into: *mut HighsCallbackDataIn,
    data: *mut c_void,
) {
    // SAFETY: `data` points to the `Heard` that `solve` keeps until the run has ended.
    // It is only looked at, and `Heard` is `Sync`, so threads may do so at once.
    let heard = unsafe { &*data.cast::<Heard<'_>>() };
    // SAFETY: HiGHS makes both on its stack for this one call, and looks at neither
    // before the call has ended. Null gives none.
    let (Some(out), Some(into)) = (unsafe { (out.as_ref(), into.as_mut()) }) else {
        return;
    };
    // A panic that unwinds into C++ would be undefined, so it waits for the end.
    let heard_it = catch_unwind(AssertUnwindSafe(|| heard.hear(kind, out, into)));
    let ends = heard_it.unwrap_or_else(|panic| {
        heard.locked().get_or_insert(panic);
        true
    });
    // HiGHS keeps the word of the last call, and takes it for an error where it did
    // not ask. So each call says it anew.
    into.user_interrupt = c_int::from(ends && ASKED.contains(&kind));
}

impl Heard<'_> {
    fn locked(&self) -> MutexGuard<'_, Option<Box<dyn Any + Send>>> {
        self.panic.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Asks and tells the ear; true where the run is to end.
    fn hear(
        &self,
        kind: HighsInt,
        out: &HighsCallbackDataOut,
        into: &mut HighsCallbackDataIn,
    ) -> bool {
        // After a panic nobody is asked any more.
        if self.locked().is_some() {
            return true;
        }
        if kind == kHighsCallbackMipInterrupt {
            let nodes = u64::try_from(out.mip_node_count).unwrap_or(0);
            let (best, bound) = (out.mip_primal_bound, out.mip_dual_bound);
            self.ear.pulse(best, bound, nodes);
        } else if kind == kHighsCallbackMipImprovingSolution {
            if let Some(values) = self.solution(out) {
                self.ear.found(values);
            }
        } else if kind == kHighsCallbackCallbackMipUserSolution {
            let given = self.ear.given();
            if let Some(values) = given.filter(|values| values.len() == self.columns) {
                hand_in(into, &values);
            }
        }
        ASKED.contains(&kind) && self.ear.is_enough()
    }

    /// The solution that is handed out; none where it is not one of all columns.
    fn solution<'o>(&self, out: &'o HighsCallbackDataOut) -> Option<&'o [f64]> {
        let size = usize::try_from(out.mip_solution_size).ok()?;
        if out.mip_solution.is_null() || size != self.columns {
            return None;
        }
        // SAFETY: HiGHS gives the beginning and the length of a vector that it does
        // not change before the call has ended, and `out` is gone by then.
        Some(unsafe { std::slice::from_raw_parts(out.mip_solution, size) })
    }
}

/// Hands a solution in, one value for each column.
fn hand_in(into: &mut HighsCallbackDataIn, values: &[f64]) {
    let Ok(count) = HighsInt::try_from(values.len()) else {
        return;
    };
    // SAFETY: HiGHS copies `count` values, which is how many there are, into a vector of
    // its own with as many places: it is asked for this callback alone, before which it
    // makes that vector as long as it has columns, and `hear` lets no other length pass.
    let status = unsafe { Highs_setCallbackSolution(into, count, values.as_ptr()) };
    // HiGHS takes the word from here, whatever the call noted.
    into.user_has_solution = c_int::from(status == STATUS_OK);
}

#[cfg(test)]
mod tests {
    use super::*;
    use ::highs::{HighsModelStatus, RowProblem, Sense};
    use std::sync::atomic::{AtomicUsize, Ordering};

    /// Ends the run from a question on, and notes what it hears.
    #[derive(Default)]
    struct Counting {
        asked: AtomicUsize,
        ends_at: Option<usize>,
        found: Mutex<Vec<Vec<f64>>>,
        gift: Mutex<Option<Arc<[f64]>>>,
    }

    impl Ear for Counting {
        fn is_enough(&self) -> bool {
            let asked = self.asked.fetch_add(1, Ordering::Relaxed) + 1;
            self.ends_at.is_some_and(|at| asked >= at)
        }

        fn found(&self, values: &[f64]) {
            self.found.lock().unwrap().push(values.to_vec());
        }

        fn given(&self) -> Option<Arc<[f64]>> {
            self.gift.lock().unwrap().take()
        }
    }

    const WIDE: usize = 40;

    /// `WIDE` knapsacks of `WIDE` things, of which each is cheap where it is heavy.
    fn knapsacks(integer: bool, seed: u64) -> Model {
        let mut rng = fastrand::Rng::with_seed(seed);
        let mut problem = RowProblem::default();
        let columns: Vec<_> = (0..WIDE)
            .map(|_| {
                let worth = -f64::from(rng.i32(50..100));
                problem.add_column_with_integrality(worth, 0..=1, integer)
            })
            .collect();
        for _ in 0..WIDE {
            let weights: Vec<_> = columns
                .iter()
                .map(|&c| (c, f64::from(rng.i32(1..100))))
                .collect();
            let half = weights.iter().map(|w| w.1).sum::<f64>() / 3.0;
            problem.add_row(..=half.floor(), weights);
        }
        let mut model = problem.optimise(Sense::Minimise);
        model.make_quiet();
        model.set_option("presolve", "off");
        model.set_option("threads", 1);
        model
    }

    fn status_with(solver: &str, integer: bool, ear: &Counting) -> HighsModelStatus {
        let mut model = knapsacks(integer, 1);
        model.set_option("solver", solver);
        solve(model, ear).expect("it runs").status()
    }

    #[test]
    fn tree_simplex_and_interior_point_end_at_the_first_word() {
        for (solver, integer) in [("choose", true), ("simplex", false), ("ipm", false)] {
            let all = Counting::default();
            let status = status_with(solver, integer, &all);
            assert_eq!(status, HighsModelStatus::Optimal, "{solver}");
            let asked = all.asked.into_inner();
            assert!(asked > 6, "{solver}: {asked}");
            let half = Counting {
                ends_at: Some(asked / 2),
                ..Counting::default()
            };
            let status = status_with(solver, integer, &half);
            assert_eq!(status, HighsModelStatus::ReachedInterrupt, "{solver}");
            // It may look up once more on its way out.
            let more = half.asked.into_inner() - asked / 2;
            assert!(more <= 3, "{solver}: {more} questions after the end");
        }
    }

    #[test]
    fn each_better_solution_is_handed_out_and_the_last_is_the_answer() {
        let ear = Counting::default();
        let solved = solve(knapsacks(true, 1), &ear).expect("it runs");
        let found = ear.found.into_inner().unwrap();
        assert!(found.len() > 1, "{}", found.len());
        assert!(found.iter().all(|values| values.len() == WIDE));
        let last = found.last().map(Vec::as_slice);
        assert_eq!(last, Some(solved.get_solution().columns()));
    }

    #[test]
    fn a_solution_that_is_given_is_the_solvers_own_from_then_on() {
        let best = solve(knapsacks(true, 1), &Counting::default()).expect("it runs");
        let best: Arc<[f64]> = best.get_solution().columns().into();
        let given = |gift: Option<Arc<[f64]>>| {
            let ear = Counting {
                gift: Mutex::new(gift),
                ..Counting::default()
            };
            let solved = solve(knapsacks(true, 1), &ear).expect("it runs");
            assert_eq!(solved.status(), HighsModelStatus::Optimal);
            assert_eq!(solved.get_solution().columns(), &best[..]);
            assert!(ear.gift.into_inner().unwrap().is_none());
            ear.found.into_inner().unwrap().len()
        };
        let (alone, with) = (given(None), given(Some(Arc::clone(&best))));
        // Nothing is better than the gift, so nothing is found.
        assert!(alone > 0 && with == 0, "{alone} {with}");
        // What is no solution, or not one of these columns, is not taken.
        let full: Arc<[f64]> = [1.0; WIDE].into();
        let short: Arc<[f64]> = best[1..].into();
        assert_eq!((given(Some(full)), given(Some(short))), (alone, alone));
    }

    /// Panics at the third question.
    struct Loud(AtomicUsize);

    impl Ear for Loud {
        fn is_enough(&self) -> bool {
            let asked = self.0.fetch_add(1, Ordering::Relaxed) + 1;
            assert!(asked < 3, "no third question");
            false
        }
    }

    #[test]
    fn a_panic_goes_on_after_the_run_and_nobody_is_asked_again() {
        let ear = Loud(AtomicUsize::new(0));
        let told = catch_unwind(AssertUnwindSafe(|| solve(knapsacks(true, 1), &ear)));
        let panic = told.expect_err("the panic goes on");
        assert_eq!(panic.downcast_ref::<&str>(), Some(&"no third question"));
        assert_eq!(ear.0.into_inner(), 3);
    }

    #[test]
    fn a_model_can_be_solved_again_with_another_ear() {
        let first = Counting::default();
        let solved = solve(knapsacks(false, 1), &first).expect("it runs");
        let asked = first.asked.load(Ordering::Relaxed);
        let second = Counting::default();
        let mut model = Model::from(solved);
        model.change_column_bounds(model_column(0), 0..=0);
        let solved = solve(model, &second).expect("it runs");
        assert_eq!(solved.status(), HighsModelStatus::Optimal);
        assert!(second.asked.into_inner() > 0);
        assert_eq!(first.asked.into_inner(), asked);
    }

    /// A column by its place: only a problem gives them out.
    fn model_column(place: usize) -> ::highs::Col {
        let mut problem = RowProblem::default();
        let columns: Vec<_> = (0..=place).map(|_| problem.add_column(0.0, 0..)).collect();
        columns[place]
    }
}
