//! The chance that each check holds, given how well everything was measured.

use std::sync::atomic::{AtomicU32, Ordering};

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

use super::carpet::clearance::stands_on;
use super::{Boot, Check, Holds, Scorecard, Verdict, evaluate};
use crate::model::{Spot, Vector};

/// The card of a spot with the chance that each check holds (its margin isn't negative), and that
/// all of them do, over `runs` boots measured again with other errors.
///
/// Errors are independent and normal along each axis, with half the stated tolerance as standard
/// deviation, so that a tolerance covers 95 % of them. They move each body, mover, trim, anchor, leak
/// and line exit on its own, change each line's free length, and move the pump by its bench
/// tolerance; what the pump stands on moves with it, as its feet do. Water isn't flooded anew: the
/// pump's height over it gets an error of one tape measurement instead. Not varied: directions and
/// turns, drains, viewpoints, the usable boot space, the pump's own figures.
///
/// A check that a run leaves unknown does not hold in it. What isn't known to begin with has no chance,
/// and then neither has the spot. Intervals are Wilson's, 95 %.
///
/// Each run draws from its own stream of ChaCha8, so the threads' number and order reach no figure.
/// Cost: about one evaluation a run.
///
/// ```
/// let opened = dryberth::format::open_demo(None).unwrap();
/// let boot = opened.boot(&dryberth::checks::Boot::usual_options(&opened.layout)).unwrap();
/// let card = dryberth::checks::tolerance_runs(&boot, &opened.layout.spots[0], 2, 1);
/// assert!(card.check("tilt", "pump").unwrap().holds.is_some_and(|holds| holds.chance == 1.0));
/// ```
pub fn tolerance_runs(boot: &Boot, spot: &Spot, runs: u32, seed: u64) -> Scorecard {
    let (card, counts, _) = counted(boot, spot, (runs, seed), threads(), &|_| true);
    with_chances(card, &counts, runs)
}

/// As [`tolerance_runs`], and the same figures, for work beside a window: on all processors but one, telling
/// `go_on` after every run how many are done, from any thread. None when that said to stop; the runs that
/// have begun are still finished.
pub fn tolerance_runs_watched(
    boot: &Boot,
    spot: &Spot,
    runs: u32,
    seed: u64,
    go_on: &(dyn Fn(u32) -> bool + Sync),
) -> Option<Scorecard> {
    let threads = threads().saturating_sub(1).max(1);
    let (card, counts, done) = counted(boot, spot, (runs, seed), threads, go_on);
    (done == runs).then(|| with_chances(card, &counts, runs))
}

fn threads() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from).max(1)
}

/// The spot's card, in how many runs each of its checks held and last in how many all did, and how many runs
/// there were.
fn counted(
    boot: &Boot,
    spot: &Spot,
    (runs, seed): (u32, u64),
    threads: usize,
    go_on: &(dyn Fn(u32) -> bool + Sync),
) -> (Scorecard, Vec<u32>, u32) {
    let card = evaluate(boot, spot);
    let asked: Vec<Check> =
        card.headlines.iter().flat_map(|headline| &headline.checks).cloned().collect();
    let carriers = stands_on(boot, &boot.pump_at(&spot.place));
    let share = |thread: usize| (thread as u32..runs).step_by(threads);
    let done = AtomicU32::new(0);
    let (carriers, asked, done) = (&carriers, &asked, &done);
    // Counts only are added up, so it doesn't matter who counted what.
    let counts = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..threads)
            .map(|thread| {
                scope.spawn(move || {
                    let mut held = vec![0_u32; asked.len() + 1];
                    for run in share(thread) {
                        if !go_on(done.load(Ordering::Relaxed)) {
                            break;
                        }
                        let found = one_run(boot, spot, carriers, asked, seed, run);
                        held.iter_mut().zip(found).for_each(|(sum, held)| *sum += u32::from(held));
                        done.fetch_add(1, Ordering::Relaxed);
                    }
                    held
                })
            })
            .collect();
        let mut sums = vec![0_u32; asked.len() + 1];
        for worker in workers {
            // A run that broke off is a bug: without it the chances would be wrong and not say so.
            let held = worker.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic));
            sums.iter_mut().zip(held).for_each(|(sum, held)| *sum += held);
        }
        sums
    });
    (card, counts, done.load(Ordering::Relaxed))
}

fn with_chances(mut card: Scorecard, counts: &[u32], runs: u32) -> Scorecard {
    let checks = card.headlines.iter_mut().flat_map(|headline| &mut headline.checks);
    let mut known = true;
    for (check, held) in checks.zip(counts) {
        known &= check.margin.is_some();
        check.holds = check.margin.and_then(|_| Holds::of(*held, runs));
    }
    card.holds = counts.last().filter(|_| known).and_then(|held| Holds::of(*held, runs));
    card
}

/// Whether each check asked about holds in one run, and last, whether all do.
fn one_run(
    boot: &Boot,
    spot: &Spot,
    carriers: &[usize],
    asked: &[Check],
    seed: u64,
    run: u32,
) -> Vec<bool> {
    let mut source = ChaCha8Rng::seed_from_u64(seed);
    source.set_stream(u64::from(run));
    let (again, shift) = boot.measured_again(carriers, |tolerance_mm| {
        let mut one = || -> f64 { StandardNormal.sample(&mut source) };
        Vector::new(one(), one(), one()) * (tolerance_mm / 2.0)
    });
    let mut spot = spot.clone();
    spot.place.at += shift;
    let card = evaluate(&again, &spot);
    let mut held: Vec<bool> = asked.iter().map(|check| holds(check, &card)).collect();
    let every = card.verdict != Verdict::Fail && card.verdict != Verdict::Unknown;
    held.push(every);
    held
}

fn holds(asked: &Check, card: &Scorecard) -> bool {
    let well = |check: &Check| check.margin.is_some_and(|margin| margin >= 0.0);
    if let Some(found) = card.check(asked.id, &asked.subject) {
        return well(found);
    }
    match asked.id {
        // A body that isn't listed is farther away than is looked for, or carries the pump.
        "clearance" => true,
        // The fixing nearest to its reach stands for all.
        "fixing-length" => {
            let mut all = card.headlines.iter().flat_map(|headline| &headline.checks);
            all.any(|check| check.id == asked.id && well(check))
        }
        _ => false,
    }
}
