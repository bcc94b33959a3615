//! The straight moves that don't set a convex solid free of another: a union of convex sets, searched
//! from the shortest move outwards.

use std::collections::BinaryHeap;
use std::rc::Rc;

use parry3d::shape::TriMesh;

use super::Solid;
use super::barred_set::{Barred, Features};
use super::frontier::Reached;
use super::nearest::Convex;
use super::piece::Piece;
use crate::frame::parry_from_pose;
use crate::model::Vector;

/// The sets between all convex parts of two solids.
pub(super) struct BarredMoves {
    sets: Vec<Barred>,
}

/// Most sets that are searched; finer meshes are left to what is found by sliding.
const MOST_SETS: usize = 40_000;

/// Most slabs of all sets together.
const MOST_SLABS: usize = 1_500_000;

/// Most cells of a search.
const MOST_CELLS: usize = 60_000;

/// Most sets that all cells of a search ask together: with it the time is bounded on any mesh.
const MOST_ASKED: usize = 3_000_000;

/// Cells smaller than this are not split, mm: no way out is that narrow.
const SMALLEST_MM: f64 = 0.01;

impl BarredMoves {
    /// The sets of parts that moves shorter than `within_mm` can bring together. None when the first
    /// solid is a mesh, or when there are too many.
    pub(super) fn of(first: &Solid, second: &Solid, within_mm: f64) -> Option<BarredMoves> {
        let mut found = BarredMoves { sets: Vec::new() };
        let mut count = 0;
        for a in &first.pieces {
            let features = Features::of(a)?;
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
                        found.add(&features, &Features::of(b)?, &mut count)?;
                    }
                }
            }
        }
        Some(found)
    }

    fn add(&mut self, first: &Features, second: &Features, count: &mut usize) -> Option<()> {
        let set = Barred::between(first, second);
        *count += set.slabs();
        self.sets.push(set);
        (self.sets.len() <= MOST_SETS && *count <= MOST_SLABS).then_some(())
    }

    /// Whether every set fills its planes, so that [`kept`](Self::kept) gives faces of it.
    pub(super) fn flat(&self) -> bool {
        self.sets.iter().all(Barred::flat)
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
    /// inside it (0 or less when it isn't inside), `follow` is handed each free move found and gives the
    /// length of the best one known then. Whether the search came to its end, so that none is left: it ends
    /// early after 60,000 cells, or when they have asked 3,000,000 sets.
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
        let mut asked = 0;
        while let Some(Reached { cell: index, .. }) = front.pop() {
            let (mut cell, near) = cells[index].clone();
            cells[index].1 = Rc::clone(&all);
            cell.to_mm = cell.to_mm.min(best_mm - close_mm);
            if cell.to_mm <= cell.from_mm {
                continue;
            }
            asked += near.len();
            if cells.len() > MOST_CELLS || asked > MOST_ASKED {
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
            if reach < SMALLEST_MM || deep_mm(&middle) >= reach {
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

/// The triangles of a meshed piece that may be within `near_mm` of a convex one, in the frame of both.
fn triangles_in(mesh: &TriMesh, piece: &Piece, convex: &Piece, near_mm: f64) -> Vec<Features> {
    let mut found = Vec::new();
    let Some(shape) = Convex::of(&*convex.shape) else { return found };
    let pose = parry_from_pose(&convex.pose.inv_mul(&piece.pose));
    shape.triangles_near(mesh, &pose, near_mm, |triangle| {
        found.push(Features::of_triangle(triangle, &convex.pose));
    });
    found
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
