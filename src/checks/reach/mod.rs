//! Headline reach: do hoses, cable and release cord get from their exits to the pump?

mod advice;
mod along;
mod cells;
mod corners;
mod curve;
mod details;
mod findings;
mod laying;
mod order;
mod release;
mod room;
mod route;
mod search;
mod supply;
mod taut;
mod volts;
mod way;

pub use curve::{Curve, End, arc_straight_arc, rounded, unobstructed};
pub use details::{CutItem, LineDetails, ReachDetails};
pub use room::Near;
pub use supply::{FUSE_FACTOR, Supply, enough_mm2, fuse_a};
pub use volts::{conductor_mohm_m, volts_lost};
pub use way::{NoWay, Wanted, shortest_way};

use super::{Boot, Check, DrawnLine, Reading, Verdict};
use crate::geometry::{Pile, Solid};
use crate::model::{Line, LineKind, Pose};
use findings::{gap, slack, slack_reading, span, spare, volts};
use laying::{Laid, Standing};

/// The checks of the reach headline, and the lines as routed.
pub(crate) fn check(
    boot: &Boot,
    pump: &[Solid],
    pose: &Pose,
    spot: &str,
    mut details: Option<&mut ReachDetails>,
) -> (Vec<Check>, Vec<DrawnLine>) {
    let mut checks = Vec::new();
    let mut drawn = Vec::new();
    let pile = Pile::of(pump.iter().map(|solid| (solid, 0.0)));
    let standing = Standing { boot, pump, pile: &pile, pose, spot };
    for laid in laying::laid(&standing) {
        let (found, way) = check_line(&standing, &laid, details.as_deref_mut());
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
    standing: &Standing,
    laid: &Laid,
    details: Option<&mut ReachDetails>,
) -> (Vec<Check>, Option<DrawnLine>) {
    let Standing { boot, pump, pose, spot, .. } = *standing;
    let (line, route) = (laid.line, &laid.route);
    let mut checks = Vec::new();
    let port = boot.pump().ports.iter().find(|port| port.name == line.to);
    let drawn = route.as_ref().map(|route| DrawnLine {
        name: line.name.clone(),
        centreline: route.curve.points.clone(),
        radius_mm: line.od_mm / 2.0,
        verdict: Verdict::Pass,
    });
    match route {
        Some(route) => {
            checks.push(slack(boot, line, route));
            checks.push(gap(boot, line, route));
            if route.clear() {
                checks.push(spare(boot, line, route));
                checks.push(span(boot, line, route, spot));
                checks.extend(release::release(boot, pump, pose, line, route));
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
    if let Some(details) = details {
        add_details(standing, laid, details);
    }
    let verdict = checks.iter().map(|check| check.verdict).fold(Verdict::Pass, Verdict::worse);
    (checks, drawn.map(|drawn| DrawnLine { verdict, ..drawn }))
}

fn add_details(standing: &Standing, laid: &Laid, to: &mut ReachDetails) {
    let boot = standing.boot;
    let limits = &boot.layout().limits;
    let (line, route) = (laid.line, laid.route.as_ref());
    let usable_mm = usable_mm(boot, line);
    let clear = route.filter(|route| route.clear());
    // What is too long with nothing in the way needs that much at least.
    let told =
        route.filter(|route| route.clear() || matches!(route.why_not, Some(NoWay::TooLong(_))));
    let needed_mm = told.map(|route| route.curve.length_mm);
    let slack_mm = needed_mm.map(|needed| usable_mm - needed);
    let short_mm = slack_mm.map_or(0.0, |slack| (-slack).max(0.0));
    let tightest = route.and_then(|route| route.curve.tightest());
    let nearest = route.and_then(|route| route.nearest.as_ref());
    let on_sharp_edge = nearest.is_some_and(|nearest| match nearest.near {
        Near::Body(solid) => boot.field_sharp(solid) && nearest.gap_mm < limits.gap_sharp_mm,
        _ => false,
    });
    let (first, last) = route.map_or((0.0, 0.0), |route| route.curve.end_turns_deg());
    let supply = supply::supply(line, boot.pump(), limits.volt_drop_pct, short_mm);
    let running_a = supply::running_a(boot.pump(), line);
    let spans_mm = clear.map(|route| route.spans_mm.clone()).unwrap_or_default();
    to.lines.push(LineDetails {
        name: line.name.clone(),
        needed_mm,
        usable_mm,
        slack_mm,
        slack_pct: slack_mm.map(|slack| 100.0 * slack / line.free_mm),
        smallest_radius_mm: tightest.map(|(radius, _)| radius),
        smallest_radius_at: tightest.map(|(_, at)| [at.x, at.y, at.z]),
        smallest_gap_mm: nearest.map(|nearest| nearest.gap_mm),
        nearest: nearest.map(|nearest| nearest.name.clone()),
        on_sharp_edge,
        angle_at_exit_deg: first,
        angle_at_fitting_deg: last,
        longest_span_mm: spans_mm.iter().copied().reduce(f64::max),
        supply_words: supply.as_ref().map(|it| it.words(running_a, limits.volt_drop_pct)),
        supply,
        advice: if slack_mm.is_none_or(|slack| slack < 0.0) {
            advice::advice(standing, laid, short_mm)
        } else {
            Vec::new()
        },
    });
    if let Some(needed_mm) = needed_mm {
        to.cut_list.extend(order::cut_list(line, needed_mm, &spans_mm, limits, on_sharp_edge));
    }
}

/// The longest way that a line's free length allows: hoses shorten under pressure.
fn usable_mm(boot: &Boot, line: &Line) -> f64 {
    match line.kind {
        LineKind::Hose => line.free_mm * (1.0 - boot.layout().limits.hose_shortening_pct / 100.0),
        LineKind::Cable(_) | LineKind::Cord => line.free_mm,
    }
}
