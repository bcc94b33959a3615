//! Headline reach: do hoses, cable and release cord get from their exits to the pump?

mod along;
mod cells;
mod corners;
mod curve;
mod details;
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
use crate::geometry::{Pile, Rod, RodTree, Solid};
use crate::model::{Cable, Line, LineKind, Pose, Vector};
use crate::units::root_sum_of_squares;
use route::Quest;

/// Slack from which a line is comfortable, as a share of its free length. Common practice, no
/// source.
const COMFORTABLE_SLACK: f64 = 0.03;

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
    let mut rods: Vec<Rod> = Vec::new();
    for (index, line) in boot.numbered_lines() {
        let laid = RodTree::of(rods.clone());
        let asked = Asked { boot, pump, pile: &pile, laid: &laid, pose, spot };
        let (found, way) = asked.check_line(line, details.as_deref_mut());
        checks.extend(found);
        if let Some(way) = &way
            && way.verdict != Verdict::Unknown
        {
            rods.extend(way.centreline.windows(2).map(|pair| Rod {
                from: pair[0],
                to: pair[1],
                radius_mm: way.radius_mm,
                owner: index,
            }));
        }
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

/// What the lines of one spot have in common.
#[derive(Clone, Copy)]
struct Asked<'a> {
    boot: &'a Boot,
    pump: &'a [Solid],
    pile: &'a Pile,
    laid: &'a RodTree,
    pose: &'a Pose,
    spot: &'a str,
}

impl Asked<'_> {
    fn route(&self, line: &Line) -> Option<route::Route> {
        let port = self.boot.pump().ports.iter().find(|port| port.name == line.to)?;
        let towards = (self.pose * port.towards).try_normalize(1e-9)?;
        let end = End { at: self.pose * port.at, towards };
        Quest::new(self.boot, self.pump, self.pile, self.laid, line, &end, self.spot)?.route()
    }

    /// What one line's route and checks come to.
    fn check_line(
        &self,
        line: &Line,
        details: Option<&mut ReachDetails>,
    ) -> (Vec<Check>, Option<DrawnLine>) {
        let boot = self.boot;
        let mut checks = Vec::new();
        let port = boot.pump().ports.iter().find(|port| port.name == line.to);
        let route = self.route(line);
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
                if route.clear() {
                    checks.push(spare(boot, line, route));
                    checks.push(span(boot, line, route, self.spot));
                    checks.extend(release::release(boot, self.pump, self.pose, line, route));
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
            self.add_details(line, route.as_ref(), details);
        }
        let verdict = checks.iter().map(|check| check.verdict).fold(Verdict::Pass, Verdict::worse);
        (checks, drawn.map(|drawn| DrawnLine { verdict, ..drawn }))
    }

    fn add_details(&self, line: &Line, route: Option<&route::Route>, to: &mut ReachDetails) {
        let (boot, limits) = (self.boot, &self.boot.layout().limits);
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
                self.advice(line, short_mm)
            } else {
                Vec::new()
            },
        });
        if let Some(needed_mm) = needed_mm {
            to.cut_list.extend(order::cut_list(line, needed_mm, &spans_mm, limits, on_sharp_edge));
        }
    }

    /// What would let a failing line reach, each tried: a longer line, the pump turned where it stands,
    /// the exit clip moved.
    fn advice(&self, line: &Line, short_mm: f64) -> Vec<String> {
        let mut advice = Vec::new();
        if short_mm > 0.0 {
            let shortens = usable_mm(self.boot, line) / line.free_mm;
            let longer_mm = (short_mm / shortens / 5.0).ceil() * 5.0;
            advice.push(format!("a line {longer_mm:.0} mm longer would reach"));
        }
        let reaches = |asked: &Asked, line: &Line| {
            asked.route(line).is_some_and(|route| {
                route.clear() && route.curve.length_mm <= usable_mm(self.boot, line)
            })
        };
        let up = Vector::z_axis();
        let turned = [10.0, -10.0, 20.0, -20.0, 45.0, -45.0, 90.0, -90.0, 180.0_f64].into_iter();
        let found = turned.into_iter().find(|turn_deg| {
            let about = self.pose.translation.vector;
            let turn = nalgebra::UnitQuaternion::from_axis_angle(&up, turn_deg.to_radians());
            let by = Pose::from_parts((about - turn * about).into(), turn);
            let pump: Vec<Solid> = self.pump.iter().map(|solid| solid.moved(&by)).collect();
            let pile = Pile::of(pump.iter().map(|solid| (solid, 0.0)));
            let pose = by * self.pose;
            reaches(&Asked { pump: &pump, pile: &pile, pose: &pose, ..*self }, line)
        });
        if let Some(turn_deg) = found {
            let side = if turn_deg > 0.0 { "left" } else { "right" };
            advice.push(format!(
                "with the pump turned {:.0}° to the {side} it would reach",
                turn_deg.abs()
            ));
        }
        let port = self.boot.pump().ports.iter().find(|port| port.name == line.to);
        let way = port.and_then(|port| (self.pose * port.at - line.from.at).try_normalize(1e-9));
        let moved = way.and_then(|way| {
            [20.0, 40.0, 80.0].into_iter().find(|by_mm| {
                let mut nearer = line.clone();
                nearer.from.at += way * *by_mm;
                reaches(self, &nearer)
            })
        });
        if let Some(by_mm) = moved {
            advice.push(format!(
                "with its exit clip moved {by_mm:.0} mm towards {} it would reach, if the line can \
                 follow",
                line.to
            ));
        }
        advice
    }
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

/// The longest run between supports: exit, clips, fitting. A run that calls for a clip is tight, and fails
/// where one clip in its middle would not do. Source: ISO 10133 practice, support every 450 mm.
/// Longest run between supports. Source: ISO 10133 practice, 450 mm.
fn span(boot: &Boot, line: &Line, route: &route::Route, spot: &str) -> Check {
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

fn volts(boot: &Boot, line: &Line, cable: &Cable) -> Check {
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
    reading.judge(percent, why, Some(line.from.at))
}
