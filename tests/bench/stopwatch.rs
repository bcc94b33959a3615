//! Medians of wall-clock times, and a table of them.

use std::hint::black_box;
use std::time::{Duration, Instant};

/// One way of doing a thing, and how long it took.
pub(crate) struct Row {
    name: &'static str,
    median_ms: f64,
    quartiles_ms: (f64, f64),
    rounds: usize,
}

/// Does `work` for about `budget`, at least 5 times after one to warm up.
pub(crate) fn timed<T>(name: &'static str, budget: Duration, mut work: impl FnMut() -> T) -> Row {
    black_box(work());
    let started = Instant::now();
    let mut times_ms = Vec::new();
    while times_ms.len() < 5 || started.elapsed() < budget {
        let one = Instant::now();
        black_box(work());
        times_ms.push(one.elapsed().as_secs_f64() * 1e3);
    }
    times_ms.sort_by(f64::total_cmp);
    let at = |part: f64| times_ms[((times_ms.len() - 1) as f64 * part).round() as usize];
    Row { name, median_ms: at(0.5), quartiles_ms: (at(0.25), at(0.75)), rounds: times_ms.len() }
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
            "{:<62} {:>10.3} {:>9.3}–{:<9.3} {:>7} {:>8.2}",
            row.name,
            row.median_ms,
            row.quartiles_ms.0,
            row.quartiles_ms.1,
            row.rounds,
            row.median_ms / rows[0].median_ms
        );
    }
}
