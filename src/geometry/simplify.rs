//! A dense surface with fewer triangles, within a stated distance of the scanned one.

use parry3d::query::PointQuery;
use parry3d::shape::{Segment, TriMesh, Triangle};

use crate::frame::parry_from_point;
use crate::geometry::Triangles;
use crate::geometry::clean::drop_unused;
use crate::model::Point;

/// Share of the stated deviation that is aimed at: between the samples that are carried along the
/// surface may lie a little farther off, and that is measured afterwards.
const AIM: f64 = 0.85;

/// A triangle whose longest side is this many times the limit or more carries more points along, as
/// if it were divided, into so many parts at most.
const CARRIED_EVERY: f64 = 2.0;
const MOST_CARRIED_PARTS: usize = 6;

/// Most parts into which the measurement divides a triangle's side.
const MOST_PARTS: usize = 6;

/// Each further try after the measurement came out above the stated deviation.
const STRICTER: f64 = 0.7;
const TRIES: usize = 5;

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

/// A simplified surface and how far the original lies from it.
#[derive(Debug, Clone)]
pub struct Simplified {
    /// The surface; its corners are corners of the original.
    pub triangles: Triangles,
    /// Largest distance of the original from it, mm, measured as [`deviation_mm`] does.
    pub deviation_mm: f64,
}

/// The surface with as many corners taken out as `within_mm` allows.
///
/// Method: corners are moved onto a neighbour and vanish, while every corner that vanished and every
/// original triangle, at points strewn over it, stays within the limit of the triangles that took
/// its place; a rim stays within the limit of where it was, nothing is closed or torn, no triangle
/// turns over. Then the distance is measured more densely, and where it is above `within_mm` all is
/// done again more strictly; in the end the original itself is the answer. The order is that of the
/// corners: same input, same output.
///
/// `progress` is told the share of one try that is done.
pub fn simplified(
    surface: &Triangles,
    within_mm: f64,
    progress: &mut dyn FnMut(f64),
) -> Simplified {
    let mut limit_mm = within_mm * AIM;
    for _ in 0..TRIES {
        let triangles = Work::of(surface, limit_mm).thinned(limit_mm, progress);
        if let Some(deviation_mm) = deviation_mm(surface, &triangles, within_mm)
            && deviation_mm <= within_mm
        {
            return Simplified { triangles, deviation_mm };
        }
        limit_mm *= STRICTER;
    }
    Simplified { triangles: surface.clone(), deviation_mm: 0.0 }
}

/// Largest distance from `from` to the surface `to`, mm; none when `to` has no triangle. It is taken
/// at every corner, in the middle of every side, and inside every triangle at points about `step_mm`
/// apart, at most 21 of them.
pub fn deviation_mm(from: &Triangles, to: &Triangles, step_mm: f64) -> Option<f64> {
    let vertices = to.vertices.iter().map(parry_from_point).collect();
    let mesh = TriMesh::new(vertices, to.indices.clone()).ok()?;
    let far = |point: &Point| mesh.distance_to_local_point(parry_from_point(point), true).abs();
    // Two halves at a time; the largest doesn't depend on the order.
    let (corners, rest) = from.vertices.split_at(from.vertices.len() / 2);
    let half = from.indices.len() / 2;
    let largest = |corners: &[Point], triangles: std::ops::Range<usize>| {
        let at_corners = corners.iter().map(far).fold(0.0, f64::max);
        triangles
            .map(|index| {
                strewn(&from.corners(index), step_mm).map(|point| far(&point)).fold(0.0, f64::max)
            })
            .fold(at_corners, f64::max)
    };
    Some(std::thread::scope(|scope| {
        let first = scope.spawn(|| largest(corners, 0..half));
        let second = largest(rest, half..from.indices.len());
        // A thread that panicked passes it on, as any bug would.
        first.join().unwrap_or(f64::INFINITY).max(second)
    }))
}

/// The surface while corners are taken out of it.
struct Work<'a> {
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
    fn of(surface: &'a Triangles, limit_mm: f64) -> Work<'a> {
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

    fn thinned(mut self, limit_mm: f64, progress: &mut dyn FnMut(f64)) -> Triangles {
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

/// The middles of a triangle's sides, and points inside it.
fn strewn(corners: &[Point; 3], step_mm: f64) -> impl Iterator<Item = Point> {
    let [a, b, c] = *corners;
    let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
    let parts = ((longest / step_mm).ceil() as usize).clamp(1, MOST_PARTS);
    let half = |from: &Point, to: &Point| nalgebra::center(from, to);
    lattice(corners, parts).chain([half(&a, &b), half(&b, &c), half(&c, &a)])
}

/// The points of a triangle that are carried along: the middle of its longest side, and inside it one
/// or, where it is large beside the limit, more.
fn carried(corners: &[Point; 3], limit_mm: f64) -> impl Iterator<Item = Point> {
    let [a, b, c] = *corners;
    let (ab, bc, ca) = ((b - a).norm_squared(), (c - b).norm_squared(), (a - c).norm_squared());
    let longest = ab.max(bc).max(ca);
    let middle = if ab >= longest {
        nalgebra::center(&a, &b)
    } else if bc >= longest {
        nalgebra::center(&b, &c)
    } else {
        nalgebra::center(&c, &a)
    };
    let parts =
        ((longest.sqrt() / (CARRIED_EVERY * limit_mm)) as usize).clamp(1, MOST_CARRIED_PARTS);
    std::iter::once(middle).chain(lattice(corners, parts))
}

/// Points inside a triangle whose sides are divided into `parts`.
fn lattice(&[a, b, c]: &[Point; 3], parts: usize) -> impl Iterator<Item = Point> + use<> {
    let third = move |index: usize| (index as f64 + 1.0 / 3.0) / parts as f64;
    (0..parts)
        .flat_map(move |i| (0..parts - i).map(move |j| a + (b - a) * third(i) + (c - a) * third(j)))
}

fn normal([a, b, c]: &[Point; 3]) -> crate::model::Vector {
    (b - a).cross(&(c - a))
}

/// Height over the longest side as a share of that side.
fn height_share(corners: &[Point; 3]) -> f64 {
    let [a, b, c] = corners;
    let longest = (b - a).norm_squared().max((c - b).norm_squared()).max((a - c).norm_squared());
    normal(corners).norm() / longest.max(f64::MIN_POSITIVE)
}

fn distance_mm(corners: &[Point; 3], point: &Point) -> f64 {
    let [a, b, c] = corners.each_ref().map(parry_from_point);
    Triangle::new(a, b, c).distance_to_local_point(parry_from_point(point), true)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::clean::edges;

    /// A wavy sheet of `n` × `n` squares of 1 mm.
    fn sheet(n: u32, height: impl Fn(f64, f64) -> f64) -> Triangles {
        let mut sheet = Triangles::default();
        for x in 0..=n {
            for y in 0..=n {
                let (x, y) = (f64::from(x), f64::from(y));
                sheet.vertices.push(Point::new(x, y, height(x, y)));
            }
        }
        for x in 0..n {
            for y in 0..n {
                let a = x * (n + 1) + y;
                let b = a + n + 1;
                sheet.indices.extend([[a, b, b + 1], [a, b + 1, a + 1]]);
            }
        }
        sheet
    }

    #[test]
    fn a_flat_sheet_thins_out_without_moving() {
        let flat = sheet(40, |_, _| 3.0);
        let thin = simplified(&flat, 0.1, &mut |_| {});
        assert!(thin.triangles.indices.len() < 160, "{}", thin.triangles.indices.len());
        assert!(thin.deviation_mm < 1e-9);
        let area: f64 = thin.triangles.each().map(|corners| normal(&corners).norm() / 2.0).sum();
        assert!((area - 1600.0).abs() < 2.0 * 160.0 * 0.1, "{area}");
        assert!(edges(&thin.triangles).crowded == 0 && edges(&thin.triangles).at_odds == 0);
    }

    #[test]
    fn a_wavy_sheet_stays_within_the_stated_distance() {
        let wavy = sheet(60, |x, y| 4.0 * (x / 9.0).sin() * (y / 7.0).cos());
        let mut before = usize::MAX;
        for within_mm in [0.02, 0.1, 0.5] {
            let thin = simplified(&wavy, within_mm, &mut |_| {});
            assert!(thin.deviation_mm <= within_mm, "{} of {within_mm}", thin.deviation_mm);
            let count = thin.triangles.indices.len();
            assert!(count < before, "{count} triangles at {within_mm}, {before} before");
            before = thin.triangles.indices.len();
        }
        assert!(before < 600, "{before}");
    }

    #[test]
    fn a_closed_body_stays_closed_and_two_sheets_stay_two() {
        let ball = {
            let bar = Triangles::cylinder(&Point::origin(), &Point::new(0.0, 0.0, 90.0), 30.0);
            bar.welded()
        };
        let thin = simplified(&ball, 1.0, &mut |_| {});
        assert!(edges(&thin.triangles).closed());
        assert!(thin.triangles.indices.len() < ball.indices.len() / 2);
        let volume = thin.triangles.volume_mm3() / ball.volume_mm3();
        assert!((0.9..1.0 + 1e-9).contains(&volume), "{volume}");
        // What is as simple as can be comes back.
        let tetrahedron = Triangles {
            vertices: [[0.0; 3], [9.0, 0.0, 0.0], [0.0, 9.0, 0.0], [0.0, 0.0, 9.0]]
                .map(Point::from)
                .to_vec(),
            indices: vec![[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]],
        };
        let same = simplified(&tetrahedron, 50.0, &mut |_| {});
        assert_eq!(same.triangles, tetrahedron);
    }
}
