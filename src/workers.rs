//! Work shared among the processors. What comes out does not depend on how many there are, nor on who was first.

use std::sync::{Mutex, OnceLock, PoisonError};

/// How many processors there are to work on.
pub(crate) fn count() -> usize {
    static COUNT: OnceLock<usize> = OnceLock::new();
    *COUNT.get_or_init(|| std::thread::available_parallelism().map_or(1, usize::from))
}

/// A memory for each worker.
pub(crate) fn memories<M>(of_one: impl Fn() -> M) -> Vec<M> {
    (0..count()).map(|_| of_one()).collect()
}

/// Works on each item and gives what came of each, in their order. A worker has a memory of its own from the first item
/// to the last, and takes so many items at a time; where there is no more than that in all, nobody else is called in.
pub(crate) fn map_with<T: Send, M: Send, R: Send>(
    items: Vec<T>,
    at_a_time: usize,
    memories: &mut [M],
    work: impl Fn(T, &mut M) -> R + Sync,
) -> Vec<R> {
    let parts = items.len().div_ceil(at_a_time);
    if let (memory, 0 | 1) = (&mut *memories, parts) {
        let Some(memory) = memory.first_mut() else { return Vec::new() };
        return items.into_iter().map(|item| work(item, memory)).collect();
    }
    let left = Mutex::new(items.into_iter().enumerate());
    let take = || {
        let mut left = left.lock().unwrap_or_else(PoisonError::into_inner);
        left.by_ref().take(at_a_time).collect::<Vec<_>>()
    };
    let (take, work) = (&take, &work);
    let until_none_is_left = |memory: &mut M| {
        let mut done = Vec::new();
        loop {
            let part = take();
            if part.is_empty() {
                return done;
            }
            done.extend(part.into_iter().map(|(at, item)| (at, work(item, &mut *memory))));
        }
    };
    let mut done: Vec<(usize, R)> = std::thread::scope(|scope| {
        let (own, others) = memories.split_first_mut()?;
        let others: Vec<_> = others
            .iter_mut()
            .take(parts - 1)
            .map(|memory| scope.spawn(move || until_none_is_left(memory)))
            .collect();
        let mut done = until_none_is_left(own);
        for other in others {
            // What went wrong there goes wrong here.
            done.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        }
        Some(done)
    })
    .unwrap_or_default();
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

/// The same where nothing is remembered, one item at a time.
pub(crate) fn map<T: Send, R: Send>(items: Vec<T>, work: impl Fn(T) -> R + Sync) -> Vec<R> {
    map_with(items, 1, &mut vec![(); count()], |item, ()| work(item))
}

#[cfg(test)]
mod tests {
    use super::map_with;

    #[test]
    fn results_keep_their_order_however_many_work() {
        for workers in 1..5 {
            let items: Vec<usize> = (0..100).collect();
            let mut worked = vec![0; workers];
            let squares = map_with(items, 7, &mut worked, |item, done| {
                *done += 1;
                item * item
            });
            assert_eq!(squares, (0..100).map(|item| item * item).collect::<Vec<_>>());
            assert_eq!(worked.iter().sum::<usize>(), 100);
        }
    }

    #[test]
    fn nothing_to_do_is_done_by_anybody() {
        assert!(map_with(Vec::<u8>::new(), 1, &mut [(), ()], |item, ()| item).is_empty());
        assert_eq!(map_with(vec![1, 2, 3], 64, &mut [0; 3], |item, done: &mut i32| item + *done), [1, 2, 3]);
    }

    #[test]
    #[should_panic(expected = "seven")]
    fn what_goes_wrong_with_one_is_not_kept_quiet() {
        map_with((0..20).collect(), 1, &mut [(), ()], |item, ()| assert!(item != 7, "seven"));
    }
}
