//! Leaves the terminal as it was, however the program is ended from outside while a line is being edited.

/// Puts the terminal back and ends with the status of a program that was stopped, on interrupt, hang-up and termination.
/// Everything answered is in the file already, so there is nothing else to save.
pub fn guard() {
    #[cfg(unix)]
    let before = rustix::termios::tcgetattr(std::io::stdin()).ok();
    // Where no handler can be set the usual way to end is left as it is.
    let _ = ctrlc::set_handler(move || {
        #[cfg(unix)]
        if let Some(before) = &before {
            let _ =
                rustix::termios::tcsetattr(std::io::stdin(), rustix::termios::OptionalActions::Now, before);
        }
        std::process::exit(i32::from(super::Exit::Stopped.status()));
    });
}
