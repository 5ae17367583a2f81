//! Independent jobs on a few threads, with a bar; results come back in the order of the jobs.
//!
//! Jobs are values without shared state, so the number of threads and the order of completion cannot change a result.

use std::io::IsTerminal;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use indicatif::{ProgressBar, ProgressStyle};

/// Most threads used at once.
const MOST_THREADS: usize = 2;

/// Does `count` jobs; `finished` hears of each one as it ends, one at a time, in no fixed order.
///
/// A job whose thread panicked leaves `None`.
pub fn in_parallel<T: Send>(
    count: usize,
    work: impl Fn(usize) -> T + Sync,
    finished: impl FnMut(usize, &T) + Send,
) -> Vec<Option<T>> {
    let threads = std::thread::available_parallelism()
        .map_or(1, usize::from)
        .min(MOST_THREADS)
        .min(count);
    let next = AtomicUsize::new(0);
    let slots: Vec<Option<T>> = (0..count).map(|_| None).collect();
    let done = Mutex::new((slots, finished));
    std::thread::scope(|scope| {
        let worker = || {
            while let Some(index) =
                Some(next.fetch_add(1, Ordering::Relaxed)).filter(|i| *i < count)
            {
                let result = work(index);
                if let Ok(mut done) = done.lock() {
                    let (slots, finished) = &mut *done;
                    finished(index, &result);
                    slots[index] = Some(result);
                }
            }
        };
        let workers: Vec<_> = (0..threads).map(|_| scope.spawn(worker)).collect();
        // A worker that panicked leaves its slot empty, which the caller reports by name.
        workers.into_iter().for_each(|worker| drop(worker.join()));
    });
    done.into_inner()
        .unwrap_or_else(std::sync::PoisonError::into_inner)
        .0
}

/// A bar on a terminal, plain lines otherwise; both on standard error.
pub struct Progress {
    bar: Option<ProgressBar>,
    count: AtomicUsize,
    total: usize,
    what: &'static str,
    /// One line for so many jobs where there is no bar.
    every: usize,
}

impl Progress {
    /// A bar for so many jobs, called `what`.
    pub fn new(total: usize, what: &'static str, every: usize) -> Self {
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(total as u64);
            let template = format!("{{bar:40}} {{pos}}/{{len}} {what}s  {{msg}}");
            if let Ok(style) = ProgressStyle::with_template(&template) {
                bar.set_style(style);
            }
            bar
        });
        Self {
            bar,
            count: AtomicUsize::new(0),
            total,
            what,
            every: every.max(1),
        }
    }

    /// One more job is done.
    pub fn done(&self, name: &str) {
        let count = self.count.fetch_add(1, Ordering::Relaxed) + 1;
        match &self.bar {
            Some(bar) => {
                bar.set_message(name.to_owned());
                bar.inc(1);
            }
            None if count.is_multiple_of(self.every) || count == self.total => {
                eprintln!("{} {count} of {}: {name}", self.what, self.total);
            }
            None => {}
        }
    }

    /// Takes the bar away.
    pub fn finish(&self) {
        if let Some(bar) = &self.bar {
            bar.finish_and_clear();
        }
    }
}
