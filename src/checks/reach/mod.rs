//! Headline reach: do hoses, cable and release cord get from their exits to the pump?

mod along;
mod curve;
mod details;
mod route;
mod volts;

pub use curve::{Curve, End, arc_straight_arc, rounded, unobstructed};
pub use details::ReachDetails;
pub use volts::{conductor_mohm_m, volts_lost};

use super::{Boot, Check, DrawnLine, Reading, Verdict};
use crate::geometry::Solid;
use crate::model::{Cable, Line, LineKind, Pose};
use crate::units::root_sum_of_squares;

/// Slack from which a line is comfortable, as a share of its free length. Common practice, no
/// source.
const COMFORTABLE_SLACK: f64 = 0.03;

/// The checks of the reach headline, and the lines as routed.
pub(crate) fn check(boot: &Boot, pump: &[Solid], pose: &Pose) -> (Vec<Check>, Vec<DrawnLine>) {
    let mut checks = Vec::new();
    let mut drawn = Vec::new();
    for line in boot.lines() {
        let (found, way) = check_line(boot, pump, pose, line);
        checks.extend(found);
        drawn.extend(way);
    }
    if checks.is_empty() {
        let reading = Reading {
            id: "slack",
            subject: "lines".to_string(),
            unit: "mm",
            limit: 0.0,
            comfort: 15.0,
            tolerance: 0.0,
        };
        let why = "no hose, cable or release cord was measured".to_string();
        checks.push(reading.unknown(why, None));
    }
    (checks, drawn)
}

/// What one line's route and checks come to.
fn check_line(
    boot: &Boot,
    pump: &[Solid],
    pose: &Pose,
    line: &Line,
) -> (Vec<Check>, Option<DrawnLine>) {
    let mut checks = Vec::new();
    let port = boot.pump().ports.iter().find(|port| port.name == line.to);
    let route = port.and_then(|port| {
        let end = End { at: pose * port.at, towards: (pose * port.towards).try_normalize(1e-9)? };
        route::route(boot, pump, line, &end)
    });
    let drawn = route.as_ref().map(|route| DrawnLine {
        name: line.name.clone(),
        centreline: route.curve.points.clone(),
        radius_mm: line.od_mm / 2.0,
        verdict: Verdict::Pass,
    });
    match &route {
        Some(route) => {
            checks.push(slack(boot, line, route));
            checks.push(gap(boot, line, route));
            if route.clear {
                checks.push(spare(boot, line, route));
            }
        }
        None => {
            let why = match port {
                Some(_) => format!(
                    "{} can't leave its exit and meet {} with bends of {:.0} mm: the ends are too \
                     close; turn the pump or move it away",
                    line.name,
                    line.to,
                    line.bend_centre_mm()
                ),
                None => format!("the pump has no port `{}`", line.to),
            };
            checks.push(slack_reading(boot, line).unknown(why, Some(line.from.at)));
        }
    }
    if let LineKind::Cable(cable) = &line.kind {
        checks.push(volts(boot, line, cable));
    }
    let verdict = checks.iter().map(|check| check.verdict).fold(Verdict::Pass, Verdict::worse);
    (checks, drawn.map(|drawn| DrawnLine { verdict, ..drawn }))
}

/// The longest way that a line's free length allows: hoses shorten under pressure.
fn usable_mm(boot: &Boot, line: &Line) -> f64 {
    match line.kind {
        LineKind::Hose => line.free_mm * (1.0 - boot.layout().limits.hose_shortening_pct / 100.0),
        LineKind::Cable(_) | LineKind::Cord => line.free_mm,
    }
}

fn tolerance_mm(boot: &Boot) -> f64 {
    let limits = &boot.layout().limits;
    root_sum_of_squares(&[limits.tape_mm, limits.bench_mm])
}

fn slack_reading(boot: &Boot, line: &Line) -> Reading {
    Reading {
        id: "slack",
        subject: line.name.clone(),
        unit: "mm",
        limit: 0.0,
        comfort: (COMFORTABLE_SLACK * line.free_mm).max(15.0),
        tolerance: tolerance_mm(boot),
    }
}

fn slack(boot: &Boot, line: &Line, route: &route::Route) -> Check {
    let usable = usable_mm(boot, line);
    let needed = route.curve.length_mm;
    let slack = usable - needed;
    let shortened = if matches!(line.kind, LineKind::Hose) {
        format!(
            " ({:.0} mm less {} % under pressure)",
            line.free_mm,
            boot.layout().limits.hose_shortening_pct
        )
    } else {
        String::new()
    };
    let bends = format!(
        "bends of {:.0} mm turning {:.0}° in all",
        line.bend_centre_mm(),
        route.curve.turn_deg
    );
    let middle = route.curve.points.get(route.curve.points.len() / 2).copied();
    let reading = slack_reading(boot, line);
    match (route.clear, slack < 0.0) {
        (true, true) => {
            let why = format!(
                "the way found for {} needs {needed:.0} mm with {bends}, it has {usable:.0} \
                 mm{shortened}: {:.0} mm too short",
                line.name, -slack
            );
            reading.judge(slack, why, middle)
        }
        (true, false) => {
            let why = format!(
                "{} needs {needed:.0} mm with {bends}, has {usable:.0} mm{shortened}",
                line.name
            );
            reading.judge(slack, why, middle)
        }
        // Something is in the way of the free way, so the true way is longer still.
        (false, true) => {
            let why = format!(
                "{} needs at least {needed:.0} mm with {bends}, has {usable:.0} mm{shortened}: at least \
                 {:.0} mm too short",
                line.name, -slack
            );
            reading.judge(slack, why, middle)
        }
        (false, false) => {
            let why = format!(
                "no clear way was found for {}, so the length it needs isn't known: at least \
                 {needed:.0} mm of the {usable:.0} mm it has{shortened}",
                line.name
            );
            reading.unknown(why, middle)
        }
    }
}

fn gap(boot: &Boot, line: &Line, route: &route::Route) -> Check {
    let usual_mm = boot.layout().limits.gap_line_mm;
    let limit = route.nearest.as_ref().map_or(usual_mm, |nearest| nearest.required_mm);
    let reading = Reading {
        id: "line-gap",
        subject: line.name.clone(),
        unit: "mm",
        limit,
        // The shortest way hugs what it passes, and it is ours to lay: keeping the gap is enough.
        comfort: limit,
        tolerance: 0.0,
    };
    let middle = route.curve.points.get(route.curve.points.len() / 2).copied();
    let through_pump = route.on_pump.as_ref().filter(|pump| pump.gap_mm < -1e-6);
    if let (Some(pump), false) = (through_pump, route.clear) {
        let why = format!("no clear way found for {}: {} is in the way", line.name, pump.name);
        return reading.judge(pump.gap_mm, why, Some(pump.at));
    }
    let along_pump = route
        .on_pump
        .as_ref()
        .map(|pump| format!("; it lies against {}: clip it there", pump.name))
        .unwrap_or_default();
    let Some(nearest) = &route.nearest else {
        let why = format!("nothing comes within 30 mm of {}{along_pump}", line.name);
        return reading.judge(limit + 30.0, why, middle);
    };
    let why = if route.clear {
        format!(
            "{} passes {} at {:.1} mm; it needs {limit:.0} mm{along_pump}",
            line.name, nearest.name, nearest.gap_mm
        )
    } else if !route.searched {
        format!(
            "{} is in the way of {}, and a way round would be longer still",
            nearest.name, line.name
        )
    } else if nearest.gap_mm < 0.0 {
        format!("no clear way found for {}: {} is in the way", line.name, nearest.name)
    } else {
        format!("no way found for {} that keeps {limit:.0} mm from {}", line.name, nearest.name)
    };
    // A clear way may miss its gap by a rounding error only.
    let figure = if route.clear { nearest.gap_mm.max(limit) } else { nearest.gap_mm };
    reading.judge(figure, why, Some(nearest.at))
}

fn spare(boot: &Boot, line: &Line, route: &route::Route) -> Check {
    let limit = boot.layout().limits.spare_mm;
    let spare = (line.free_mm - route.curve.length_mm).max(0.0);
    let why = if spare > limit {
        format!("{} has {spare:.0} mm to spare: more than can be clipped up", line.name)
    } else {
        format!("{} has {spare:.0} mm to spare, to be clipped up", line.name)
    };
    let middle = route.curve.points.get(route.curve.points.len() / 2).copied();
    let reading = Reading {
        id: "spare",
        subject: line.name.clone(),
        unit: "mm",
        limit,
        comfort: limit / 2.0,
        tolerance: tolerance_mm(boot),
    };
    reading.judge(spare, why, middle)
}

fn volts(boot: &Boot, line: &Line, cable: &Cable) -> Check {
    let pump = boot.pump();
    let lost = volts_lost(cable, line.free_mm, pump.running_a);
    let stalled = volts_lost(cable, line.free_mm, pump.stall_a);
    let limit = boot.layout().limits.volt_drop_pct;
    let percent = 100.0 * lost / cable.supply_v;
    let why = format!(
        "{}: {:.1} A running loses {lost:.2} V of {:.1} V over {:.1} m of {} mm² and its joints; \
         stalled at {:.0} A it would lose {stalled:.2} V",
        line.name,
        pump.running_a,
        cable.supply_v,
        (cable.upstream_mm + line.free_mm) / 1000.0,
        cable.area_mm2,
        pump.stall_a,
    );
    let reading = Reading {
        id: "volts",
        subject: line.name.clone(),
        unit: "%",
        limit,
        comfort: limit / 2.0,
        tolerance: 0.1,
    };
    reading.judge(percent, why, Some(line.from.at))
}
