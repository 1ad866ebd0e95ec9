//! Work on several items at once, with results in the order of the items. Nothing here decides by time or by thread.

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::Builder;

/// Threads beside the calling one.
const MOST_THREADS: usize = 3;

/// The outcome for each item. Where the system has no thread to give, the calling one does the work.
pub(super) fn each<I: Sync, T: Send>(items: &[I], work: impl Fn(&I) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::with_capacity(items.len()));
    let run = || {
        while let Some((at, item)) =
            Some(next.fetch_add(1, Ordering::Relaxed)).and_then(|at| Some((at, items.get(at)?)))
        {
            let outcome = work(item);
            done.lock().unwrap_or_else(std::sync::PoisonError::into_inner).push((at, outcome));
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..MOST_THREADS.min(items.len().saturating_sub(1)) {
            let _ = Builder::new().spawn_scoped(scope, run);
        }
        run();
    });
    let mut done = done.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, outcome)| outcome).collect()
}
