//! Work of many parts, spread over the machine's cores; what comes out does not depend on how many there are.

use std::num::NonZero;
use std::panic::resume_unwind;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// What `work` makes of each number below `count`, in their order. The numbers are handed out in shares of `share`;
/// work that is less than two of them is done at once.
pub(crate) fn each<T: Send>(count: usize, share: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    each_with(count, share, || (), |(), number| work(number))
}

/// The same with something that every core makes for itself and keeps from one number to the next. It must not
/// change what comes out.
pub(crate) fn each_with<S, T: Send>(
    count: usize,
    share: usize,
    begin: impl Fn() -> S + Sync,
    work: impl Fn(&mut S, usize) -> T + Sync,
) -> Vec<T> {
    let shares = count.div_ceil(share.max(1));
    let next = AtomicUsize::new(0);
    let hand = || {
        let mut own = begin();
        let mut done: Vec<(usize, Vec<T>)> = Vec::new();
        loop {
            let taken = next.fetch_add(1, Ordering::Relaxed);
            if taken >= shares {
                return done;
            }
            let numbers = taken * share..((taken + 1) * share).min(count);
            done.push((taken, numbers.map(|number| work(&mut own, number)).collect()));
        }
    };
    let mut done = thread::scope(|scope| {
        let others = (1..cores().min(shares)).map(|_| thread::Builder::new().spawn_scoped(scope, hand));
        // Where no thread is to be had, the work is done without it.
        let others: Vec<_> = others.filter_map(Result::ok).collect();
        let mut done = hand();
        for other in others {
            match other.join() {
                Ok(more) => done.extend(more),
                Err(fault) => resume_unwind(fault),
            }
        }
        done
    });
    done.sort_unstable_by_key(|(taken, _)| *taken);
    done.into_iter().flat_map(|(_, made)| made).collect()
}

fn cores() -> usize {
    static CORES: OnceLock<usize> = OnceLock::new();
    *CORES.get_or_init(|| thread::available_parallelism().map_or(1, NonZero::get))
}

#[cfg(test)]
mod tests {
    use super::{each, each_with};

    #[test]
    fn what_is_made_stands_in_the_order_of_the_numbers() {
        for (count, share) in [(0, 3), (1, 3), (2, 3), (3, 3), (100, 1), (100, 7), (5, 100)] {
            let made = each(count, share, |number| number * number);
            assert_eq!(
                made,
                (0..count).map(|number| number * number).collect::<Vec<_>>(),
                "{count}, {share}"
            );
        }
    }

    #[test]
    fn every_core_keeps_what_is_its_own() {
        let made = each_with(1_000, 10, Vec::new, |own: &mut Vec<usize>, number| {
            own.push(number);
            own.is_sorted()
        });
        assert!(made.into_iter().all(|sorted| sorted));
    }
}
