//! Room to recurse in. The grammar and the tree builder recurse with the nesting of a text; the grammar is built without
//! the stack probe of its library, which costs a quarter of its time, so deep texts are given a thread with a stated stack.
//! How deep a text nests is known beforehand, from the scan.

/// Nesting that fits any calling thread: a step takes up to 25 KiB in a build without optimisation.
const SHALLOW: usize = 32;
/// Stack for the deepest nesting the scan lets through.
const STACK: usize = 16 << 20;

/// Does the work where a text that nests so deep has enough stack; `None` if the system has no thread to give.
pub(super) fn enough<T: Send>(depth: usize, work: impl FnOnce() -> T + Send) -> Option<T> {
    if depth <= SHALLOW {
        return Some(work());
    }
    std::thread::scope(|scope| {
        let thread = std::thread::Builder::new().stack_size(STACK).spawn_scoped(scope, work).ok()?;
        match thread.join() {
            Ok(done) => Some(done),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
}
