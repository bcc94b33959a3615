//! A folder with a sound layout, pump and mesh to break, and the program run on it.

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

pub(crate) const LAYOUT: &str = include_str!("sound/layout.ron");
pub(crate) const PUMP: &str = include_str!("sound/pump.ron");

/// After this long a run counts as hung. The one second that is promised is for the release build
/// on an idle machine; a test on a busy one only tells hanging from answering.
const HUNG: Duration = Duration::from_secs(20);

/// Runs slower than this are printed: `cargo test --release --test hurtful -- --nocapture` shows
/// which input breaks that promise.
const SLOW: Duration = Duration::from_secs(1);

/// Most address space that a run gets, KiB: reading a broken file must not take more.
#[cfg(unix)]
const MOST_KIB: u64 = 1 << 20;

pub(crate) struct Workshop {
    folder: tempfile::TempDir,
}

/// What a run came to.
pub(crate) struct Run {
    pub(crate) status: Option<i32>,
    pub(crate) out: String,
    pub(crate) err: String,
    pub(crate) took: Duration,
}

impl Workshop {
    /// A folder `boot` with the sound files in it; there is room beside it.
    pub(crate) fn new() -> Workshop {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let workshop = Workshop { folder };
        fs::create_dir(workshop.path("")).expect("a folder for the boot");
        workshop.write("layout.ron", LAYOUT.as_bytes());
        workshop.write("pump.ron", PUMP.as_bytes());
        workshop.write("bump.glb", &crate::glb::Glb::sound().bytes());
        workshop
    }

    pub(crate) fn path(&self, file: &str) -> PathBuf {
        let boot = self.folder.path().join("boot");
        if file.is_empty() { boot } else { boot.join(file) }
    }

    /// The folder that holds the boot's folder.
    pub(crate) fn outside(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    pub(crate) fn write(&self, file: &str, bytes: &[u8]) {
        fs::write(self.path(file), bytes).expect("a file that can be written");
    }

    /// Runs `dryberth check layout.ron --json` on what is in the folder now.
    pub(crate) fn check(&self) -> Run {
        self.check_file(&self.path("layout.ron"))
    }

    pub(crate) fn check_file(&self, layout: &Path) -> Run {
        let (out, err) = (self.outside("out"), self.outside("err"));
        let into = |path: &Path| Stdio::from(File::create(path).expect("a file for the output"));
        let started = Instant::now();
        let mut child = program()
            .arg("check")
            .arg(layout)
            .arg("--json")
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
                panic!("no answer after {HUNG:?}");
            }
            std::thread::sleep(Duration::from_millis(2));
        };
        let took = started.elapsed();
        if took > SLOW {
            eprintln!("slow: {took:?}");
        }
        let text = |path: &Path| {
            let bytes = fs::read(path).expect("the output can be read");
            String::from_utf8(bytes).expect("the output is UTF-8")
        };
        Run { status: status.code(), out: text(&out), err: text(&err), took }
    }
}

#[cfg(unix)]
fn program() -> Command {
    let mut bounded = Command::new("sh");
    bounded
        .arg("-c")
        .arg(format!("ulimit -v {MOST_KIB} && exec \"$0\" \"$@\""))
        .arg(env!("CARGO_BIN_EXE_dryberth"));
    bounded
}

#[cfg(not(unix))]
fn program() -> Command {
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

/// `base` with the one place that reads `from` changed to `to`. A `§` in `to` marks where the
/// mistake is; it is taken out, and its line and column are given.
pub(crate) fn edited(base: &str, from: &str, to: &str) -> (String, Option<(usize, usize)>) {
    assert_eq!(base.matches(from).count(), 1, "`{from}` must stand once in the sound file");
    let marked = base.replacen(from, to, 1);
    let place = marked.find('§').map(|at| {
        let before = &marked[..at];
        let column = before.chars().rev().take_while(|letter| *letter != '\n').count() + 1;
        (before.matches('\n').count() + 1, column)
    });
    (marked.replace('§', ""), place)
}

/// Fails with everything that went wrong in a table of cases.
pub(crate) fn nothing_went_wrong(cases: usize, wrong: &[String]) {
    assert!(wrong.is_empty(), "{} of {cases} cases:\n{}", wrong.len(), wrong.join("\n"));
}
