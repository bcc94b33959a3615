//! How hard a pump is to turn.

use nalgebra::Matrix3;

use crate::geometry::{Solid, Triangles};
use crate::model::Point;

/// Volume, centroid and second moments of what triangles enclose, mm³, mm and mm⁵ about the centroid.
struct Bulk {
    volume: f64,
    first: nalgebra::Vector3<f64>,
    second: Matrix3<f64>,
}

impl Bulk {
    /// Exact, tetrahedron by tetrahedron from `about`; the covariance of a tetrahedron with one corner
    /// there is V/20 (aaᵀ + bbᵀ + ccᵀ + ssᵀ), s = a + b + c.
    fn of(surface: &Triangles, about: &Point) -> Bulk {
        let mut sum = Bulk { volume: 0.0, first: Default::default(), second: Matrix3::zeros() };
        for [a, b, c] in surface.each() {
            let (a, b, c) = (a - about, b - about, c - about);
            let (volume, s) = (a.dot(&b.cross(&c)) / 6.0, a + b + c);
            sum.volume += volume;
            sum.first += s * (volume / 4.0);
            let squares =
                a * a.transpose() + b * b.transpose() + c * c.transpose() + s * s.transpose();
            sum.second += squares * (volume / 20.0);
        }
        sum
    }
}

/// Moments and products of inertia of `solids` together weighing `mass_kg`, kg mm², about their own
/// centroid, in the frame in which they stand: all of one density, overlaps counted twice.
///
/// None when they enclose no volume. Exact for flat-sided solids; round bars as prisms of 96 sides with
/// the circle's area.
///
/// ```
/// use dryberth::checks::hold::inertia_kg_mm2;
/// use dryberth::geometry::Solid;
/// use dryberth::model::{Point, Pose, Shape};
/// // A cube of 300 mm and 18 kg: m a² / 6 = 0.270 kg m².
/// let shape = Shape::Box { from: Point::new(50.0, 0.0, 0.0), to: Point::new(350.0, 300.0, 300.0) };
/// let cube = Solid::of(&shape, &Pose::identity(), |_| None).unwrap();
/// let inertia = inertia_kg_mm2(&[cube], 18.0).unwrap();
/// assert!((inertia[(0, 0)] - 0.270e6).abs() < 1e-3 && inertia[(0, 1)].abs() < 1e-3);
/// ```
pub fn inertia_kg_mm2(solids: &[Solid], mass_kg: f64) -> Option<Matrix3<f64>> {
    let about = solids.first()?.bounds().centre();
    let mut all = Bulk { volume: 0.0, first: Default::default(), second: Matrix3::zeros() };
    for solid in solids {
        let bulk = Bulk::of(solid.triangles(), &about);
        all.volume += bulk.volume;
        all.first += bulk.first;
        all.second += bulk.second;
    }
    if all.volume <= 0.0 {
        return None;
    }
    let centroid = all.first / all.volume;
    let spread = all.second / all.volume - centroid * centroid.transpose();
    Some((Matrix3::identity() * spread.trace() - spread) * mass_kg)
}
