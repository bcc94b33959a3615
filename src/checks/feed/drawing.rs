//! The reservoir cut through its middle, with the fluid's surface in every case.

use super::cases::Case;
use crate::checks::Boot;
use crate::geometry::clip;
use crate::model::{Point, Pose, Vector};

/// One case's surface in a view.
#[derive(Debug, Clone, PartialEq)]
pub struct TankSurface {
    /// The case in words.
    pub words: String,
    /// Whether the car is driving; parked otherwise.
    pub driving: bool,
    /// Whether the rams are out.
    pub rams_out: bool,
    /// Warmer than when the level was set, K; 0 as filled.
    pub warmer_k: f64,
    /// The surface within the outline, from left to right, mm; none where it isn't in this section.
    pub pieces: Vec<[[f64; 2]; 2]>,
}

/// A point of the reservoir shown in a view, moved into its plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TankMark {
    /// What it is.
    pub words: &'static str,
    /// To the right and up, mm.
    pub at: [f64; 2],
}

/// The reservoir in one upright plane of the car through its middle. Coordinates are to the right and
/// up as one looks, mm, from the origin of the vehicle frame.
#[derive(Debug, Clone, PartialEq)]
pub struct TankView {
    /// From where one looks.
    pub words: &'static str,
    /// The inside's outline: one loop or several.
    pub outline: Vec<Vec<[f64; 2]>>,
    /// Every case: parked and driving, rams in and out, as filled, cold, hot; level ground first.
    pub surfaces: Vec<TankSurface>,
    /// Pump inlet, pickup, breather, level line.
    pub marks: Vec<TankMark>,
}

/// Both views: from the right, where x is to the right; and from behind, where −y is.
#[derive(Debug, Clone, PartialEq)]
pub struct TankDrawing {
    /// From the right, then from behind.
    pub views: [TankView; 2],
}

pub(super) fn of(boot: &Boot, pose: &Pose, cases: &[Case]) -> TankDrawing {
    let middle = pose * boot.reservoir.bounds().centre();
    let driving_from = crate::checks::water::SLOPES.len();
    let view = |words: &'static str, normal: Vector, right: Vector| {
        let flat = |point: &Point| {
            let at = pose * point;
            [right.dot(&at.coords) + 0.0, at.z]
        };
        let normal_pump = pose.rotation.inverse() * normal;
        let through = pose.inverse_transform_point(&middle);
        let loops = clip::section(
            boot.reservoir.triangles(),
            &normal_pump,
            normal_pump.dot(&through.coords),
        );
        let surfaces = cases
            .iter()
            .map(|case| TankSurface {
                words: case.words.clone(),
                driving: case.attitude >= driving_from,
                rams_out: case.rams_out,
                warmer_k: case.warmer_k,
                pieces: pieces(&loops, case, &flat),
            })
            .collect();
        let tank = &boot.pump().reservoir;
        let marks = [
            ("inlet", &tank.inlet),
            ("pickup", &tank.pickup),
            ("breather", &tank.breather),
            ("level line", &tank.level_line),
        ]
        .map(|(words, at)| TankMark { words, at: flat(at) });
        TankView {
            words,
            outline: loops.iter().map(|corners| corners.iter().map(flat).collect()).collect(),
            surfaces,
            marks: marks.to_vec(),
        }
    };
    TankDrawing {
        views: [
            view("from the right", Vector::y(), Vector::x()),
            view("from behind", Vector::x(), -Vector::y()),
        ],
    }
}

/// Where a case's plane lies within the outline.
fn pieces(
    loops: &[Vec<Point>],
    case: &Case,
    flat: &impl Fn(&Point) -> [f64; 2],
) -> Vec<[[f64; 2]; 2]> {
    let over = |point: &Point| case.up_pump.dot(&point.coords) - case.surface.height_mm;
    let mut crossings: Vec<[f64; 2]> = Vec::new();
    for corners in loops {
        for (index, a) in corners.iter().enumerate() {
            let b = &corners[(index + 1) % corners.len()];
            let (ha, hb) = (over(a), over(b));
            if (ha < 0.0) != (hb < 0.0) {
                crossings.push(flat(&(a + (b - a) * (ha / (ha - hb)))));
            }
        }
    }
    // All on one straight: from left to right, and from below on an upright one.
    crossings.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    crossings.chunks_exact(2).map(|pair| [pair[0], pair[1]]).collect()
}
