//! A dense surface with fewer triangles, within a stated distance of the scanned one.

use parry3d::query::PointQuery;
use parry3d::shape::TriMesh;

use super::Triangles;
use super::strewn::strewn;
use super::thinning::Work;
use crate::frame::parry_from_point;
use crate::model::Point;

/// Share of the stated deviation that is aimed at: between the samples that are carried along the
/// surface may lie a little farther off, and that is measured afterwards.
const AIM: f64 = 0.85;

/// Each further try after the measurement came out above the stated deviation.
const STRICTER: f64 = 0.7;
const TRIES: usize = 5;

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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::clean::edges;
    use crate::geometry::strewn::normal;

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
