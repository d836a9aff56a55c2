//! What comes with the program: completions, manual pages, the release it says it is.

use super::{lath, lath_in};
use std::process::{Command, Stdio};

/// Every command there is, as the help lists them.
fn commands() -> Vec<String> {
    let top = lath(&["--help"]).out;
    let list = top.split_once("Commands:\n").unwrap().1.split_once("\n\n").unwrap().0;
    // A name begins in the third column; what is said of it goes on further right.
    let names = list.lines().filter(|line| line.starts_with("  ") && !line[2..].starts_with(' '));
    let names = names.map(|line| line.split_whitespace().next().unwrap().to_owned());
    names.filter(|name| name != "help").collect()
}

#[test]
fn completions_know_every_command_in_every_shell() {
    let commands = commands();
    assert!(commands.len() >= 14, "{commands:?}");
    for shell in ["bash", "elvish", "fish", "powershell", "zsh"] {
        let ended = lath(&["completions", shell]);
        assert_eq!((ended.status, ended.err.as_str()), (Some(0), ""), "{shell}");
        for command in &commands {
            assert!(ended.out.contains(command.as_str()), "{shell}: {command}");
        }
    }
    assert_eq!(lath(&["completions", "abacus"]).status, Some(2));
}

/// bash itself, asked to complete a word.
#[cfg(unix)]
#[test]
fn bash_completes_what_is_begun() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("lath.bash");
    std::fs::write(&script, lath(&["completions", "bash"]).out).unwrap();
    for (words, expected) in [
        (&["ver"][..], "verdict"),
        (&["verdict", "--req"], "--require-settled"),
        (&["draw", "--format", "s"], "svg"),
    ] {
        let line: Vec<String> = words.iter().map(|word| format!("'{word}'")).collect();
        let (last, before) =
            (words[words.len() - 1], words.get(words.len().wrapping_sub(2)).unwrap_or(&"lath"));
        let asked = format!(
            "source '{}'; COMP_WORDS=(lath {}); COMP_CWORD={}; _lath lath '{last}' '{before}'; echo \"${{COMPREPLY[*]}}\"",
            script.display(),
            line.join(" "),
            words.len()
        );
        let Ok(output) = Command::new("bash").args(["--norc", "-c", &asked]).stdin(Stdio::null()).output()
        else {
            eprintln!("no bash here: nothing was completed");
            return;
        };
        let said = String::from_utf8(output.stdout).unwrap();
        assert_eq!(said.trim(), expected, "{words:?}: {}", String::from_utf8_lossy(&output.stderr));
    }
}

#[test]
fn a_manual_page_for_every_command_with_every_option() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().to_str().unwrap();
    let ended = lath(&["man", path]);
    assert_eq!((ended.status, ended.err.as_str()), (Some(0), ""));
    for command in commands() {
        let page = std::fs::read_to_string(folder.path().join(format!("lath-{command}.1"))).unwrap();
        assert!(page.contains(&format!(".TH lath-{command} 1")), "{command}: {page}");
        // In a page a hyphen that is one is written with a backslash.
        let page = page.replace('\\', "");
        let help = lath(&[&command, "--help"]).out;
        let options = help.split_whitespace().filter(|word| word.starts_with("--") && word.len() > 2);
        for option in options {
            let option = option.trim_end_matches(|letter: char| !letter.is_ascii_alphanumeric());
            assert!(page.contains(option), "{command}: {option}");
        }
    }
    let top = lath(&["man"]).out;
    assert_eq!(top, std::fs::read_to_string(folder.path().join("lath.1")).unwrap());
    assert!(top.contains(".TH lath 1") && top.contains("130 stopped by the user"));
    // A folder that is not there is not made.
    let ended = lath(&["man", folder.path().join("none").to_str().unwrap()]);
    assert_eq!(ended.status, Some(3));
    assert!(ended.err.contains("cannot be saved"), "{}", ended.err);
}

#[test]
fn the_release_is_that_of_the_change_log() {
    let version = env!("CARGO_PKG_VERSION");
    assert_eq!(lath_in(&[("NO_COLOR", "1")], &["--version"]).out, format!("lath {version}\n"));
    let log = include_str!("../../DEVELOPERS.md").split_once("\n## Change log\n").unwrap().1;
    let first = log.lines().find(|line| line.starts_with("- ")).unwrap();
    assert!(first.starts_with(&format!("- {version}")), "{first}");
}
