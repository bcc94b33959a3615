//! Where a unit stands, from edges that a tape can be laid against.

use crate::checks::Boot;
use crate::model::{Axis, Point, Spot, TapeEdge};

/// A distance from an edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Distance {
    /// The edge's name; the origin's words where the layout names no edge for the axis.
    pub from: String,
    /// The distance, mm; positive forward, left or up.
    pub mm: f64,
    /// The distance in words: `213 mm forward of …`.
    pub words: String,
}

/// Where one of the pump's mounts stands.
#[derive(Debug, Clone, PartialEq)]
pub struct MountPosition {
    /// The mount's name, or what else of the pump it is.
    pub name: String,
    /// Along, across and up, each from the nearest edge of its axis.
    pub distances: [Distance; 3],
}

/// Positions of the mounts that the spot's fixings use, or of every mount when it has none, and of the
/// filler; each from the nearest tape edge along each axis, or from the origin.
pub fn positions(boot: &Boot, spot: &Spot) -> Vec<MountPosition> {
    let pose = spot.place.pose();
    let pump = boot.pump();
    let used = |name: &str| spot.fixings.iter().any(|fixing| fixing.mount == name);
    let any = pump.mounts.iter().any(|mount| used(&mount.name));
    let mounts = pump.mounts.iter().filter(|mount| !any || used(&mount.name));
    let filler = ("filler, its mouth".to_string(), pump.reservoir.filler);
    mounts
        .map(|mount| (mount.name.clone(), mount.at))
        .chain([filler])
        .map(|(name, at)| {
            let at = pose * at;
            let distances = [Axis::X, Axis::Y, Axis::Z].map(|axis| distance(boot, axis, &at));
            MountPosition { name, distances }
        })
        .collect()
}

fn distance(boot: &Boot, axis: Axis, at: &Point) -> Distance {
    let along = match axis {
        Axis::X => at.x,
        Axis::Y => at.y,
        Axis::Z => at.z,
    };
    let origin = TapeEdge { name: "the origin".to_string(), axis, at_mm: 0.0 };
    let edges = boot.layout().handover.tape_edges.iter().filter(|edge| edge.axis == axis);
    let edge = edges
        .min_by(|a, b| (a.at_mm - along).abs().total_cmp(&(b.at_mm - along).abs()))
        .unwrap_or(&origin);
    let mm = along - edge.at_mm;
    let way = match (axis, mm < 0.0) {
        (Axis::X, false) => "forward of",
        (Axis::X, true) => "behind",
        (Axis::Y, false) => "left of",
        (Axis::Y, true) => "right of",
        (Axis::Z, false) => "above",
        (Axis::Z, true) => "below",
    };
    let words = format!("{:.0} mm {way} {}", mm.abs(), edge.name);
    Distance { from: edge.name.clone(), mm, words }
}
