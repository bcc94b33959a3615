//! Writing a file so that a crash leaves the old one or the new one.

use std::io::Write;
use std::path::Path;

use super::error::FileError;

/// Writes beside, syncs and renames, so that a crash leaves the old file or the new one.
pub(super) fn write_atomically(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    write_step_by_step(path, bytes, &mut |_| {})
}

/// How far a save has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum SaveStep {
    Begun,
    Opened,
    HalfWritten,
    Written,
    Renamed,
}

/// As [`write_atomically`], telling each step as it is reached.
fn write_step_by_step(
    path: &Path,
    bytes: &[u8],
    reached: &mut dyn FnMut(SaveStep),
) -> Result<(), FileError> {
    let mut write = || -> std::io::Result<()> {
        reached(SaveStep::Begun);
        let mut file = atomic_write_file::AtomicWriteFile::open(path)?;
        reached(SaveStep::Opened);
        let (first, rest) = bytes.split_at(bytes.len() / 2);
        file.write_all(first)?;
        reached(SaveStep::HalfWritten);
        file.write_all(rest)?;
        reached(SaveStep::Written);
        file.commit()?;
        reached(SaveStep::Renamed);
        Ok(())
    };
    write().map_err(|error| {
        FileError::one(
            path.display().to_string(),
            format!("a file that can't be written ({error})"),
            "a folder that may be written to, with room left; the old file is untouched",
        )
    })
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    const OLD: &str = "the old text, whole";
    const NEW: &str = "the new text, which is longer than the old one, whole";
    const STEPS: [SaveStep; 5] = [
        SaveStep::Begun,
        SaveStep::Opened,
        SaveStep::HalfWritten,
        SaveStep::Written,
        SaveStep::Renamed,
    ];

    /// The process is killed at each step of a save, by itself and at once, as a power cut would;
    /// tests/referees/killed_saves.py kills the program at each of its system calls.
    #[test]
    fn a_save_killed_at_any_step_leaves_the_old_file_or_the_new_one() {
        const ENV: &str = "DRYBERTH_TEST_KILLED_SAVE";
        if let Ok(asked) = std::env::var(ENV) {
            let (step, path) = asked.split_once(' ').expect("a step and a path");
            let step = STEPS[step.parse::<usize>().expect("a step")];
            let kill = &mut |reached| {
                if reached == step {
                    std::process::abort();
                }
            };
            write_step_by_step(Path::new(path), NEW.as_bytes(), kill).expect("written");
            unreachable!("it should have been killed");
        }
        let name = std::thread::current().name().expect("the test's name").to_string();
        for (index, step) in STEPS.iter().enumerate() {
            let folder = tempfile::tempdir().expect("a folder");
            let path = folder.path().join("boot.ron");
            fs::write(&path, OLD).expect("the old file");
            let killed = std::process::Command::new(std::env::current_exe().expect("this test"))
                .args(["--exact", &name, "--nocapture"])
                .env(ENV, format!("{index} {}", path.display()))
                .output()
                .expect("it runs");
            assert!(!killed.status.success(), "{step:?}: it wasn't killed");
            let left = fs::read_to_string(&path).expect("a file is there");
            let wanted = if *step == SaveStep::Renamed { NEW } else { OLD };
            assert_eq!(left, wanted, "killed when {step:?}");
            // And the next save goes through, whatever was left lying about.
            write_atomically(&path, NEW.as_bytes()).expect("written");
            assert_eq!(fs::read_to_string(&path).expect("the file"), NEW);
        }
    }
}
