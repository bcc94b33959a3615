//! Headline hold: is there something to hold to, and does it carry the pump?

mod details;
mod load;
mod points;
mod rests;
mod strength;

pub use details::HoldDetails;
pub use load::{CASES, Holding, LoadCase, load_factor};
pub use rests::Rest;
pub use strength::tie_loop_n;

use super::{Boot, Check, DrawnFixing, Reading};
use crate::geometry::Solid;
use crate::model::{Pose, Spot};

/// The checks of the hold headline, and the fixings to draw.
pub(crate) fn check(
    boot: &Boot,
    pump: &[Solid],
    pose: &Pose,
    spot: &Spot,
) -> (Vec<Check>, Vec<DrawnFixing>) {
    let fixed = points::fixed(boot, pose, spot);
    let mut checks = vec![points::in_reach(boot, pose), points::usable(boot, pose, spot, &fixed)];
    checks.extend(points::farthest(boot, &fixed));
    checks.push(carries(boot, pump, pose, &fixed));
    let drawn = fixed
        .iter()
        .map(|fixed| DrawnFixing {
            anchor: fixed.anchor.name.clone(),
            from: fixed.mount_at,
            to: fixed.anchor.at,
            in_reach: fixed.in_reach,
        })
        .collect();
    (checks, drawn)
}

/// The smallest load factor over the load cases.
fn carries(boot: &Boot, pump: &[Solid], pose: &Pose, fixed: &[points::Fixed]) -> Check {
    let reading = Reading {
        id: "load",
        subject: "fixings".to_string(),
        unit: "×",
        limit: 1.0,
        comfort: 2.0,
        tolerance: 0.1,
    };
    let centre = pose * boot.pump().centre_of_gravity;
    let rests = rests::rests(boot, pump);
    let holdings: Vec<Holding> = fixed
        .iter()
        .filter(|fixed| fixed.in_reach)
        .filter_map(points::Fixed::holding)
        .chain(rests.iter().map(|rest| rest.holding(boot.layout().limits.friction)))
        .collect();
    let mut worst: Option<(f64, &LoadCase)> = None;
    for case in &CASES {
        match load_factor(&holdings, &centre, boot.pump().mass_kg, case) {
            Some(factor) if worst.is_some_and(|(least, _)| factor >= least) => {}
            Some(factor) => worst = Some((factor, case)),
            None => {
                let why = format!("the balance of forces could not be solved for {}", case.words);
                return reading.unknown(why, Some(centre));
            }
        }
    }
    let Some((factor, case)) = worst else {
        return reading.unknown("no load case".to_string(), Some(centre));
    };
    let fixings = fixed.iter().filter(|fixed| fixed.in_reach).count();
    let with = format!("{fixings} fixings and {} points it rests on", rests.len());
    let why = if factor < 1e-6 {
        format!("{with} don't hold it in {}: it can swing free", case.words)
    } else if factor < 1.0 {
        format!("{with} carry only {factor:.2} of {}", case.words)
    } else {
        format!("{with} carry {factor:.1} times {}, the worst case", case.words)
    };
    reading.judge(factor, why, Some(centre))
}
