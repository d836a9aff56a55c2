//! A folder with a job in it, and the real program at work there.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

/// A call with the hall and the passage open and the ceiling not.
pub fn example() -> String {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/feed-at-light-two-legs.yaml");
    std::fs::read_to_string(example).unwrap()
}

pub struct Desk {
    pub folder: tempfile::TempDir,
}

/// The program: `LATH_BINARY` for another one, as a released one.
pub fn program() -> PathBuf {
    let other = std::env::var_os("LATH_BINARY");
    other.map_or_else(
        || env!("CARGO_BIN_EXE_lath").into(),
        |path| Path::new(env!("CARGO_MANIFEST_DIR")).join(path),
    )
}

/// How a run ended.
pub struct Ended {
    pub status: ExitStatus,
    pub out: String,
    pub err: String,
    /// The most memory it held as far as seen, in kB; only where the system says.
    pub memory: u64,
}

impl Ended {
    pub fn code(&self) -> i32 {
        self.status.code().unwrap_or_else(|| panic!("{}: {}", self.status, self.err))
    }
}

impl Desk {
    pub fn with(text: &str) -> Desk {
        let desk = Desk { folder: tempfile::tempdir().unwrap() };
        std::fs::write(desk.path(), text).unwrap();
        desk
    }

    pub fn path(&self) -> PathBuf {
        self.folder.path().join("job.yaml")
    }

    pub fn bytes(&self) -> Vec<u8> {
        std::fs::read(self.path()).unwrap()
    }

    /// Files in the folder, in order.
    pub fn files(&self) -> Vec<String> {
        let entries = std::fs::read_dir(self.folder.path()).unwrap();
        let mut names: Vec<String> =
            entries.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect();
        names.sort();
        names
    }

    /// `lath` here, that hears nothing and whose words are kept.
    pub fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(program());
        command.args(arguments).current_dir(self.folder.path()).env_clear();
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Ended {
        ended(self.command(arguments).spawn().unwrap())
    }
}

/// Waits for the end of it. What takes minutes has no end that anybody would wait for.
pub fn ended(mut child: Child) -> Ended {
    const PATIENCE: Duration = Duration::from_secs(240);
    let read = |stream: Option<Box<dyn std::io::Read + Send>>| {
        std::thread::spawn(move || {
            let mut text = String::new();
            if let Some(mut stream) = stream {
                stream.read_to_string(&mut text).unwrap();
            }
            text
        })
    };
    let out = read(child.stdout.take().map(|stream| Box::new(stream) as _));
    let err = read(child.stderr.take().map(|stream| Box::new(stream) as _));
    let (start, mut memory) = (Instant::now(), 0);
    let status = loop {
        memory = memory.max(most_memory(child.id()));
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if start.elapsed() > PATIENCE {
            child.kill().unwrap();
            panic!("it came to no end");
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    Ended { status, out: out.join().unwrap(), err: err.join().unwrap(), memory }
}

/// The most memory a process has held, in kB; 0 where nobody says, and while it is still a copy of this process.
fn most_memory(id: u32) -> u64 {
    let status = std::fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    if !status.starts_with("Name:\tlath") {
        return 0;
    }
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.and_then(|line| line.trim().trim_end_matches(" kB").trim().parse().ok()).unwrap_or(0)
}
