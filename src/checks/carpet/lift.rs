//! How far the pump and its lines push each trim surface out of its place.

use crate::checks::{Boot, Check, DrawnLine, Reading};
use crate::geometry::{Bounds, Solid, Triangles, clip};
use crate::model::{Point, Trim};
use crate::units::root_sum_of_squares;

/// What pushes a trim surface out, and where it does so most.
struct Push {
    lift_mm: f64,
    what: String,
    at: Point,
    /// Whether it comes out through the surface and runs on in front of it.
    through: bool,
}

/// A line that stands out farther than this comes out through the surface, mm.
const THROUGH_MM: f64 = 60.0;

/// One check for each trim surface.
pub(super) fn check(boot: &Boot, pump: &[Solid], lines: &[DrawnLine]) -> Vec<Check> {
    boot.trims().map(|(trim, faces)| judge(boot, pump, lines, trim, faces)).collect()
}

fn judge(
    boot: &Boot,
    pump: &[Solid],
    lines: &[DrawnLine],
    trim: &Trim,
    faces: &Triangles,
) -> Check {
    let limits = &boot.layout().limits;
    let reading = Reading {
        id: "lift",
        subject: trim.name.clone(),
        unit: "mm",
        limit: trim.give_mm,
        // What lies 5 mm behind the surface is comfortable; what just touches it is not.
        comfort: -5.0,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]),
    };
    let most = std::iter::once(pump_push(boot, pump, faces))
        .chain(lines.iter().map(|line| line_push(line, faces)))
        .flatten()
        .max_by(|a, b| a.lift_mm.total_cmp(&b.lift_mm));
    match most {
        None => {
            let at = faces.bounds().map(|bounds| bounds.centre());
            reading.judge(-100.0, format!("nothing comes up behind {}", trim.name), at)
        }
        Some(push) if push.lift_mm <= 0.0 => {
            let why = format!("{} stays {:.0} mm behind {}", push.what, -push.lift_mm, trim.name);
            reading.judge(push.lift_mm, why, Some(push.at))
        }
        Some(push) => {
            let over = push.lift_mm - trim.give_mm;
            let why = if push.through {
                format!(
                    "{} comes out through {} (counted as {THROUGH_MM:.0} mm), so it can't go back as \
                     it was",
                    push.what, trim.name
                )
            } else if over > 0.0 {
                format!(
                    "{} pushes {} out by {:.0} mm, {over:.0} mm more than it gives",
                    push.what, trim.name, push.lift_mm
                )
            } else {
                format!(
                    "{} pushes {} out by {:.0} mm, which it gives",
                    push.what, trim.name, push.lift_mm
                )
            };
            reading.judge(push.lift_mm, why, Some(push.at))
        }
    }
}

/// How far the pump stands out of a trim surface, by its highest solid over any of its faces; none
/// when no part of the pump begins behind the surface. What stands wholly in front of it pushes
/// nothing.
fn pump_push(boot: &Boot, pump: &[Solid], faces: &Triangles) -> Option<Push> {
    let mut lowest_mm = f64::INFINITY;
    let mut most: Option<Push> = None;
    for face in faces.each() {
        let Some(near) = column_bounds(&face) else { continue };
        for (solid, named) in pump.iter().zip(&boot.pump().solids) {
            if solid.bounds().distance_mm(&near) > 0.0 {
                continue;
            }
            let Some(over) = clip::heights_over(solid.triangles(), &face) else { continue };
            lowest_mm = lowest_mm.min(over.lowest_mm);
            if most.as_ref().is_none_or(|most| over.highest_mm > most.lift_mm) {
                let what = format!("the pump's {}", named.name);
                most = Some(Push { lift_mm: over.highest_mm, what, at: over.at, through: false });
            }
        }
    }
    most.filter(|_| lowest_mm < 0.0)
}

/// How far a line stands out of a trim surface that it runs behind or through.
fn line_push(line: &DrawnLine, faces: &Triangles) -> Option<Push> {
    let mut lowest_mm = f64::INFINITY;
    let mut most: Option<(f64, Point)> = None;
    for face in faces.each() {
        let across = (face[1] - face[0]).cross(&(face[2] - face[0]));
        let Some(normal) = across.try_normalize(1e-12) else { continue };
        let over = |point: &&Point| {
            (0..3).all(|side| {
                let from = face[side];
                normal.cross(&(face[(side + 1) % 3] - from)).dot(&(*point - from)) >= 0.0
            })
        };
        for point in line.centreline.iter().filter(over) {
            let height_mm = normal.dot(&(point - face[0]));
            lowest_mm = lowest_mm.min(height_mm - line.radius_mm);
            if most.is_none_or(|(highest_mm, _)| height_mm > highest_mm) {
                most = Some((height_mm, *point));
            }
        }
    }
    let (highest_mm, at) = most?;
    let lift_mm = highest_mm + line.radius_mm;
    (lowest_mm < 0.0).then(|| Push {
        lift_mm: lift_mm.min(THROUGH_MM),
        what: line.name.clone(),
        at,
        through: lift_mm > THROUGH_MM,
    })
}

/// A box round everything within reach of a face's column: half a metre to both sides.
fn column_bounds(face: &[Point; 3]) -> Option<Bounds> {
    let normal = (face[1] - face[0]).cross(&(face[2] - face[0])).try_normalize(1e-12)?;
    let reach = normal * 500.0;
    let corners: Vec<Point> =
        face.iter().flat_map(|corner| [corner - reach, corner + reach]).collect();
    Bounds::of(corners.iter())
}
