//! A folder with a sound layout, pump and mesh to break, and the program run on it.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::support::run::{MOST_KIB, run_in};

pub(crate) use crate::support::run::Run;

pub(crate) const LAYOUT: &str = include_str!("sound/layout.ron");
pub(crate) const PUMP: &str = include_str!("sound/pump.ron");

/// Runs slower than this are printed: `cargo test --release --test hurtful -- --nocapture` shows
/// which input breaks the promise of one second.
const SLOW: Duration = Duration::from_secs(1);

pub(crate) struct Workshop {
    folder: tempfile::TempDir,
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
        let arguments = ["check".as_ref(), layout.as_os_str(), "--json".as_ref()];
        let run = run_in(self.folder.path(), MOST_KIB, &arguments);
        if run.took > SLOW {
            eprintln!("slow: {:?}", run.took);
        }
        run
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
