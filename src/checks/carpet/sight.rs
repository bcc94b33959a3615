//! Whether the level line can be read, with the trim out, from where people stand.

use crate::checks::{Boot, Check, Reading};
use crate::geometry::Solid;
use crate::model::{MoverKind, Point, Pose};

/// How far behind the skin of the tank its level line may lie, mm.
const SKIN_MM: f64 = 8.0;

/// How many viewpoints see the level line past bodies, roof and tray at rest and the pump itself;
/// the lid and its hinges are taken as open.
pub(super) fn check(boot: &Boot, pump: &[Solid], pose: &Pose) -> Check {
    let reading = Reading {
        id: "sight",
        subject: "level line".to_string(),
        unit: "viewpoints",
        limit: 1.0,
        comfort: 1.0,
        tolerance: 0.0,
    };
    let mark = pose * boot.pump().reservoir.level_line;
    let eyes = &boot.layout().viewpoints;
    if eyes.is_empty() {
        let why = "no viewpoint was measured: add where a person stands to read the level";
        return reading.unknown(why.to_string(), Some(mark));
    }
    let mut seen = 0;
    let mut blocked_by: Option<(&str, &str)> = None;
    for eye in eyes {
        match blocker(boot, pump, &eye.at, &mark) {
            None => seen += 1,
            Some(name) => {
                blocked_by.get_or_insert((&eye.name, name));
            }
        }
    }
    let why = match (seen, blocked_by) {
        (0, Some((eye, name))) => {
            format!("the level line can't be read from anywhere; from {eye}, {name} hides it")
        }
        _ => {
            format!("the level line can be read from {seen} of {} viewpoints, trim out", eyes.len())
        }
    };
    reading.judge(f64::from(seen), why, Some(mark))
}

fn blocker<'a>(boot: &'a Boot, pump: &[Solid], eye: &Point, mark: &Point) -> Option<&'a str> {
    let way = mark - eye;
    let far_mm = way.norm() - SKIN_MM;
    let towards = way.try_normalize(1e-9)?;
    let blocks = |solid: &Solid| solid.ray(eye, &towards, far_mm).is_some();
    let body = boot.bodies().find(|(_, solid)| blocks(solid)).map(|(body, _)| body.name.as_str());
    let mover = || {
        boot.movers()
            .filter(|(mover, _)| matches!(mover.kind, MoverKind::Roof | MoverKind::Tray))
            .find(|(_, solids)| solids.iter().any(blocks))
            .map(|(mover, _)| mover.name.as_str())
    };
    let own = || {
        pump.iter()
            .zip(&boot.pump().solids)
            .find(|(solid, _)| blocks(solid))
            .map(|(_, named)| named.name.as_str())
    };
    body.or_else(mover).or_else(own)
}
