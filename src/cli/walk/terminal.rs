//! Being stopped from outside: never in the middle of a save, and with a word about where things stand.

use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// A terminal is done with an interrupt long before.
const FLUSHED: Duration = Duration::from_millis(30);

/// Held while the file is being saved.
static SAVING: Mutex<()> = Mutex::new(());

fn saving() -> MutexGuard<'static, ()> {
    SAVING.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Does something that an interrupt has to wait for.
pub fn undisturbed<T>(work: impl FnOnce() -> T) -> T {
    let _held = saving();
    work()
}

/// On interrupt, hang-up and termination says `word` and ends with the status of a program that was stopped. Everything
/// answered is in the file already, and the terminal is in its usual mode, so there is nothing else to do.
pub fn guard(word: String) {
    // Where no handler can be set the usual way to end is left as it is.
    let _ = ctrlc::set_handler(move || {
        let _held = saving();
        // A terminal signals first, and only then throws away what is on its way to the screen.
        std::thread::sleep(FLUSHED);
        // Standard output is locked by whoever waits for an answer; a terminal that is gone needs no word.
        #[cfg(unix)]
        let _ = rustix::io::write(rustix::stdio::stdout(), word.as_bytes());
        std::process::exit(i32::from(super::Exit::Stopped.status()));
    });
}
