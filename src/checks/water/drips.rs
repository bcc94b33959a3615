//! How near drips from a leak come to a live part.

use super::LivePoint;
use super::cases::SLOPES;
use super::tracks::{DripTrack, Follow};
use crate::checks::{Boot, Check, Reading};
use crate::geometry::Solid;
use crate::model::{Part, Point};
use crate::units::root_sum_of_squares;

/// Room beyond the limit from which it is comfortable, mm. Common practice, no source.
const COMFORTABLE_MM: f64 = 50.0;

/// The nearest that a track comes to a live part.
struct Nearest<'a> {
    distance_mm: f64,
    track: &'a DripTrack,
    part: &'a str,
    at: Point,
    /// Whether it is a fall that comes so near, from above.
    falling: bool,
}

/// The tracks that the pump turns aside: they fall onto it, run down its faces and drip off its edge, or
/// run down the floor against it. By leak, then slope; those that pass it by are as [`Boot::drips`] has
/// them.
///
/// Cost: a box and a few rays for each fall, and the way anew for those that it meets.
pub(super) fn turned_aside(boot: &Boot, pump: &[Solid]) -> Vec<DripTrack> {
    let Some(water) = boot.waters() else { return Vec::new() };
    let tracks = boot.drips().iter();
    tracks
        .filter_map(|track| {
            let up = SLOPES.get(track.slope)?.up();
            Follow { layout: boot.layout(), bodies: &boot.bodies, water, up, pump }.aside(track)
        })
        .collect()
}

/// The nearest that any drip, falling from its leak and running down whatever lies under it, the pump
/// too, comes to a live part below the leak, over every parked slope. One that runs over the plug or the
/// motor, or down the floor against it, has come to it.
pub(super) fn check(boot: &Boot, live: &[LivePoint], aside: &[DripTrack]) -> Check {
    let limits = &boot.layout().limits;
    let reading = Reading {
        id: "drips",
        subject: "leaks".to_string(),
        unit: "mm",
        limit: limits.drip_mm,
        comfort: limits.drip_mm + COMFORTABLE_MM,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]),
    };
    let leaks = &boot.layout().leaks;
    if boot.floor().is_none() || leaks.is_empty() {
        return reading.unknown("no leak point was measured: hose the seals and look".into(), None);
    }
    let mut nearest: Option<Nearest> = None;
    for track in boot.drips_with(aside) {
        let up = SLOPES[track.slope].up();
        let leak_mm = up.dot(&leaks[track.leak].at.coords);
        for point in live.iter().filter(|point| up.dot(&point.at.coords) <= leak_mm) {
            let least_mm = nearest.as_ref().map_or(f64::INFINITY, |nearest| nearest.distance_mm);
            if let Some((distance_mm, falling)) = track.nearer_than(&point.at, least_mm) {
                let (part, at) = (point.part, point.at);
                nearest = Some(Nearest { distance_mm, track, part, at, falling });
            }
        }
        let dry = nearest.as_ref().is_none_or(|nearest| nearest.distance_mm > 0.0);
        if let Some((part, at, _)) = over_live(boot, track).filter(|_| dry) {
            nearest = Some(Nearest { distance_mm: 0.0, track, part, at, falling: false });
        }
    }
    match nearest {
        Some(Nearest { distance_mm, track, part, at, falling }) => {
            let (leak, slope) = (&leaks[track.leak].name, SLOPES[track.slope].words);
            let over = track.on_pump.iter().any(|(point, _)| !track.at_feet(*point));
            let why = if distance_mm <= 0.0 && !track.on_pump.is_empty() {
                let way = match over_live(boot, track) {
                    Some((.., true)) => "run down the floor against",
                    _ => "run over",
                };
                format!("drips from {leak} {way} the pump's {part} {slope}: shield it")
            } else {
                let shielded = if falling && distance_mm < limits.drip_mm {
                    "; nothing shields it"
                } else {
                    ""
                };
                let by = if over { "land on the pump and " } else { "" };
                format!(
                    "drips from {leak} {by}come within {distance_mm:.0} mm of {part} {slope}{shielded}"
                )
            };
            reading.judge(distance_mm, why, Some(at))
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

/// The first plug or motor of the pump that a track runs over or against, where, and whether it is against.
fn over_live<'a>(boot: &'a Boot, track: &DripTrack) -> Option<(&'a str, Point, bool)> {
    track.on_pump.iter().find_map(|&(point, solid)| {
        let solid = boot.pump().solids.get(solid)?;
        let at = *track.points.get(point)?;
        let live = matches!(solid.part, Part::Plug | Part::Motor);
        live.then_some((solid.name.as_str(), at, track.at_feet(point)))
    })
}

impl DripTrack {
    /// Whether a point where it comes to the pump lies on its way down the floor.
    fn at_feet(&self, point: usize) -> bool {
        point > 0 && self.over_floor(point) && self.over_floor(point - 1)
    }

    /// Distance from a point, mm, and whether a fall is what comes nearest; none when it isn't less
    /// than `least_mm`.
    fn nearer_than(&self, point: &Point, least_mm: f64) -> Option<(f64, bool)> {
        let mut found: Option<(f64, bool)> = None;
        let mut least = least_mm;
        for (index, piece) in self.points.windows(2).enumerate() {
            let along = piece[1] - piece[0];
            let share = if along.norm_squared() > 0.0 {
                ((point - piece[0]).dot(&along) / along.norm_squared()).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let distance_mm = (point - (piece[0] + along * share)).norm();
            if distance_mm < least {
                least = distance_mm;
                found = Some((distance_mm, self.falls.contains(&index)));
            }
        }
        found
    }
}
