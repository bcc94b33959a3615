//! Carpets and boards that must go back where they were.

use serde::{Deserialize, Serialize};

use super::Point;
use super::problem::Inspector;

/// How a trim surface takes being pushed from behind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum TrimKind {
    /// Gives a little.
    Carpet,
    /// Gives nothing: tray, closing panel, boot board.
    Board,
}

/// A trim surface in its refitted place: the side that faces the pump and the panels behind it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trim {
    /// What the workshop calls it.
    pub name: String,
    /// Carpet or board.
    pub kind: TrimKind,
    /// Flat faces, each a list of corners in order, counter-clockwise as seen from the boot's
    /// usable space; so the face's normal points away from what it hides.
    pub faces: Vec<Vec<Point>>,
    /// Its own thickness, on the boot side of the faces, mm.
    pub thickness_mm: f64,
    /// How far it can be pushed out without showing, mm; 0 for a board.
    #[serde(default)]
    pub give_mm: f64,
    /// The option that brings it; on every car if left out.
    #[serde(default)]
    pub option: Option<String>,
}

impl Trim {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        to.range("thickness_mm", self.thickness_mm, 0.0, 200.0, "mm");
        to.range("give_mm", self.give_mm, 0.0, 100.0, "mm");
        if self.kind == TrimKind::Board && self.give_mm > 0.0 {
            to.field("give_mm", |at| {
                at.report(format!("{} for a board", self.give_mm), "0: a board doesn't give");
            });
        }
        if self.faces.is_empty() {
            to.field("faces", |at| at.report("no face", "at least one flat face"));
        }
        to.each("faces", &self.faces, |at, face| inspect_face(at, face));
    }
}

fn inspect_face(to: &mut Inspector, face: &[Point]) {
    if face.len() < 3 || face.len() > 200 {
        to.report(format!("{} corners", face.len()), "3 to 200 corners");
        return;
    }
    let before = face.iter().all(|corner| corner.iter().all(|value| value.is_finite()));
    for corner in face {
        to.point_here(corner);
    }
    if !before {
        return;
    }
    let normal = newell_normal(face);
    if normal.norm() < 0.01 {
        to.report("a face without area", "corners in order round the face");
        return;
    }
    let unit = normal.normalize();
    let off = face.iter().map(|corner| unit.dot(&(corner - face[0])).abs()).fold(0.0, f64::max);
    if off > 1.0 {
        to.report(
            format!("a corner {off:.1} mm out of the plane of the others"),
            "a flat face, within 1 mm; split it where it folds",
        );
    }
}

/// Normal of a flat polygon, twice its area long (Newell's method).
pub(crate) fn newell_normal(face: &[Point]) -> super::Vector {
    let mut normal = super::Vector::zeros();
    for (index, a) in face.iter().enumerate() {
        let b = &face[(index + 1) % face.len()];
        normal += (a - face[0]).cross(&(b - face[0]));
    }
    normal
}
