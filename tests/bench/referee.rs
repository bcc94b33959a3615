//! Referees in Python, timed on the same input in the same run.

use std::path::Path;
use std::process::Command;

/// The variable that names a Python with the referees.
const PYTHON: &str = "DRYBERTH_REFEREES";

/// Names and medians in ms that a script beside this file prints, one `name<tab>ms` a line; none, and
/// it is said, where no Python is named.
#[allow(dead_code, reason = "some scripts take arguments")]
pub(crate) fn answers(script: &str) -> Vec<(String, f64)> {
    answers_to(script, &[])
}

/// The same of a script that is given `arguments`.
pub(crate) fn answers_to(script: &str, arguments: &[&Path]) -> Vec<(String, f64)> {
    let Ok(python) = std::env::var(PYTHON) else {
        println!("\nreferees of {script}: skipped; {PYTHON} names no Python that has them");
        return Vec::new();
    };
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench").join(script);
    let ran =
        Command::new(&python).arg(path).args(arguments).output().expect("the Python named starts");
    assert!(ran.status.success(), "{script}: {}", String::from_utf8_lossy(&ran.stderr));
    let text = String::from_utf8_lossy(&ran.stdout).into_owned();
    text.lines()
        .filter_map(|line| {
            let (name, ms) = line.split_once('\t')?;
            Some((name.to_string(), ms.trim().parse().ok()?))
        })
        .collect()
}
