//! What is found of one line as laid, in figures and in words.

use super::route::Route;
use super::way::NoWay;
use super::{supply, usable_mm};
use crate::checks::{Boot, Check, Reading};
use crate::model::{Cable, Line, LineKind};
use crate::units::root_sum_of_squares;

/// Slack from which a line is comfortable, as a share of its free length. Common practice, no
/// source.
const COMFORTABLE_SLACK: f64 = 0.03;

fn tolerance_mm(boot: &Boot) -> f64 {
    let limits = &boot.layout().limits;
    root_sum_of_squares(&[limits.tape_mm, limits.bench_mm])
}

pub(super) fn slack_reading(boot: &Boot, line: &Line) -> Reading {
    Reading {
        id: "slack",
        subject: line.name.clone(),
        unit: "mm",
        limit: 0.0,
        comfort: (COMFORTABLE_SLACK * line.free_mm).max(15.0),
        tolerance: tolerance_mm(boot),
    }
}

pub(super) fn slack(boot: &Boot, line: &Line, route: &Route) -> Check {
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
    let middle = route.middle();
    let reading = slack_reading(boot, line);
    match (route.clear(), slack < 0.0) {
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

pub(super) fn gap(boot: &Boot, line: &Line, route: &Route) -> Check {
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
    let middle = route.middle();
    let through_pump = route.on_pump.as_ref().filter(|pump| pump.gap_mm < -1e-6);
    if let (Some(pump), false) = (through_pump, route.clear()) {
        let why = format!("no clear way found for {}: {} is in the way", line.name, pump.name);
        return reading.judge(pump.gap_mm, why, Some(pump.at));
    }
    if let Some(reason) = route.reason(line)
        && let Some(nearest) = &route.nearest
    {
        let figure = nearest.gap_mm.min(limit - 0.1);
        return reading.judge(figure, reason.0, Some(reason.1));
    }
    let along_pump = route
        .on_pump
        .as_ref()
        .map(|pump| format!("; it lies against {}: clip it there", pump.name))
        .unwrap_or_default();
    let Some(nearest) = &route.nearest else {
        if !route.clear() {
            let why = format!(
                "no clear way was found for {}, so what it would pass isn't known: look at where it leaves \
                 its exit and where it meets {}",
                line.name, line.to
            );
            return reading.unknown(why, middle);
        }
        let why = format!("nothing comes within 30 mm of {}{along_pump}", line.name);
        return reading.judge(limit + 30.0, why, middle);
    };
    let why = if route.clear() {
        format!(
            "{} passes {} at {:.1} mm; it needs {limit:.0} mm{along_pump}",
            line.name, nearest.name, nearest.gap_mm
        )
    } else if matches!(route.why_not, Some(NoWay::TooLong(_))) {
        format!(
            "{} is in the way of {}, and a way round would be longer still",
            nearest.name, line.name
        )
    } else if nearest.gap_mm < 0.0 {
        format!("no clear way found for {}: {} is in the way", line.name, nearest.name)
    } else {
        format!("no way found for {} that keeps {limit:.0} mm from {}", line.name, nearest.name)
    };
    // A clear way may miss its gap by a rounding error only; without one nothing is kept.
    let figure = match (route.clear(), &route.why_not) {
        (true, _) => nearest.gap_mm.max(limit),
        (false, Some(NoWay::TooLong(_))) => nearest.gap_mm,
        (false, _) => nearest.gap_mm.min(limit - 0.1),
    };
    reading.judge(figure, why, Some(nearest.at))
}

pub(super) fn spare(boot: &Boot, line: &Line, route: &Route) -> Check {
    let limit = boot.layout().limits.spare_mm;
    let spare = (line.free_mm - route.curve.length_mm).max(0.0);
    let why = if spare > limit {
        format!("{} has {spare:.0} mm to spare: more than can be clipped up", line.name)
    } else {
        format!("{} has {spare:.0} mm to spare, to be clipped up", line.name)
    };
    let middle = route.middle();
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

/// The longest run between supports: exit, clips, fitting. A run that calls for a clip is tight, and fails
/// where one clip in its middle would not do. Source: ISO 10133 practice, support every 450 mm.
pub(super) fn span(boot: &Boot, line: &Line, route: &Route, spot: &str) -> Check {
    let limit = boot.layout().limits.span_mm;
    let longest = route.spans_mm.iter().copied().fold(0.0, f64::max);
    let missing =
        line.clips.iter().filter(|clip| clip.spot.as_deref().is_none_or(|own| own == spot));
    let missing = missing
        .map(|clip| &clip.anchor)
        .find(|name| !boot.anchors().any(|anchor| anchor.name == **name));
    let why = if let Some(missing) = missing {
        format!(
            "{} runs {longest:.0} mm between supports; its clip's anchor {missing} isn't on this car",
            line.name
        )
    } else if longest > limit {
        format!(
            "{} runs {longest:.0} mm without support; a clip is called for every {limit:.0} mm",
            line.name
        )
    } else {
        format!("{} runs {longest:.0} mm between supports, at most {limit:.0} mm", line.name)
    };
    // One more clip mends it: up to twice the run it is tight, whatever it was measured to.
    let reading = Reading {
        id: "span",
        subject: line.name.clone(),
        unit: "mm",
        limit: 2.0 * limit,
        comfort: limit,
        tolerance: limit,
    };
    // A clip that isn't there holds nothing: the run is as good as one too long.
    let figure = if missing.is_some() { longest.max(limit + 0.1) } else { longest };
    reading.judge(figure, why, route.middle())
}

pub(super) fn volts(boot: &Boot, line: &Line, cable: &Cable) -> Check {
    let pump = boot.pump();
    let loop_mohm = supply::loop_mohm(cable, line);
    let running_a = supply::running_a(pump, line);
    let lost = running_a * loop_mohm / 1000.0;
    let stalled = (pump.stall_a * loop_mohm / 1000.0).min(cable.supply_v);
    let limit = boot.layout().limits.volt_drop_pct;
    let percent = 100.0 * lost / cable.supply_v;
    let why = format!(
        "{}: {:.1} A running loses {lost:.2} V of {:.1} V over {:.1} m of {} mm² and its joints; \
         stalled at {:.0} A it would lose {stalled:.2} V",
        line.name,
        running_a,
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
    if let Some((read_mohm, copper_mohm)) = supply::too_good_mohm(cable, line) {
        let why = format!(
            "{}: the reading at the plug says {read_mohm:.1} mΩ from supply to pump, but {} mm² of copper \
             alone has {copper_mohm:.1}; read the volts at the supply and at the plug again, with the pump \
             running",
            line.name, cable.area_mm2
        );
        return reading.unknown(why, Some(line.from.at));
    }
    reading.judge(percent, why, Some(line.from.at))
}
