//! Corners taken out of a surface one by one, while what they stood for stays near it.

use parry3d::query::PointQuery;
use parry3d::shape::Segment;

use super::Triangles;
use super::clean::drop_unused;
use super::strewn::{carried, distance_mm, height_share, normal};
use crate::frame::parry_from_point;
use crate::model::Point;

/// Collapses that move the surface least come first: in four rounds with a rising limit.
const ROUNDS: [f64; 4] = [0.25, 0.5, 0.75, 1.0];

/// A round ends when a pass takes out less than this share of the corners.
const WORTH: f64 = 0.005;

/// Most samples that the triangles round one corner may stand for: bounds the work, and with it the
/// thinning to a few triangles in a thousand.
const MOST_CARRIED: usize = 2_000;

/// A new triangle turns by less than about 70° from the one that it replaces (cosine).
const LEAST_TURN: f64 = 0.34;

/// A new triangle is higher than this share of its longest side.
const LEAST_HEIGHT: f64 = 0.02;

/// Most triangles round one corner.
const MOST_AROUND: usize = 24;

const NONE: u32 = u32::MAX;

/// The surface while corners are taken out of it.
pub(super) struct Work<'a> {
    original: &'a Triangles,
    at: &'a [Point],
    corners: Vec<[u32; 3]>,
    alive: Vec<bool>,
    /// The triangles at each corner.
    around: Vec<Vec<u32>>,
    /// The samples that each triangle stands for, as a chain through `next`: corners taken out, by
    /// their number; after those, points of the original triangles.
    head: Vec<u32>,
    next: Vec<u32>,
    /// The original triangle of each sample after the corners, and the first sample of each.
    of: Vec<u32>,
    first: Vec<u32>,
    limit_mm: f64,
    /// How far at most the rim at each corner lies from where it was, mm.
    rim_mm: Vec<f32>,
}

/// A corner's move onto a neighbour, tried out.
#[derive(Default)]
struct Trial {
    /// The triangles that change.
    changed: Vec<u32>,
    /// The samples that they stand for, and which of the changed triangles each goes to.
    carried: Vec<(u32, usize)>,
}

impl<'a> Work<'a> {
    /// A surface of which nothing has been taken out.
    pub(super) fn of(surface: &'a Triangles, limit_mm: f64) -> Work<'a> {
        let mut uses = vec![0_u32; surface.vertices.len()];
        for &corner in surface.indices.iter().flatten() {
            uses[corner as usize] += 1;
        }
        let mut around: Vec<Vec<u32>> =
            uses.iter().map(|&count| Vec::with_capacity(count as usize)).collect();
        for (index, corners) in surface.indices.iter().enumerate() {
            for &corner in corners {
                around[corner as usize].push(index as u32);
            }
        }
        let count = surface.vertices.len();
        let mut of = Vec::with_capacity(surface.indices.len() * 2);
        let mut first = Vec::with_capacity(surface.indices.len());
        let mut next = vec![NONE; count];
        for (triangle, corners) in surface.each().enumerate() {
            first.push((count + of.len()) as u32);
            for _ in carried(&corners, limit_mm) {
                of.push(triangle as u32);
                next.push((count + of.len()) as u32);
            }
            if let Some(last) = next.last_mut() {
                *last = NONE;
            }
        }
        Work {
            original: surface,
            at: &surface.vertices,
            corners: surface.indices.clone(),
            alive: vec![true; surface.indices.len()],
            around,
            head: first.clone(),
            of,
            first,
            limit_mm,
            next,
            rim_mm: vec![0.0; count],
        }
    }

    /// What is left once no more corners can go.
    pub(super) fn thinned(mut self, limit_mm: f64, progress: &mut dyn FnMut(f64)) -> Triangles {
        let mut left = self.at.len();
        let mut touched = vec![0_u32; self.at.len()];
        let mut settled = vec![false; self.at.len()];
        let mut pass = 0;
        for (round, share) in ROUNDS.into_iter().enumerate() {
            settled.fill(false);
            loop {
                pass += 1;
                let mut gone = 0;
                for corner in 0..self.at.len() as u32 {
                    let index = corner as usize;
                    if settled[index] || touched[index] == pass || self.around[index].is_empty() {
                        continue;
                    }
                    let ring = self.neighbours(corner);
                    if self.collapse(corner, &ring, limit_mm * share) {
                        gone += 1;
                        for (neighbour, _) in ring {
                            touched[neighbour as usize] = pass;
                            settled[neighbour as usize] = false;
                        }
                    } else {
                        settled[index] = true;
                    }
                }
                left -= gone;
                if (gone as f64) < left as f64 * WORTH || gone == 0 {
                    break;
                }
            }
            progress((round + 1) as f64 / ROUNDS.len() as f64);
        }
        let indices = self.corners.iter().zip(&self.alive).filter(|(_, alive)| **alive);
        let mut thinned = Triangles {
            vertices: self.at.to_vec(),
            indices: indices.map(|(corners, _)| *corners).collect(),
        };
        drop_unused(&mut thinned);
        thinned
    }

    /// The corners beside one, each with how many triangles they share.
    fn neighbours(&self, corner: u32) -> Vec<(u32, u32)> {
        let mut found: Vec<(u32, u32)> = Vec::with_capacity(8);
        for &triangle in &self.around[corner as usize] {
            for other in self.corners[triangle as usize] {
                if other == corner {
                    continue;
                }
                match found.iter_mut().find(|(known, _)| *known == other) {
                    Some((_, count)) => *count += 1,
                    None => found.push((other, 1)),
                }
            }
        }
        found
    }

    /// Moves a corner onto the neighbour for which it does least harm, if any will do.
    fn collapse(&mut self, corner: u32, ring: &[(u32, u32)], limit_mm: f64) -> bool {
        let rims = ring.iter().filter(|(_, count)| *count == 1).count();
        if ring.iter().any(|(_, count)| *count > 2) || (rims != 0 && rims != 2) {
            return false;
        }
        let mut ways: Vec<(f64, u32)> = ring
            .iter()
            // A corner of the rim only moves along the rim.
            .filter(|(_, count)| rims == 0 || *count == 1)
            .filter(|&&(onto, shared)| self.joins_well(corner, ring, onto, shared))
            .filter_map(|&(onto, _)| Some((self.harm(corner, onto, limit_mm)?, onto)))
            .collect();
        ways.sort_by(|a, b| a.0.total_cmp(&b.0));
        for &(_, onto) in ways.iter().take(2) {
            let Some(rim_mm) = self.rim_after(corner, ring, onto, limit_mm) else { continue };
            if let Some(trial) = self.trial(corner, onto, limit_mm) {
                self.apply(corner, onto, &trial);
                for &(end, _) in ring.iter().filter(|(_, count)| *count == 1) {
                    self.rim_mm[end as usize] = self.rim_mm[end as usize].max(rim_mm);
                }
                return true;
            }
        }
        false
    }

    /// How far at most the rim would lie from where it was, mm, were a corner of it moved along it;
    /// 0 for a corner inside, none when too far. The rim was within `rim_mm` before, and the two
    /// sides that go are within their corner's distance of the one that comes.
    fn rim_after(&self, corner: u32, ring: &[(u32, u32)], onto: u32, limit_mm: f64) -> Option<f32> {
        let mut ends = ring.iter().filter(|(_, count)| *count == 1).map(|(end, _)| *end);
        let Some(other) = ends.find(|end| *end != onto) else { return Some(0.0) };
        let [a, b] = [onto, other].map(|end| parry_from_point(&self.at[end as usize]));
        let point = parry_from_point(&self.at[corner as usize]);
        let off_mm = Segment::new(a, b).distance_to_local_point(point, true);
        let rim_mm = f64::from(self.rim_mm[corner as usize]) + off_mm;
        (rim_mm <= limit_mm).then_some(rim_mm as f32)
    }

    /// Whether the surface stays a surface: the two have no other neighbour in common than those
    /// across their shared triangles, and no triangle comes to lie on another.
    fn joins_well(&self, corner: u32, ring: &[(u32, u32)], onto: u32, shared: u32) -> bool {
        let beside = self.neighbours(onto);
        if beside.iter().any(|(_, count)| *count > 2) {
            return false;
        }
        let common =
            beside.iter().filter(|(one, _)| ring.iter().any(|(other, _)| other == one)).count();
        let merged = self.around[corner as usize].len() + self.around[onto as usize].len();
        let lands_on_another = ring.len() == 3
            && self.around[onto as usize].iter().any(|&triangle| {
                let corners = self.corners[triangle as usize];
                !corners.contains(&corner)
                    && corners
                        .iter()
                        .all(|one| *one == onto || ring.iter().any(|(other, _)| other == one))
            });
        common == shared as usize && merged <= MOST_AROUND + 4 && !lands_on_another
    }

    /// The corners of a triangle with one of them moved.
    fn moved(&self, triangle: u32, corner: u32, onto: u32) -> [Point; 3] {
        self.corners[triangle as usize]
            .map(|one| self.at[if one == corner { onto } else { one } as usize])
    }

    /// A corner taken out or a point of an original triangle.
    fn sample(&self, sample: u32) -> Point {
        match (sample as usize).checked_sub(self.at.len()) {
            None => self.at[sample as usize],
            Some(which) => {
                let triangle = self.of[which] as usize;
                let corners = self.original.corners(triangle);
                let which = (sample - self.first[triangle]) as usize;
                carried(&corners, self.limit_mm).nth(which).unwrap_or(corners[0])
            }
        }
    }

    /// How far the corner itself would lie from what takes its place; none when a triangle would
    /// turn over or become a sliver, or when it is too far.
    fn harm(&self, corner: u32, onto: u32, limit_mm: f64) -> Option<f64> {
        let mut nearest = f64::INFINITY;
        for &triangle in &self.around[corner as usize] {
            if self.corners[triangle as usize].contains(&onto) {
                continue;
            }
            let before = self.corners[triangle as usize].map(|one| self.at[one as usize]);
            let after = self.moved(triangle, corner, onto);
            let (old, new) = (normal(&before), normal(&after));
            let upright = old.dot(&new) > LEAST_TURN * old.norm() * new.norm();
            if !upright || height_share(&after) < LEAST_HEIGHT.min(height_share(&before)) {
                return None;
            }
            nearest = nearest.min(distance_mm(&after, &self.at[corner as usize]));
        }
        (nearest <= limit_mm).then_some(nearest)
    }

    /// Where every corner that the changed triangles stand for goes; none when one would lie too far
    /// from all of them.
    fn trial(&self, corner: u32, onto: u32, limit_mm: f64) -> Option<Trial> {
        let all = &self.around[corner as usize];
        let mut trial = Trial::default();
        let stays = |triangle: &&u32| !self.corners[**triangle as usize].contains(&onto);
        trial.changed.extend(all.iter().filter(stays));
        let places: Vec<[Point; 3]> =
            trial.changed.iter().map(|&triangle| self.moved(triangle, corner, onto)).collect();
        let mut place = |carried: u32| {
            let point = &self.sample(carried);
            let (which, far) = places
                .iter()
                .enumerate()
                .map(|(which, place)| (which, distance_mm(place, point)))
                .min_by(|a, b| a.1.total_cmp(&b.1))?;
            trial.carried.push((carried, which));
            (far <= limit_mm && trial.carried.len() <= MOST_CARRIED).then_some(())
        };
        place(corner)?;
        for &triangle in all {
            let mut carried = self.head[triangle as usize];
            while carried != NONE {
                place(carried)?;
                carried = self.next[carried as usize];
            }
        }
        Some(trial)
    }

    fn apply(&mut self, corner: u32, onto: u32, trial: &Trial) {
        let all = std::mem::take(&mut self.around[corner as usize]);
        for &triangle in &all {
            self.head[triangle as usize] = NONE;
            if self.corners[triangle as usize].contains(&onto) {
                self.alive[triangle as usize] = false;
                for one in self.corners[triangle as usize] {
                    self.around[one as usize].retain(|known| *known != triangle);
                }
            } else {
                let moved = |one: u32| if one == corner { onto } else { one };
                self.corners[triangle as usize] = self.corners[triangle as usize].map(moved);
                self.around[onto as usize].push(triangle);
            }
        }
        for &(carried, which) in &trial.carried {
            let triangle = trial.changed[which] as usize;
            self.next[carried as usize] = self.head[triangle];
            self.head[triangle] = carried;
        }
    }
}
