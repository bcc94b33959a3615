//! The program run within bounds of time and memory, and what came of it.

use std::ffi::OsStr;
use std::fmt::Debug;
use std::fs::{self, File};
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// After this long a run counts as hung. The one second that is promised is for the release build
/// on an idle machine; a test on a busy one only tells hanging from answering.
const HUNG: Duration = Duration::from_secs(20);

/// Most address space that a run gets, KiB: reading a broken file must not take more.
pub(crate) const MOST_KIB: u64 = 1 << 20;

/// What a run came to.
pub(crate) struct Run {
    pub(crate) status: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
    pub(crate) took: Duration,
}

/// Runs `dryberth` in a folder, with no more than so many KiB of address space where the system can hold
/// it to that. What it says goes through the files `.out` and `.err` there.
pub(crate) fn run_in<T>(folder: &Path, most_kib: u64, arguments: &[T]) -> Run
where
    T: AsRef<OsStr> + Debug,
{
    let (out, err) = (folder.join(".out"), folder.join(".err"));
    let into = |path: &Path| Stdio::from(File::create(path).expect("a file for the output"));
    let started = Instant::now();
    let mut child = program(most_kib)
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(into(&out))
        .stderr(into(&err))
        .spawn()
        .expect("the program starts");
    let status = loop {
        if let Some(status) = child.try_wait().expect("the program can be waited for") {
            break status;
        }
        if started.elapsed() > HUNG {
            child.kill().expect("the program can be stopped");
            child.wait().expect("the program ends");
            panic!("no answer after {HUNG:?}: {arguments:?}");
        }
        std::thread::sleep(Duration::from_millis(2));
    };
    let took = started.elapsed();
    let text = |path: &Path| {
        let bytes = fs::read(path).expect("the output can be read");
        String::from_utf8(bytes).expect("the output is UTF-8")
    };
    Run { status: status.code(), out: text(&out), err: text(&err), took }
}

#[cfg(unix)]
fn program(most_kib: u64) -> Command {
    let mut bounded = Command::new("sh");
    bounded
        .arg("-c")
        .arg(format!("ulimit -v {most_kib} && exec \"$0\" \"$@\""))
        .arg(env!("CARGO_BIN_EXE_dryberth"));
    bounded
}

#[cfg(not(unix))]
fn program(_: u64) -> Command {
    Command::new(env!("CARGO_BIN_EXE_dryberth"))
}

impl Run {
    /// Empty when the input was refused as it should be: status 2, nothing on standard output, and
    /// on standard error every text of `wanted`. Otherwise what is wrong.
    pub(crate) fn refusal(&self, wanted: &[&str]) -> String {
        let mut wrong = String::new();
        if self.status != Some(2) {
            wrong.push_str(&format!(" status {:?};", self.status));
        }
        if !self.out.is_empty() {
            wrong.push_str(&format!(" {} bytes on standard output;", self.out.len()));
        }
        if self.err.contains("panicked") || self.err.len() > 20_000 {
            wrong.push_str(" a panic or a flood on standard error;");
        }
        if self.err.chars().any(|letter| letter.is_control() && letter != '\n') {
            wrong.push_str(" control characters on standard error;");
        }
        for wanted in wanted.iter().filter(|wanted| !self.err.contains(**wanted)) {
            wrong.push_str(&format!(" no `{wanted}`;"));
        }
        if wrong.is_empty() { wrong } else { format!("{wrong} said: {}", self.err.trim_end()) }
    }

    /// Empty when it was answered, otherwise what is wrong.
    pub(crate) fn answer(&self) -> String {
        if matches!(self.status, Some(0 | 1)) && self.out.starts_with('{') {
            String::new()
        } else {
            format!(" status {:?}, said: {}", self.status, self.err.trim_end())
        }
    }
}
