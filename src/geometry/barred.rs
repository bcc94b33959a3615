//! The straight moves that don't set a convex solid free of another: a union of convex sets, searched
//! from the shortest move outwards.

use std::collections::BinaryHeap;
use std::rc::Rc;

use parry3d::shape::TriMesh;

use super::frontier::Reached;
use super::nearest::Convex;
use super::piece::Piece;
use super::{Solid, across};
use crate::frame::{parry_from_pose, point_from_parry, vector_from_parry};
use crate::model::{Point, Vector};

/// Moves after which one convex part still meets another: the Minkowski difference of the two, as the
/// slabs that bound it.
struct Barred {
    /// Unit normal, lower and upper offset of each pair of opposite planes.
    slabs: Vec<(Vector, f64, f64)>,
}

/// The sets between all convex parts of two solids, and how much smaller than true they may be, mm.
pub(super) struct BarredMoves {
    sets: Vec<Barred>,
    sag_mm: f64,
}

/// What a convex part gives to its planes.
struct Features {
    corners: Vec<Point>,
    /// One of each pair of opposite directions.
    normals: Vec<Vector>,
    edges: Vec<Vector>,
}

/// Most sets that are searched; finer meshes are left to what is found by sliding.
const MOST_SETS: usize = 40_000;

/// Most slabs of all sets together.
const MOST_SLABS: usize = 1_500_000;

/// Most cells of a search.
const MOST_CELLS: usize = 60_000;

/// Sides of the prism that stands in for a cylinder, inside it.
const ROUND_SIDES: u32 = 32;

/// Cells smaller than this are not split, mm: no way out is that narrow.
const SMALLEST_MM: f64 = 0.01;

impl BarredMoves {
    /// The sets of parts that moves shorter than `within_mm` can bring together. None when the first
    /// solid is a mesh, or when there are too many.
    pub(super) fn of(first: &Solid, second: &Solid, within_mm: f64) -> Option<BarredMoves> {
        let mut found = BarredMoves { sets: Vec::new(), sag_mm: 0.0 };
        let mut count = 0;
        for a in &first.pieces {
            let (features, sag_mm) = Features::of(a)?;
            found.sag_mm = found.sag_mm.max(sag_mm);
            for b in &second.pieces {
                let near = a.bounds.grown(within_mm);
                if near.distance_mm(&b.bounds) > 0.0 {
                    continue;
                }
                match b.shape.as_trimesh() {
                    Some(mesh) => {
                        for part in triangles_in(mesh, b, a, within_mm) {
                            found.add(&features, &part, &mut count)?;
                        }
                    }
                    None => {
                        let (part, sag_mm) = Features::of(b)?;
                        found.sag_mm = found.sag_mm.max(sag_mm);
                        found.add(&features, &part, &mut count)?;
                    }
                }
            }
        }
        Some(found)
    }

    fn add(&mut self, first: &Features, second: &Features, count: &mut usize) -> Option<()> {
        let set = Barred::between(first, second);
        *count += set.slabs.len();
        self.sets.push(set);
        (self.sets.len() <= MOST_SETS && *count <= MOST_SLABS).then_some(())
    }

    /// How much longer than the shortest free move the best known one may be when the search ends, mm,
    /// beside what the search is asked for.
    pub(super) fn sag_mm(&self) -> f64 {
        self.sag_mm
    }

    /// The planes that keep a free move out of each set within `near_mm`: the direction away from the set
    /// and the room, mm. None when the move isn't free.
    pub(super) fn kept(&self, by: &Vector, near_mm: f64) -> Option<Vec<(Vector, f64)>> {
        let mut kept = Vec::new();
        for set in &self.sets {
            if set.out_mm(by, near_mm) <= near_mm {
                let (towards, room_mm) = set.side(by);
                if room_mm <= 0.0 {
                    return None;
                }
                kept.push((towards, room_mm));
            }
        }
        Some(kept)
    }

    /// Looks for free moves shorter than `best_mm` by more than `close_mm`. `free` tells whether a move is
    /// free, `deep_mm` how far the skin of the second solid is from a point of the first that a move puts
    /// inside it (0 or less when it isn't inside), `follow` is handed each free move found and gives the length of the best one known then.
    /// Whether the search came to its end, so that none is left.
    ///
    /// Method: cells are cones of directions with a range of lengths, the shortest first. One that lies
    /// within a set, that no set reaches and whose middle is not free, or that keeps a point of the first
    /// inside the second holds no free move; others are split.
    pub(super) fn search(
        &self,
        least_mm: f64,
        mut best_mm: f64,
        close_mm: f64,
        free: impl Fn(&Vector) -> bool,
        deep_mm: impl Fn(&Vector) -> f64,
        mut follow: impl FnMut(Vector) -> f64,
    ) -> bool {
        let close_mm = close_mm + self.sag_mm;
        let all: Rc<Vec<u32>> = Rc::new((0..self.sets.len() as u32).collect());
        let mut cells: Vec<(Cell, Rc<Vec<u32>>)> = Vec::new();
        let mut front = BinaryHeap::new();
        for corners in octants() {
            let cell = Cell { corners, from_mm: least_mm, to_mm: best_mm };
            front.push(Reached { key: cell.from_mm, cell: cells.len() });
            cells.push((cell, Rc::clone(&all)));
        }
        // What held the last cell often holds the next.
        let mut last = [0_usize; 8];
        while let Some(Reached { cell: index, .. }) = front.pop() {
            let (mut cell, near) = cells[index].clone();
            cells[index].1 = Rc::clone(&all);
            cell.to_mm = cell.to_mm.min(best_mm - close_mm);
            if cell.to_mm <= cell.from_mm {
                continue;
            }
            if cells.len() > MOST_CELLS {
                return false;
            }
            let hull = cell.hull();
            let middle = hull.iter().sum::<Vector>() / hull.len() as f64;
            let reach = hull.iter().map(|at| (at - middle).norm()).fold(0.0, f64::max);
            let held = |index: &usize| self.sets.get(*index).is_some_and(|set| set.holds(&hull));
            if last.iter().any(held) {
                continue;
            }
            let Some((reached, over_middle)) = self.around(&near, &hull, &middle, reach, &mut last)
            else {
                continue;
            };
            if !over_middle {
                if free(&middle) {
                    best_mm = best_mm.min(follow(middle));
                } else if reached.is_empty() {
                    continue; // buried, all of it
                }
            }
            // Between a cylinder and the prism in it nothing can be told.
            if reach < SMALLEST_MM.max(self.sag_mm / 2.0) || deep_mm(&middle) >= reach {
                continue;
            }
            let reached = Rc::new(reached);
            for part in cell.split() {
                front.push(Reached { key: part.from_mm, cell: cells.len() });
                cells.push((part, Rc::clone(&reached)));
            }
        }
        true
    }

    /// The sets of `near` that come within `reach` of the middle of a cell, and whether any holds the
    /// middle; none when one holds the whole cell.
    fn around(
        &self,
        near: &[u32],
        hull: &[Vector; 6],
        middle: &Vector,
        reach: f64,
        last: &mut [usize; 8],
    ) -> Option<(Vec<u32>, bool)> {
        let mut reached: Vec<(f64, u32)> = Vec::new();
        let mut over_middle = false;
        for &index in near {
            let set = &self.sets[index as usize];
            let out = set.out_mm(middle, reach);
            if out > reach {
                continue;
            }
            if out <= 0.0 {
                over_middle = true;
                if out <= -reach || set.holds(hull) {
                    last.rotate_right(1);
                    last[0] = index as usize;
                    return None;
                }
            }
            reached.push((out, index));
        }
        // What is deepest about the middle most likely holds the parts.
        reached.sort_by(|a, b| a.0.total_cmp(&b.0));
        Some((reached.into_iter().map(|(_, index)| index).collect(), over_middle))
    }
}

impl Barred {
    /// Method: the faces of a Minkowski difference of convex polyhedra lie along a face of either or along
    /// an edge of both.
    fn between(first: &Features, second: &Features) -> Barred {
        let pairs = first.edges.len() * second.edges.len();
        let mut slabs = Vec::with_capacity(first.normals.len() + second.normals.len() + pairs);
        let mut keep = |axis: &Vector| {
            let Some(axis) = axis.try_normalize(1e-9) else { return };
            let (low_a, high_a) = extent(&first.corners, &axis);
            let (low_b, high_b) = extent(&second.corners, &axis);
            slabs.push((axis, low_b - high_a, high_b - low_a));
        };
        second.normals.iter().chain(&first.normals).for_each(&mut keep);
        for a in &first.edges {
            for b in &second.edges {
                keep(&a.cross(b));
            }
        }
        Barred { slabs }
    }

    /// How far outside a move lies, at least; negative inside. No more is worked out once it is beyond
    /// `enough`.
    fn out_mm(&self, by: &Vector, enough: f64) -> f64 {
        let mut most = f64::NEG_INFINITY;
        for (normal, low, high) in &self.slabs {
            let along = normal.dot(by);
            most = most.max(along - high).max(low - along);
            if most > enough {
                break;
            }
        }
        most
    }

    /// The plane that a move outside lies farthest beyond: its direction outwards and how far.
    fn side(&self, by: &Vector) -> (Vector, f64) {
        let mut side = (Vector::zeros(), f64::NEG_INFINITY);
        for (normal, low, high) in &self.slabs {
            let along = normal.dot(by);
            if along - high > side.1 {
                side = (*normal, along - high);
            }
            if low - along > side.1 {
                side = (-normal, low - along);
            }
        }
        side
    }

    fn holds(&self, moves: &[Vector; 6]) -> bool {
        self.slabs.iter().all(|(normal, low, high)| {
            moves.iter().all(|by| {
                let along = normal.dot(by);
                *low <= along && along <= *high
            })
        })
    }
}

impl Features {
    /// The features of a convex piece, and how far it may stand out of them, mm; none for a mesh.
    fn of(piece: &Piece) -> Option<(Features, f64)> {
        let turned = |vector: parry3d::math::Vector| piece.pose * vector_from_parry(vector);
        if let Some(cylinder) = piece.shape.as_cylinder() {
            let axis = piece.pose * Vector::y();
            let (u, v) = across(&axis);
            let middle = Point::from(piece.pose.translation.vector);
            let step = std::f64::consts::TAU / f64::from(ROUND_SIDES);
            let round = |turn: f64| u * (turn * step).cos() + v * (turn * step).sin();
            let mut features =
                Features { corners: Vec::new(), normals: vec![axis], edges: vec![axis] };
            for side in 0..ROUND_SIDES {
                let at = middle + round(f64::from(side)) * cylinder.radius;
                features.corners.push(at + axis * cylinder.half_height);
                features.corners.push(at - axis * cylinder.half_height);
                if side < ROUND_SIDES / 2 {
                    let normal = round(f64::from(side) + 0.5);
                    features.normals.push(normal);
                    features.edges.push(axis.cross(&normal));
                }
            }
            return Some((features, cylinder.radius * (1.0 - (step / 2.0).cos())));
        }
        if let Some(hull) = piece.shape.as_convex_polyhedron() {
            let points = hull.points();
            let mut normals = Vec::new();
            hull.faces().iter().for_each(|face| once(&mut normals, turned(face.normal)));
            let mut edges = Vec::new();
            for edge in hull.edges() {
                let [from, to] = edge.vertices.map(|corner| points[corner as usize]);
                once(&mut edges, turned(to - from));
            }
            return Some((Features { corners: piece.samples.clone(), normals, edges }, 0.0));
        }
        piece.shape.as_cuboid()?;
        let axes: Vec<Vector> =
            [Vector::x(), Vector::y(), Vector::z()].iter().map(|axis| piece.pose * axis).collect();
        Some((Features { corners: piece.samples.clone(), normals: axes.clone(), edges: axes }, 0.0))
    }
}

/// Adds a direction unless it or its opposite is there.
fn once(known: &mut Vec<Vector>, towards: Vector) {
    if let Some(towards) = towards.try_normalize(1e-9)
        && known.iter().all(|other| other.cross(&towards).norm() > 1e-7)
    {
        known.push(towards);
    }
}

/// The triangles of a meshed piece that may be within `near_mm` of a convex one, in the frame of both.
fn triangles_in(mesh: &TriMesh, piece: &Piece, convex: &Piece, near_mm: f64) -> Vec<Features> {
    let mut found = Vec::new();
    let Some(shape) = Convex::of(&*convex.shape) else { return found };
    let pose = parry_from_pose(&convex.pose.inv_mul(&piece.pose));
    shape.triangles_near(mesh, &pose, near_mm, |triangle| {
        let [a, b, c] =
            [triangle.a, triangle.b, triangle.c].map(|at| convex.pose * point_from_parry(at));
        let edges = vec![b - a, c - b, a - c];
        let normals = vec![(b - a).cross(&(c - a))];
        found.push(Features { corners: vec![a, b, c], normals, edges });
    });
    found
}

fn extent(corners: &[Point], axis: &Vector) -> (f64, f64) {
    corners
        .iter()
        .map(|corner| axis.dot(&corner.coords))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), at| (low.min(at), high.max(at)))
}

/// Moves in a cone of directions between two lengths.
#[derive(Debug, Clone)]
struct Cell {
    /// Unit vectors.
    corners: [Vector; 3],
    from_mm: f64,
    to_mm: f64,
}

/// The eight octants.
fn octants() -> impl Iterator<Item = [Vector; 3]> {
    (0..8).map(|turn| {
        let side = |axis: usize| if turn >> axis & 1 == 0 { 1.0 } else { -1.0 };
        [Vector::x() * side(0), Vector::y() * side(1), Vector::z() * side(2)]
    })
}

impl Cell {
    /// Six moves whose hull holds the cell.
    fn hull(&self) -> [Vector; 6] {
        let [a, b, c] = self.corners;
        // The plane through the outer three lies beyond every move of the cell.
        let normal = (b - a).cross(&(c - a));
        let flat = normal.dot(&a).abs() / normal.norm().max(1e-300);
        let outer_mm = self.to_mm / flat.max(1e-3);
        let at = |mm: f64| [a * mm, b * mm, c * mm];
        let ([d, e, f], [g, h, i]) = (at(self.from_mm), at(outer_mm));
        [d, e, f, g, h, i]
    }

    fn split(&self) -> Vec<Cell> {
        let [a, b, c] = self.corners;
        let wide_mm = (b - a).norm().max((c - b).norm()).max((a - c).norm()) * self.to_mm;
        if self.to_mm - self.from_mm > wide_mm {
            let middle_mm = f64::midpoint(self.from_mm, self.to_mm);
            return vec![
                Cell { to_mm: middle_mm, ..self.clone() },
                Cell { from_mm: middle_mm, ..self.clone() },
            ];
        }
        let between = |p: &Vector, q: &Vector| (p + q).normalize();
        let (ab, bc, ca) = (between(&a, &b), between(&b, &c), between(&c, &a));
        [[a, ab, ca], [b, bc, ab], [c, ca, bc], [ab, bc, ca]]
            .map(|corners| Cell { corners, ..self.clone() })
            .to_vec()
    }
}
