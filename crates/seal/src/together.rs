//! Two independent pieces of one duty at the same time, where the machine has threads.

use std::thread;

/// Both results. The pieces share nothing that changes, so the results are those of one after the other.
pub(crate) fn together<A: Send, B>(first: impl Fn() -> A + Sync, second: impl FnOnce() -> B) -> (A, B) {
    thread::scope(|scope| {
        let running = thread::Builder::new().spawn_scoped(scope, &first);
        let b = second();
        // Where no thread can be had there is this one.
        let a = running.map_or_else(|_| first(), |thread| thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        (a, b)
    })
}

#[cfg(test)]
mod tests {
    use super::together;

    #[test]
    fn both_pieces_give_their_results() {
        let text = String::from("film");
        assert_eq!(together(|| text.len(), || text.to_uppercase()), (4, "FILM".to_owned()));
    }
}
