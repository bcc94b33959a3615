//! Medians of wall-clock times, and a table of them.

use std::hint::black_box;
use std::time::{Duration, Instant};

/// One way of doing a thing, and how long it took.
pub(crate) struct Row {
    name: String,
    median_ms: f64,
    quartiles_ms: (f64, f64),
    rounds: usize,
}

/// Does `work` for about `budget`, at least 5 times after one to warm up.
#[allow(dead_code, reason = "benches of slow things take fewer rounds")]
pub(crate) fn timed<T>(name: &str, budget: Duration, work: impl FnMut() -> T) -> Row {
    timed_at_least(5, name, budget, work)
}

/// Does `work` once, cold, and gives back what it made: for what takes many seconds.
#[allow(dead_code, reason = "only benches of very slow things need it")]
pub(crate) fn once<T>(name: &str, work: impl FnOnce() -> T) -> (Row, T) {
    let started = Instant::now();
    let made = work();
    let median_ms = started.elapsed().as_secs_f64() * 1e3;
    let row =
        Row { name: name.to_string(), median_ms, quartiles_ms: (median_ms, median_ms), rounds: 1 };
    (row, made)
}

/// Does `work` for about `budget`, at least `least` times after one to warm up.
pub(crate) fn timed_at_least<T>(
    least: usize,
    name: &str,
    budget: Duration,
    mut work: impl FnMut() -> T,
) -> Row {
    black_box(work());
    let started = Instant::now();
    let mut times_ms = Vec::new();
    while times_ms.len() < least || started.elapsed() < budget {
        let one = Instant::now();
        black_box(work());
        times_ms.push(one.elapsed().as_secs_f64() * 1e3);
    }
    times_ms.sort_by(f64::total_cmp);
    let at = |part: f64| times_ms[((times_ms.len() - 1) as f64 * part).round() as usize];
    Row {
        name: name.to_string(),
        median_ms: at(0.5),
        quartiles_ms: (at(0.25), at(0.75)),
        rounds: times_ms.len(),
    }
}

/// A median that something else measured, ms.
#[allow(dead_code, reason = "only benches with referees in Python take figures in")]
pub(crate) fn given(name: String, median_ms: f64) -> Row {
    Row { name, median_ms, quartiles_ms: (median_ms, median_ms), rounds: 0 }
}

/// The same for one of `count` things done in each round.
#[allow(dead_code, reason = "only benches of many like things need it")]
pub(crate) fn per(mut row: Row, count: f64) -> Row {
    row.median_ms /= count;
    row.quartiles_ms = (row.quartiles_ms.0 / count, row.quartiles_ms.1 / count);
    row
}

/// Prints the rows; each one's ratio is to the first of them.
pub(crate) fn print(title: &str, rows: &[Row]) {
    println!("\n{title}");
    println!(
        "{:<62} {:>10} {:>19} {:>7} {:>8}",
        "", "median ms", "quartiles ms", "rounds", "ratio"
    );
    for row in rows {
        println!(
            "{:<62} {:>10.4} {:>9.4}–{:<9.4} {:>7} {:>8.2}",
            row.name,
            row.median_ms,
            row.quartiles_ms.0,
            row.quartiles_ms.1,
            row.rounds,
            row.median_ms / rows[0].median_ms
        );
    }
}
