//! What would let a line reach that doesn't?

use super::laying::{Laid, Standing};
use super::usable_mm;
use super::way::Effort;
use crate::geometry::{Pile, Solid};
use crate::model::{Line, Pose, Vector};

/// What would let a failing line reach, each tried: a longer line, the pump turned where it stands,
/// the exit clip moved.
pub(super) fn advice(standing: &Standing, laid: &Laid, short_mm: f64) -> Vec<String> {
    let (boot, line) = (standing.boot, laid.line);
    let mut advice = Vec::new();
    if short_mm > 0.0 {
        let shortens = usable_mm(boot, line) / line.free_mm;
        let longer_mm = (short_mm / shortens / 5.0).ceil() * 5.0;
        advice.push(format!("a line {longer_mm:.0} mm longer would reach"));
    }
    let reaches = |standing: &Standing, line: &Line| {
        let route = standing.route(line, &laid.before, Effort::Quick);
        standing.reaches(line, route.as_ref())
    };
    let up = Vector::z_axis();
    let turned = [10.0, -10.0, 20.0, -20.0, 45.0, -45.0, 90.0, -90.0, 180.0_f64].into_iter();
    let found = turned.into_iter().find(|turn_deg| {
        let about = standing.pose.translation.vector;
        let turn = nalgebra::UnitQuaternion::from_axis_angle(&up, turn_deg.to_radians());
        let by = Pose::from_parts((about - turn * about).into(), turn);
        let pump: Vec<Solid> = standing.pump.iter().map(|solid| solid.moved(&by)).collect();
        let pile = Pile::of(pump.iter().map(|solid| (solid, 0.0)));
        let pose = by * standing.pose;
        reaches(&Standing { pump: &pump, pile: &pile, pose: &pose, ..*standing }, line)
    });
    if let Some(turn_deg) = found {
        let side = if turn_deg > 0.0 { "left" } else { "right" };
        advice.push(format!(
            "with the pump turned {:.0}° to the {side} it would reach",
            turn_deg.abs()
        ));
    }
    let port = boot.pump().ports.iter().find(|port| port.name == line.to);
    let way = port.and_then(|port| (standing.pose * port.at - line.from.at).try_normalize(1e-9));
    let moved = way.and_then(|way| {
        [20.0, 40.0, 80.0].into_iter().find(|by_mm| {
            let mut nearer = line.clone();
            nearer.from.at += way * *by_mm;
            reaches(standing, &nearer)
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
