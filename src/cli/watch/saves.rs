//! Waits until files are saved, and until a burst of saves is over.

use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

use notify::{Config, Event, EventKind, PollWatcher, RecursiveMode, Watcher};

/// A burst is over when nothing was saved for so long, or after so long in all.
const QUIET: Duration = Duration::from_millis(30);
const LONGEST: Duration = Duration::from_secs(2);

/// Where the system tells nothing, it is asked this often.
const POLL: Duration = Duration::from_millis(500);

pub(super) struct Saves {
    watcher: Box<dyn Watcher>,
    saved: Receiver<()>,
    followed: Vec<PathBuf>,
}

impl Saves {
    pub(super) fn new() -> notify::Result<Saves> {
        let (tell, saved) = channel();
        let told: notify::Result<Box<dyn Watcher>> = notify::recommended_watcher(teller(tell.clone()))
            .map(|watcher| Box::new(watcher) as Box<dyn Watcher>);
        let watcher = match told {
            Ok(watcher) => watcher,
            Err(_) => Box::new(PollWatcher::new(teller(tell), Config::default().with_poll_interval(POLL))?),
        };
        Ok(Saves { watcher, saved, followed: Vec::new() })
    }

    /// Watches these folders, each for itself; whether they are others than before. A folder that came anew under its
    /// old name is another one, and is taken up again; one that has gone meanwhile is none.
    pub(super) fn follow(&mut self, folders: Vec<PathBuf>) -> bool {
        for folder in &folders {
            let _ = self.watcher.watch(here(folder), RecursiveMode::NonRecursive);
        }
        let others = folders != self.followed;
        self.followed = folders;
        others
    }

    pub(super) fn wait(&self) {
        // The watcher holds the other end as long as this lives.
        let _ = self.saved.recv();
        let begun = Instant::now();
        while begun.elapsed() < LONGEST && self.saved.recv_timeout(QUIET).is_ok() {}
    }
}

/// Tells of all but what was only read.
fn teller(tell: Sender<()>) -> impl Fn(notify::Result<Event>) + Send + 'static {
    move |event| {
        if !event.is_ok_and(|event| matches!(event.kind, EventKind::Access(_))) {
            let _ = tell.send(());
        }
    }
}

fn here(folder: &Path) -> &Path {
    if folder == Path::new("") { Path::new(".") } else { folder }
}
