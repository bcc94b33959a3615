//! Room for a line: how far each place of the boot is from the nearest solid.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use super::box_tree::BoxTree;
use super::{Bounds, Solid};
use crate::model::{Point, Pose, Vector};

/// Distances beyond this are not told apart, mm.
const FAR_MM: f64 = 60.0;

/// Most cells of a field; a larger boot gets larger cells.
const MOST_CELLS: f64 = 1_500_000.0;

/// A cell that nobody has asked about yet: no distance has these bits.
const UNASKED: u32 = u32::MAX;

/// A solid that lines keep away from.
#[derive(Clone)]
pub struct Obstacle {
    /// The solid.
    pub solid: Solid,
    /// How much farther lines keep away from it than from others, mm.
    pub extra_mm: f64,
}

/// The pieces of some solids with a tree over them.
#[derive(Clone, Default)]
pub struct Pile {
    tree: BoxTree,
    /// Solid and piece, in the solids' order.
    pieces: Vec<(u32, u32)>,
}

impl Pile {
    /// A tree over the pieces of `solids`, each reached for by `extra_mm` beyond its surface.
    pub fn of<'a>(solids: impl Iterator<Item = (&'a Solid, f64)>) -> Pile {
        let mut pieces = Vec::new();
        let mut bounds = Vec::new();
        for (index, (solid, extra_mm)) in solids.enumerate() {
            for (part, piece) in solid.pieces.iter().enumerate() {
                pieces.push((index as u32, part as u32));
                bounds.push(piece.bounds.grown(extra_mm));
            }
        }
        Pile { tree: BoxTree::of(&bounds), pieces }
    }

    /// How far a point is from the box round all of it, mm.
    pub fn distance_to_bounds_mm(&self, point: &Point) -> f64 {
        self.tree.distance_mm(point)
    }

    /// The nearest of the solids that the pile was made of, `solid` giving each with what is kept
    /// beyond the usual, within `up_to_mm`; those that `skip` names are left out.
    pub fn nearest<'a>(
        &self,
        solid: impl Fn(usize) -> (&'a Solid, f64),
        point: &Point,
        up_to_mm: f64,
        skip: impl Fn(usize) -> bool,
    ) -> Option<FieldHit> {
        let mut best: Option<FieldHit> = None;
        self.tree.near(point, up_to_mm, |item, reach_mm| {
            let (index, part) = self.pieces[item];
            let index = index as usize;
            if skip(index) {
                return reach_mm;
            }
            let (solid, extra_mm) = solid(index);
            let piece = &solid.pieces[part as usize];
            let far_mm = best.map_or(up_to_mm, |best| best.distance_mm - best.extra_mm) + extra_mm;
            let Some((on, inside)) = piece.project_within(point, far_mm) else { return reach_mm };
            let away_mm = (on - point).norm();
            let distance_mm = if inside { -away_mm } else { away_mm };
            let counts_mm = distance_mm - extra_mm;
            let nearer = match &best {
                None => counts_mm <= up_to_mm,
                Some(best) => {
                    let best_mm = best.distance_mm - best.extra_mm;
                    counts_mm < best_mm || (counts_mm <= best_mm && index < best.solid)
                }
            };
            if nearer {
                best = Some(FieldHit { distance_mm, extra_mm, solid: index, on });
                return counts_mm;
            }
            reach_mm
        });
        best
    }
}

/// Distances to the nearest obstacle on a grid, worked out where they are asked for and then kept, with
/// the obstacles for exact answers. An obstacle counts as nearer by what lines keep away from it beyond
/// the usual. What is kept is the same whoever asked first.
#[derive(Clone)]
pub struct ClearanceField {
    obstacles: Vec<Obstacle>,
    pile: Pile,
    low: Point,
    step_mm: f64,
    size: [usize; 3],
    kept: Arc<Vec<AtomicU32>>,
    /// The field that this one's obstacles were moved from, and by how much at most, mm.
    moved_from: Option<(Arc<ClearanceField>, f64)>,
}

/// Room from which on a moved field takes what the unmoved one knows, less the move, mm.
const FAR_ENOUGH_MM: f64 = 25.0;

/// The solid nearest to a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FieldHit {
    /// Signed distance to its surface, mm.
    pub distance_mm: f64,
    /// How much farther lines keep away from it than from others, mm.
    pub extra_mm: f64,
    /// Its index among the obstacles that the field was made of.
    pub solid: usize,
    /// The nearest point of its surface.
    pub on: Point,
}

impl FieldHit {
    /// The way out: from the surface to the point, or for a point inside from it to the surface; unit
    /// length, none on the surface itself.
    pub fn out(&self, point: &Point) -> Option<Vector> {
        let way = (point - self.on).try_normalize(1e-9)?;
        Some(if self.distance_mm < 0.0 { -way } else { way })
    }
}

impl ClearanceField {
    /// A field over `bounds` and 60 mm round them, with cells of `step_mm` or more. Fields over the
    /// same bounds have the same cells.
    pub fn of(obstacles: Vec<Obstacle>, bounds: &Bounds, step_mm: f64) -> ClearanceField {
        let bounds = bounds.grown(FAR_MM);
        let extent = bounds.high - bounds.low;
        let step_mm = step_mm.max((extent.x * extent.y * extent.z / MOST_CELLS).cbrt());
        let size = [0, 1, 2].map(|axis| (extent[axis] / step_mm).ceil().max(1.0) as usize);
        let cells = size[0] * size[1] * size[2];
        ClearanceField {
            pile: Pile::of(obstacles.iter().map(|o| (&o.solid, o.extra_mm))),
            obstacles,
            low: bounds.low,
            step_mm,
            size,
            kept: unasked(cells),
            moved_from: None,
        }
    }

    /// The same cells over the same obstacles, each moved by `by(index)`. What the cells of this field
    /// know is shared: far from everything they know enough for the other one too.
    #[must_use]
    pub(crate) fn moved(
        self: &Arc<ClearanceField>,
        by: impl Fn(usize) -> Vector,
    ) -> ClearanceField {
        let mut most_mm: f64 = 0.0;
        let obstacles: Vec<Obstacle> = self
            .obstacles
            .iter()
            .enumerate()
            .map(|(index, obstacle)| {
                let by = by(index);
                most_mm = most_mm.max(by.norm());
                let pose = Pose::translation(by.x, by.y, by.z);
                Obstacle { solid: obstacle.solid.moved(&pose), ..*obstacle }
            })
            .collect();
        ClearanceField {
            pile: Pile::of(obstacles.iter().map(|o| (&o.solid, o.extra_mm))),
            obstacles,
            low: self.low,
            step_mm: self.step_mm,
            size: self.size,
            kept: unasked(self.kept.len()),
            moved_from: Some((Arc::clone(self), most_mm)),
        }
    }

    /// The same field with nothing worked out yet; for measuring what that costs.
    #[must_use]
    pub fn unasked(&self) -> ClearanceField {
        ClearanceField { kept: unasked(self.kept.len()), ..self.clone() }
    }

    fn cell(&self, [x, y, z]: [usize; 3]) -> usize {
        x + self.size[0] * (y + self.size[1] * z)
    }

    /// The obstacles it was made of, in their order.
    pub fn obstacles(&self) -> &[Obstacle] {
        &self.obstacles
    }

    /// Side of a cell, mm.
    pub fn step_mm(&self) -> f64 {
        self.step_mm
    }

    /// How many cells there are along each axis.
    pub fn size(&self) -> [usize; 3] {
        self.size
    }

    /// The cell that holds a point, along each axis; none outside the field.
    pub fn coordinates_of(&self, point: &Point) -> Option<[usize; 3]> {
        let mut at = [0; 3];
        for axis in 0..3 {
            let steps = (point[axis] - self.low[axis]) / self.step_mm;
            // What isn't a number is nowhere.
            if !(steps >= 0.0 && steps < self.size[axis] as f64) {
                return None;
            }
            at[axis] = steps as usize;
        }
        Some(at)
    }

    /// The middle of a cell.
    pub fn centre(&self, at: [usize; 3]) -> Point {
        let half = |axis: usize| (at[axis] as f64 + 0.5) * self.step_mm;
        self.low + Vector::new(half(0), half(1), half(2))
    }

    /// Distance from a cell's middle to the nearest solid, less what is kept from that one beyond the
    /// usual, mm; told apart up to 60. Far from everything a moved field gives a bound below it.
    pub fn distance_mm(&self, at: [usize; 3]) -> f64 {
        if let Some((unmoved, by_mm)) = &self.moved_from {
            let least_mm = unmoved.distance_mm(at) - by_mm;
            if least_mm >= FAR_ENOUGH_MM {
                return least_mm;
            }
        }
        let kept = &self.kept[self.cell(at)];
        let bits = kept.load(Ordering::Relaxed);
        if bits != UNASKED {
            return f64::from(f32::from_bits(bits));
        }
        let hit = self.nearest(&self.centre(at), FAR_MM, |_| false);
        // Rounded down, so that it stays a lower bound.
        let found = hit.map_or(FAR_MM, |hit| hit.distance_mm - hit.extra_mm) as f32 - 1e-4;
        kept.store(found.to_bits(), Ordering::Relaxed);
        f64::from(found)
    }

    /// A distance that no obstacle comes nearer than, less what is kept beyond the usual, mm: from the
    /// cell that holds the point. None outside the field.
    pub fn at_least_mm(&self, point: &Point) -> Option<f64> {
        let at = self.coordinates_of(point)?;
        Some(self.distance_mm(at) - (point - self.centre(at)).norm())
    }

    /// The same from both sides, mm; the upper one infinite where only the lower one is known.
    pub fn between_mm(&self, point: &Point) -> Option<(f64, f64)> {
        let at = self.coordinates_of(point)?;
        let (middle_mm, off_mm) = (self.distance_mm(at), (point - self.centre(at)).norm());
        let known_to_mm = if self.moved_from.is_some() { FAR_ENOUGH_MM } else { FAR_MM - 0.1 };
        let most_mm = if middle_mm < known_to_mm { middle_mm + off_mm } else { f64::INFINITY };
        Some((middle_mm - off_mm, most_mm))
    }

    /// The nearest obstacle within `up_to_mm` of a point and what lines keep away beyond the usual,
    /// exactly; obstacles that `skip` names are left out.
    pub fn nearest(
        &self,
        point: &Point,
        up_to_mm: f64,
        skip: impl Fn(usize) -> bool,
    ) -> Option<FieldHit> {
        let obstacle = |index: usize| {
            let obstacle: &Obstacle = &self.obstacles[index];
            (&obstacle.solid, obstacle.extra_mm)
        };
        self.pile.nearest(obstacle, point, up_to_mm, skip)
    }
}

fn unasked(cells: usize) -> Arc<Vec<AtomicU32>> {
    Arc::new((0..cells).map(|_| AtomicU32::new(UNASKED)).collect())
}

/// A length of line laid before, with its round skin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rod {
    /// One end of its middle line.
    pub from: Point,
    /// The other end.
    pub to: Point,
    /// From the middle line to the skin, mm.
    pub radius_mm: f64,
    /// Whose it is.
    pub owner: usize,
}

/// Rods with a tree over them.
#[derive(Clone, Default)]
pub struct RodTree {
    rods: Vec<Rod>,
    tree: BoxTree,
}

impl RodTree {
    /// A tree over some rods.
    pub fn of(rods: Vec<Rod>) -> RodTree {
        let bounds: Vec<Bounds> = rods
            .iter()
            .map(|rod| {
                Bounds { low: rod.from.inf(&rod.to), high: rod.from.sup(&rod.to) }
                    .grown(rod.radius_mm)
            })
            .collect();
        RodTree { tree: BoxTree::of(&bounds), rods }
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.rods.is_empty()
    }

    /// The rod nearest to a point within `up_to_mm`: distance to its skin, mm, negative inside, the
    /// nearest point of its middle line, its owner. Of two as near, the first.
    pub fn nearest(&self, point: &Point, up_to_mm: f64) -> Option<(f64, Point, usize)> {
        let mut best: Option<(f64, Point, usize)> = None;
        let mut first = usize::MAX;
        self.tree.near(point, up_to_mm, |item, reach_mm| {
            let rod = &self.rods[item];
            let way = rod.to - rod.from;
            let share = (point - rod.from).dot(&way) / way.norm_squared().max(1e-12);
            let on = rod.from + way * share.clamp(0.0, 1.0);
            let distance_mm = (point - on).norm() - rod.radius_mm;
            let nearer = distance_mm < reach_mm || (distance_mm <= reach_mm && item < first);
            if nearer {
                best = Some((distance_mm, on, rod.owner));
                first = item;
                return distance_mm;
            }
            reach_mm
        });
        best
    }

    /// How far a point is from the box round all of them, mm.
    pub fn distance_to_bounds_mm(&self, point: &Point) -> f64 {
        self.tree.distance_mm(point)
    }
}
