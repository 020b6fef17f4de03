//! Progress on a terminal, and Ctrl-C.

use std::io::IsTerminal;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use fallrate_app::Progress;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

/// Work shorter than this shows no progress.
const PATIENCE: Duration = Duration::from_millis(600);

/// Watches the work: shows it where someone looks, and stops it on Ctrl-C.
#[derive(Debug)]
pub struct Watch {
    stopped: Arc<AtomicBool>,
    began: Instant,
    bar: Mutex<Option<ProgressBar>>,
    shown: bool,
}

impl Watch {
    /// Begins to watch.
    #[must_use]
    pub fn new() -> Self {
        let stopped = Arc::new(AtomicBool::new(false));
        let flag = Arc::clone(&stopped);
        // A handler that cannot be set leaves the system's own, which ends the program with nothing half-written.
        let _ = ctrlc::set_handler(move || {
            if flag.swap(true, Ordering::SeqCst) {
                std::process::exit(130);
            }
        });
        Self { stopped, began: Instant::now(), bar: Mutex::new(None), shown: std::io::stderr().is_terminal() }
    }

    /// Told of each step; false stops the work.
    pub fn tell(&self, progress: Progress) -> bool {
        if self.shown && self.began.elapsed() > PATIENCE {
            self.show(progress);
        }
        !self.is_stopped()
    }

    /// Told of each run of the model in a fit; false stops the work.
    pub fn tell_runs(&self, searching: bool, runs: usize) -> bool {
        if self.shown
            && self.began.elapsed() > PATIENCE
            && let Ok(mut bar) = self.bar.lock()
        {
            let step = if searching { "looking for the best figures" } else { "how sure they are" };
            let bar = bar.get_or_insert_with(ProgressBar::new_spinner);
            bar.set_message(format!("{step}, {runs} runs"));
            bar.tick();
        }
        !self.is_stopped()
    }

    /// Whether Ctrl-C was pressed.
    #[must_use]
    pub fn is_stopped(&self) -> bool {
        self.stopped.load(Ordering::SeqCst)
    }

    /// Takes the bar off the terminal.
    pub fn clear(&self) {
        if let Ok(bar) = self.bar.lock()
            && let Some(bar) = bar.as_ref()
        {
            bar.finish_and_clear();
        }
    }

    fn show(&self, progress: Progress) {
        let Ok(mut bar) = self.bar.lock() else { return };
        let bar = bar.get_or_insert_with(new_bar);
        match progress {
            Progress::Proposing => bar.set_message("looking for stages"),
            Progress::Running => bar.set_message("following the run"),
            Progress::Drawing(share) => {
                bar.set_message("drawing");
                #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
                bar.set_position((share * 100.0) as u64);
            }
        }
    }
}

fn new_bar() -> ProgressBar {
    let bar = ProgressBar::with_draw_target(Some(100), ProgressDrawTarget::stderr_with_hz(8));
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {percent:>3} % {msg}") {
        bar.set_style(style);
    }
    bar
}
