//! Where drips from a leak fall and run, and how near that comes to a live part.

use super::LivePoint;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::HeightGrid;
use crate::model::{Leak, Point};
use crate::units::root_sum_of_squares;

/// Distance to keep from a drip's track, mm. Common practice, no source.
const LIMIT_MM: f64 = 30.0;

/// Distance from which it is comfortable, mm. Common practice, no source.
const COMFORT_MM: f64 = 80.0;

/// The nearest that any drip, falling from its leak and running down the floor on level ground,
/// comes to a live part below the leak.
pub(super) fn check(boot: &Boot, live: &[LivePoint]) -> Check {
    let limits = &boot.layout().limits;
    let reading = Reading {
        id: "drips",
        subject: "leaks".to_string(),
        unit: "mm",
        limit: LIMIT_MM,
        comfort: COMFORT_MM,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]),
    };
    let leaks = &boot.layout().leaks;
    let (Some(grid), false) = (boot.floor(), leaks.is_empty()) else {
        return reading.unknown("no leak point was measured: hose the seals and look".into(), None);
    };
    let mut nearest: Option<(f64, &Leak, &LivePoint)> = None;
    for leak in leaks {
        let track = track(boot, grid, leak);
        for point in live.iter().filter(|point| point.at.z <= leak.at.z) {
            let distance_mm = distance_to_track(&track, &point.at);
            if nearest.is_none_or(|(least, ..)| distance_mm < least) {
                nearest = Some((distance_mm, leak, point));
            }
        }
    }
    match nearest {
        Some((distance_mm, leak, point)) => {
            let why = format!(
                "drips from {} come within {distance_mm:.0} mm of {}",
                leak.name, point.part
            );
            reading.judge(distance_mm, why, Some(point.at))
        }
        None => {
            let at = live.first().map(|point| point.at);
            if at.is_none() {
                return reading.unknown("the pump's file lists no live part".into(), None);
            }
            reading.judge(1000.0, "every live part is above every leak".to_string(), at)
        }
    }
}

/// The fall from the leak to the floor, then the steepest way down, cell by cell, to a pool, a hollow
/// or a drain.
fn track(boot: &Boot, grid: &HeightGrid, leak: &Leak) -> Vec<Point> {
    let mut track = vec![leak.at];
    let floor = grid.cell(leak.at.x, leak.at.y).filter(|cell| grid.height_mm[*cell].is_finite());
    let Some(mut cell) = floor else {
        // No floor was measured there: it falls past everything.
        track.push(leak.at - crate::model::Vector::z() * 2_000.0);
        return track;
    };
    track.push(Point::new(leak.at.x, leak.at.y, grid.height_mm[cell].min(leak.at.z)));
    let level = boot.water().first();
    loop {
        let here = grid.height_mm[cell];
        if level.is_some_and(|case| case.floods.depth_mm(cell) > 0.1) {
            return track;
        }
        let lowest = grid
            .neighbours(cell)
            .filter(|&next| grid.height_mm[next].is_finite() && grid.height_mm[next] < here)
            .min_by(|&a, &b| grid.height_mm[a].total_cmp(&grid.height_mm[b]));
        match lowest {
            Some(next) => {
                cell = next;
                track.push(grid.centre(cell));
            }
            None => return track,
        }
    }
}

fn distance_to_track(track: &[Point], point: &Point) -> f64 {
    let to_piece = |from: &Point, to: &Point| {
        let along = to - from;
        let share = if along.norm_squared() > 0.0 {
            ((point - from).dot(&along) / along.norm_squared()).clamp(0.0, 1.0)
        } else {
            0.0
        };
        (point - (from + along * share)).norm()
    };
    match track {
        [only] => (point - only).norm(),
        _ => track
            .windows(2)
            .map(|piece| to_piece(&piece[0], &piece[1]))
            .fold(f64::INFINITY, f64::min),
    }
}
