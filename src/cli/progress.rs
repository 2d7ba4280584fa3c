//! A moving line on the terminal while long work goes on; nowhere else, and gone when the work is done.

use std::io::{self, IsTerminal};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

use super::show;
use crate::evaluate::{Draws, drawn, tried};

/// Characters of the bar.
const BAR: usize = 20;

const PAUSE: Duration = Duration::from_millis(200);

/// Does `work`, and tells on a terminal how far studies and draws are.
pub(super) fn progress<T>(draws: Option<Draws>, work: impl FnOnce() -> T) -> T {
    let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    if dumb || !io::stderr().is_terminal() {
        return work();
    }
    thread::scope(|scope| {
        // Dropped with the work, even where that panics: the other thread ends then.
        let (stop, stopped) = channel::<()>();
        scope.spawn(move || {
            let begun = Instant::now();
            let mut told = false;
            while stopped.recv_timeout(PAUSE) == Err(RecvTimeoutError::Timeout) {
                show(&format!("\r\x1b[K{}", line((tried(), drawn()), draws, begun.elapsed())));
                told = true;
            }
            if told {
                show("\r\x1b[K");
            }
        });
        let made = work();
        drop(stop);
        made
    })
}

fn line(
    ((tried, candidates), drawn): ((usize, usize), usize),
    draws: Option<Draws>,
    elapsed: Duration,
) -> String {
    let seconds = elapsed.as_secs();
    if candidates > 0 {
        let done = tried.min(candidates);
        let filled = BAR * done / candidates;
        let bar = "#".repeat(filled) + &".".repeat(BAR - filled);
        return format!("[{bar}] {done} of {candidates} candidates, {seconds} s");
    }
    match (drawn, draws) {
        (0, _) => format!("working, {seconds} s"),
        (_, Some(Draws::Count(all))) => format!("drawing, {drawn} of {} draws, {seconds} s", all.max(drawn)),
        _ => format!("drawing, {drawn} draws, {seconds} s"),
    }
}

#[cfg(test)]
mod tests {
    use std::time::Duration;

    use super::line;
    use crate::evaluate::Draws;

    #[test]
    fn the_line_says_how_far_it_is() {
        let two = Duration::from_millis(2_400);
        assert_eq!(line(((0, 0), 0), Some(Draws::Auto), two), "working, 2 s");
        assert_eq!(
            line(((0, 0), 42_000), Some(Draws::Count(100_000)), two),
            "drawing, 42000 of 100000 draws, 2 s"
        );
        assert_eq!(line(((0, 0), 42_000), None, two), "drawing, 42000 draws, 2 s");
        let bar = "[###########.........] 5500 of 10000 candidates, 2 s";
        assert_eq!(line(((5_500, 10_000), 0), None, two), bar);
    }
}
