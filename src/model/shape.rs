//! Shapes as a tape measure gives them, and where they stand.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Point, Pose, Vector};

/// Where a thing stands: moved to `at` and turned by `turn_deg`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Place {
    /// Position of the thing's own origin, mm.
    pub at: Point,
    /// Roll about x, pitch about y (nose down positive), yaw about z, degrees; applied yaw first,
    /// then pitch, then roll about the turned axes (ISO 8855).
    pub turn_deg: (f64, f64, f64),
}

impl Default for Place {
    fn default() -> Self {
        Place { at: Point::origin(), turn_deg: (0.0, 0.0, 0.0) }
    }
}

impl Place {
    /// The pose that turns the thing's own frame into the frame that it stands in.
    ///
    /// ```
    /// use dryberth::model::{Place, Point};
    /// let place = Place { at: Point::new(100.0, 0.0, 0.0), turn_deg: (0.0, 0.0, 90.0) };
    /// let ahead = place.pose() * Point::new(10.0, 0.0, 0.0);
    /// assert!((ahead - Point::new(100.0, 10.0, 0.0)).norm() < 1e-9);
    /// ```
    pub fn pose(&self) -> Pose {
        let (roll, pitch, yaw) = self.turn_deg;
        Pose::from_parts(
            nalgebra::Translation3::from(self.at.coords),
            nalgebra::UnitQuaternion::from_euler_angles(
                roll.to_radians(),
                pitch.to_radians(),
                yaw.to_radians(),
            ),
        )
    }

    /// The place whose [`pose`](Self::pose) is `pose`.
    pub fn from_pose(pose: &Pose) -> Self {
        let (roll, pitch, yaw) = pose.rotation.euler_angles();
        Place {
            at: Point::from(pose.translation.vector),
            turn_deg: (roll.to_degrees(), pitch.to_degrees(), yaw.to_degrees()),
        }
    }

    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.point("at", &self.at);
        let (roll, pitch, yaw) = self.turn_deg;
        if ![roll, pitch, yaw].iter().all(|angle| angle.is_finite() && angle.abs() <= 360.0) {
            to.field("turn_deg", |at| {
                at.report(
                    format!("({roll}, {pitch}, {yaw})"),
                    "(roll, pitch, yaw) in degrees, each within 360",
                );
            });
        }
    }
}

/// An axis of a thing's own frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Axis {
    /// Forward.
    X,
    /// Left.
    Y,
    /// Up.
    Z,
}

/// A solid as measured; lengths in mm in the thing's own frame.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Shape {
    /// A box between two opposite corners.
    Box {
        /// One corner.
        from: Point,
        /// The opposite corner.
        to: Point,
    },
    /// A round bar between the centres of its two end faces.
    Cylinder {
        /// Centre of one end.
        from: Point,
        /// Centre of the other end.
        to: Point,
        /// Radius, mm.
        radius_mm: f64,
    },
    /// A flat outline drawn out along an axis. The outline's two numbers are the other two axes in
    /// cyclic order: (y, z) along X, (z, x) along Y, (x, y) along Z.
    Prism {
        /// The axis it is drawn out along.
        along: Axis,
        /// Corners in order, not crossing itself; it may be hollow-sided (concave).
        outline: Vec<(f64, f64)>,
        /// Where it begins on that axis, mm.
        from_mm: f64,
        /// Where it ends, mm.
        to_mm: f64,
    },
    /// The convex hull of some points.
    Hull {
        /// Measured corners.
        points: Vec<Point>,
    },
    /// A triangle mesh from a GLB file, in its frame turned into ours; a closed mesh is solid.
    Mesh {
        /// Path of the file, inside the layout's folder or the assets folder.
        file: String,
    },
}

impl Shape {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        match self {
            Shape::Box { from, to: far } => {
                to.point("from", from);
                to.point("to", far);
                if (from - far).iter().any(|size| size.abs() < 0.01) {
                    to.field("to", |at| {
                        at.report(
                            format!("a box of {}", size_text(&(far - from))),
                            "a size of at least 0.01 mm along each axis",
                        );
                    });
                }
            }
            Shape::Cylinder { from, to: far, radius_mm } => {
                to.point("from", from);
                to.point("to", far);
                to.range("radius_mm", *radius_mm, 0.01, 5_000.0, "mm");
                if (from - far).norm() < 0.01 {
                    to.field("to", |at| {
                        at.report("the same point as `from`", "an end at least 0.01 mm away");
                    });
                }
            }
            Shape::Prism { outline, from_mm, to_mm, .. } => {
                to.range("from_mm", *from_mm, -20_000.0, 20_000.0, "mm");
                to.range("to_mm", *to_mm, -20_000.0, 20_000.0, "mm");
                if (from_mm - to_mm).abs() < 0.01 {
                    to.field("to_mm", |at| {
                        at.report(
                            format!("a prism {} mm long", (to_mm - from_mm).abs()),
                            "at least 0.01 mm between from_mm and to_mm",
                        );
                    });
                }
                inspect_outline(to, outline);
            }
            Shape::Hull { points } => {
                to.each("points", points, |at, point| at.point_here(point));
                if points.len() < 4 {
                    to.field("points", |at| {
                        at.report(format!("{} points", points.len()), "at least 4 points");
                    });
                } else if flat(points) {
                    to.field("points", |at| {
                        at.report("points in one plane", "points that enclose a volume");
                    });
                }
            }
            Shape::Mesh { file } => to.field("file", |at| {
                if file.trim().is_empty() {
                    at.report("an empty path", "the path of a .glb file beside the layout");
                }
            }),
        }
    }
}

/// Most corners of an outline; a tape gives a few dozen.
const MOST_CORNERS: usize = 200;

fn inspect_outline(to: &mut Inspector, outline: &[(f64, f64)]) {
    to.each("outline", outline, |at, (a, b)| {
        if !a.is_finite() || !b.is_finite() || a.abs().max(b.abs()) > 20_000.0 {
            at.report(format!("({a}, {b})"), "two numbers in mm, each within 20000");
        }
    });
    to.field("outline", |at| inspect_outline_here(at, outline));
}

/// Reports an outline that is no outline, at the place where the inspector stands.
pub(crate) fn inspect_outline_here(to: &mut Inspector, outline: &[(f64, f64)]) {
    if outline.len() < 3 || outline.len() > MOST_CORNERS {
        to.report(
            format!("{} corners", outline.len()),
            format!("3 to {MOST_CORNERS} corners; a finer shape is a mesh"),
        );
        return;
    }
    let odd = |(a, b): &&(f64, f64)| {
        !(a.is_finite() && b.is_finite() && a.abs().max(b.abs()) <= 20_000.0)
    };
    if let Some((a, b)) = outline.iter().find(odd) {
        to.report(format!("the corner ({a}, {b})"), "two numbers in mm, each within 20000");
        return;
    }
    if outline_area_mm2(outline).abs() < 0.01 {
        to.report("an outline without area", "corners in order round the outline");
        return;
    }
    if let Some((i, j)) = crossing(outline) {
        to.report(
            format!("sides {i} and {j} crossing"),
            "corners in order round the outline, no side crossing another",
        );
    }
}

/// Area of a flat outline, mm², positive when it runs counter-clockwise.
pub(crate) fn outline_area_mm2(outline: &[(f64, f64)]) -> f64 {
    let mut twice = 0.0;
    for (index, (ax, ay)) in outline.iter().enumerate() {
        let (bx, by) = outline[(index + 1) % outline.len()];
        twice += ax * by - bx * ay;
    }
    twice / 2.0
}

fn crossing(outline: &[(f64, f64)]) -> Option<(usize, usize)> {
    let count = outline.len();
    let side = |i: usize| (outline[i], outline[(i + 1) % count]);
    let turn = |a: (f64, f64), b: (f64, f64), c: (f64, f64)| {
        (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
    };
    for i in 0..count {
        for j in i + 2..count {
            if i == 0 && j == count - 1 {
                continue;
            }
            let ((a, b), (c, d)) = (side(i), side(j));
            if turn(a, b, c) * turn(a, b, d) < 0.0 && turn(c, d, a) * turn(c, d, b) < 0.0 {
                return Some((i, j));
            }
        }
    }
    None
}

fn flat(points: &[Point]) -> bool {
    let Some(first) = points.first() else { return true };
    if points.iter().any(|point| !point.iter().all(|value| value.is_finite())) {
        return false; // reported as a bad coordinate already
    }
    let farthest = |score: &dyn Fn(&Vector) -> f64| {
        points
            .iter()
            .map(|point| point - first)
            .max_by(|a, b| score(a).total_cmp(&score(b)))
            .unwrap_or_default()
    };
    let along = farthest(&|offset: &Vector| offset.norm());
    let across = farthest(&|offset: &Vector| along.cross(offset).norm());
    let normal = along.cross(&across);
    if normal.norm() < 1e-6 {
        return true;
    }
    let normal = normal.normalize();
    points.iter().all(|point| normal.dot(&(point - first)).abs() < 0.01)
}

fn size_text(size: &Vector) -> String {
    format!("{} × {} × {} mm", size.x.abs(), size.y.abs(), size.z.abs())
}
