//! The free region of a plane that cuts surfaces.

use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;

use super::{Solid, Triangles};
use crate::model::{Point, Pose};

/// Half the width that a cut line is given, mm, so that what it encloses is parted from the rest; the
/// region is this much smaller all round.
const HALF_LINE_MM: f64 = 0.005;

/// How far beyond the surfaces the plane is looked at, mm.
const BEYOND_MM: f64 = 50.0;

/// Why a plane has no free region round a point.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RegionError {
    /// No surface is cut.
    #[error("the plane cuts no body; expected a plane through the opening")]
    NothingCut,
    /// The point lies inside a solid.
    #[error("the point lies inside body {0} of those given")]
    Inside(usize),
    /// The region round the point isn't closed by what is cut.
    #[error("what the plane cuts leaves the opening unclosed towards ({x:.0}, {y:.0})")]
    Unclosed {
        /// Where the region runs out beyond the bodies, mm.
        x: f64,
        /// Where, mm.
        y: f64,
    },
}

/// A region of a plane: its outer corners in order, and what stands free in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// Corners round it, mm right and up in the plane.
    pub outer: Vec<(f64, f64)>,
    /// Corners round each thing that stands in it.
    pub inner: Vec<Vec<(f64, f64)>>,
}

/// The free region round the point `around` of the plane that `pose` puts in the boot (its own x right,
/// y up), bounded by what the plane cuts of `solids`. Open scans count as far as they go. Within
/// 0.01 mm of the triangles. Cost: grows with the triangles cut.
///
/// # Errors
/// When nothing is cut, the point lies in a solid, or the region isn't closed all round.
pub fn free_region(
    solids: &[&Solid],
    pose: &Pose,
    around: (f64, f64),
) -> Result<Region, RegionError> {
    let point = pose * Point::new(around.0, around.1, 0.0);
    if let Some(index) = solids.iter().position(|solid| solid.holds(&point)) {
        return Err(RegionError::Inside(index));
    }
    let lines: Vec<[(f64, f64); 2]> =
        solids.iter().flat_map(|solid| cut_lines(solid.triangles(), pose)).collect();
    let ends = lines.iter().flatten().chain([&around]);
    let (mut low, mut high) =
        ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
    for &(x, y) in ends {
        low = (low.0.min(x), low.1.min(y));
        high = (high.0.max(x), high.1.max(y));
    }
    if lines.is_empty() {
        return Err(RegionError::NothingCut);
    }
    low = (low.0 - BEYOND_MM, low.1 - BEYOND_MM);
    high = (high.0 + BEYOND_MM, high.1 + BEYOND_MM);
    let whole = vec![[low.0, low.1], [high.0, low.1], [high.0, high.1], [low.0, high.1]];
    let walls: Vec<Vec<[f64; 2]>> = lines.iter().map(|line| thickened(*line)).collect();
    let free = whole.overlay(&walls, OverlayRule::Difference, FillRule::NonZero);
    let here = free.into_iter().find(|shape| {
        shape.first().is_some_and(|outer| inside(outer, around))
            && !shape[1..].iter().any(|hole| inside(hole, around))
    });
    let shape = here.ok_or(RegionError::NothingCut)?;
    let outside = |corner: &&[f64; 2]| {
        let near = |a: f64, b: f64| (a - b).abs() < 1.0;
        near(corner[0], low.0)
            || near(corner[0], high.0)
            || near(corner[1], low.1)
            || near(corner[1], high.1)
    };
    if let Some(corner) = shape[0].iter().find(outside) {
        return Err(RegionError::Unclosed { x: corner[0], y: corner[1] });
    }
    let tidy = |corners: &Vec<[f64; 2]>| without_needless(corners);
    Ok(Region { outer: tidy(&shape[0]), inner: shape[1..].iter().map(tidy).collect() })
}

/// Where the plane cuts each triangle.
fn cut_lines(surface: &Triangles, pose: &Pose) -> Vec<[(f64, f64); 2]> {
    let into_plane = pose.inverse();
    let local: Vec<Point> = surface.vertices.iter().map(|vertex| into_plane * vertex).collect();
    let mut lines = Vec::new();
    for corners in &surface.indices {
        let corners = corners.map(|corner| local[corner as usize]);
        let mut ends: Vec<(f64, f64)> = Vec::with_capacity(2);
        for side in 0..3 {
            let (a, b) = (corners[side], corners[(side + 1) % 3]);
            // A corner in the plane counts as above it, so each line is found once.
            if (a.z < 0.0) != (b.z < 0.0) {
                // From the lower end, so that both triangles of an edge find the same point.
                let (a, b) = if a.z < b.z { (a, b) } else { (b, a) };
                let share = a.z / (a.z - b.z);
                ends.push((a.x + (b.x - a.x) * share, a.y + (b.y - a.y) * share));
            }
        }
        if let [from, to] = ends[..] {
            lines.push([from, to]);
        }
    }
    lines
}

/// A line as a thin rectangle, a little longer at both ends.
fn thickened([from, to]: [(f64, f64); 2]) -> Vec<[f64; 2]> {
    let (x, y) = (to.0 - from.0, to.1 - from.1);
    let length = x.hypot(y);
    let (x, y) = if length > 1e-12 { (x / length, y / length) } else { (1.0, 0.0) };
    let (x, y) = (x * HALF_LINE_MM, y * HALF_LINE_MM);
    vec![
        [from.0 - x + y, from.1 - y - x],
        [to.0 + x + y, to.1 + y - x],
        [to.0 + x - y, to.1 + y + x],
        [from.0 - x - y, from.1 - y + x],
    ]
}

fn inside(corners: &[[f64; 2]], (x, y): (f64, f64)) -> bool {
    let mut inside = false;
    for (index, a) in corners.iter().enumerate() {
        let b = corners[(index + 1) % corners.len()];
        if (a[1] > y) != (b[1] > y) && x < a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) {
            inside = !inside;
        }
    }
    inside
}

/// The corners that keep the outline within 0.02 mm (Douglas and Peucker's rule, from memory).
fn without_needless(corners: &[[f64; 2]]) -> Vec<(f64, f64)> {
    let all: Vec<(f64, f64)> = corners.iter().map(|corner| (corner[0], corner[1])).collect();
    let far = |from: (f64, f64)| {
        let off = |p: &(f64, f64)| (p.0 - from.0).hypot(p.1 - from.1);
        (0..all.len()).max_by(|a, b| off(&all[*a]).total_cmp(&off(&all[*b]))).unwrap_or(0)
    };
    if all.len() < 4 {
        return all;
    }
    let first = far(all[0]);
    let ring: Vec<(f64, f64)> =
        (0..=all.len()).map(|index| all[(first + index) % all.len()]).collect();
    let split = (1..ring.len() - 1)
        .max_by(|a, b| {
            let off = |i: usize| (ring[i].0 - ring[0].0).hypot(ring[i].1 - ring[0].1);
            off(*a).total_cmp(&off(*b))
        })
        .unwrap_or(1);
    let mut keep = vec![false; ring.len()];
    keep[0] = true;
    keep[split] = true;
    let mut open = vec![(0, split), (split, ring.len() - 1)];
    while let Some((from, to)) = open.pop() {
        let (a, b) = (ring[from], ring[to]);
        let long = (b.0 - a.0).hypot(b.1 - a.1).max(1e-12);
        let off =
            |p: (f64, f64)| ((b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0)).abs() / long;
        let worst = (from + 1..to).max_by(|i, j| off(ring[*i]).total_cmp(&off(ring[*j])));
        if let Some(worst) = worst.filter(|index| off(ring[*index]) > 0.02) {
            keep[worst] = true;
            open.extend([(from, worst), (worst, to)]);
        }
    }
    keep.pop();
    ring.iter().zip(keep).filter(|(_, keep)| *keep).map(|(corner, _)| *corner).collect()
}
