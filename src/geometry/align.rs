//! Placing a scan: the turn, shift and scale that carry measured points onto known ones.

use nalgebra::{Matrix3, Rotation3, Translation3, UnitQuaternion};

use crate::model::{Point, Pose, Vector};

/// A scale about the origin, then a rigid pose.
#[derive(Debug, Clone, PartialEq)]
pub struct Alignment {
    /// Lengths are multiplied by this first.
    pub scale: f64,
    /// Then turned and moved.
    pub pose: Pose,
    /// How far each point misses its target after that, in the target's unit, in the points' order.
    pub residuals: Vec<f64>,
}

impl Alignment {
    /// A source point carried over.
    pub fn apply(&self, point: &Point) -> Point {
        self.pose * Point::from(point.coords * self.scale)
    }

    /// Root mean square of the residuals.
    pub fn rms(&self) -> f64 {
        let count = self.residuals.len().max(1) as f64;
        (self.residuals.iter().map(|miss| miss * miss).sum::<f64>() / count).sqrt()
    }
}

/// Why points can't be aligned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AlignError {
    /// Fewer than three pairs.
    #[error("{0} pairs of points; at least 3 are needed")]
    TooFew(usize),
    /// The two lists differ in length.
    #[error("{0} measured points for {1} known ones")]
    Unpaired(usize, usize),
    /// All points on one line: the turn about it is not determined.
    #[error("the points lie on one line; one of them must stand off it")]
    OnOneLine,
    /// A coordinate that is not a number.
    #[error("a coordinate that is not a number")]
    NotFinite,
}

/// The least-squares alignment of `from` onto `to`, pair by pair, with the scale free or kept at 1.
/// A mirror image is never used, even where it would fit better.
///
/// Source: Umeyama, "Least-squares estimation of transformation parameters between two point
/// patterns", IEEE PAMI 13 (1991), with its determinant correction.
///
/// # Errors
/// When there are fewer than three pairs, all on one line, or a coordinate is not a number.
pub fn align(from: &[Point], to: &[Point], free_scale: bool) -> Result<Alignment, AlignError> {
    if from.len() != to.len() {
        return Err(AlignError::Unpaired(from.len(), to.len()));
    }
    if from.len() < 3 {
        return Err(AlignError::TooFew(from.len()));
    }
    if from.iter().chain(to).any(|point| !point.iter().all(|value| value.is_finite())) {
        return Err(AlignError::NotFinite);
    }
    let count = from.len() as f64;
    let (from_mean, to_mean) = (mean(from), mean(to));
    let mut covariance = Matrix3::zeros();
    let mut spread = 0.0;
    for (source, target) in from.iter().zip(to) {
        let (a, b) = (source.coords - from_mean, target.coords - to_mean);
        covariance += b * a.transpose() / count;
        spread += a.norm_squared() / count;
    }
    if on_one_line(from, &from_mean) || on_one_line(to, &to_mean) {
        return Err(AlignError::OnOneLine);
    }
    let svd = covariance.svd(true, true);
    let (Some(u), Some(v_t)) = (svd.u, svd.v_t) else { return Err(AlignError::NotFinite) };
    // Turning, not mirroring: the least singular direction changes sign where it must.
    let mut signs = Vector::new(1.0, 1.0, 1.0);
    if u.determinant() * v_t.determinant() < 0.0 {
        signs[svd.singular_values.imin()] = -1.0;
    }
    let turn = u * Matrix3::from_diagonal(&signs) * v_t;
    let scale = if free_scale { svd.singular_values.dot(&signs) / spread } else { 1.0 };
    let rotation = UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(turn));
    let shift = to_mean - rotation * from_mean * scale;
    let mut found = Alignment {
        scale,
        pose: Pose::from_parts(Translation3::from(shift), rotation),
        residuals: Vec::new(),
    };
    found.residuals =
        from.iter().zip(to).map(|(source, target)| (found.apply(source) - target).norm()).collect();
    Ok(found)
}

fn mean(points: &[Point]) -> Vector {
    points.iter().map(|point| point.coords).sum::<Vector>() / points.len() as f64
}

/// Whether the points spread along one direction only, to a millionth of their size.
fn on_one_line(points: &[Point], mean: &Vector) -> bool {
    let mut scatter = Matrix3::zeros();
    for point in points {
        let offset = point.coords - mean;
        scatter += offset * offset.transpose();
    }
    let mut spreads: Vec<f64> = scatter.symmetric_eigenvalues().iter().copied().collect();
    spreads.sort_by(f64::total_cmp);
    spreads[1] <= spreads[2] * 1e-12
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The three-point example of the 1991 paper, as a library's unit test quotes it: turn by
    /// −33.69°, scale √13 / 5 = 0.7211, shift (−0.8, 0.4), mean squared error 0.5333 (the paper's
    /// printed 0.053 is a misprint by direct calculation).
    #[test]
    fn the_three_points_of_the_paper() {
        let from = [Point::origin(), Point::new(1.0, 0.0, 0.0), Point::new(0.0, 2.0, 0.0)];
        let to = [Point::origin(), Point::new(-1.0, 0.0, 0.0), Point::new(0.0, 2.0, 0.0)];
        let planar = |point: &Point| (point.x, point.y);
        // In the plane the targets are a mirror image; in space a half turn about y would fit
        // exactly. The paper's case is the planar one, so give both a thickness that forbids it.
        let lifted = |points: &[Point; 3]| {
            let mut all = points.to_vec();
            all.extend(points.iter().map(|p| Point::new(p.x, p.y, 1e3)));
            all.extend(points.iter().map(|p| Point::new(p.x, p.y, -1e3)));
            all
        };
        let kept = align(&lifted(&from), &lifted(&to), false).unwrap();
        let turned = kept.pose.rotation * Vector::x();
        assert!((turned.x - 0.832_05).abs() < 1e-4 && (turned.y + 0.554_70).abs() < 1e-4);
        // With the scale kept at 1: t = (−0.9805, 0.2969), r.m.s. 0.7872.
        let (x, y) = planar(&Point::from(kept.pose.translation.vector));
        assert!((x + 0.9805).abs() < 1e-4 && (y - 0.2969).abs() < 1e-4, "{x} {y}");
        assert!((kept.rms() - 0.7872).abs() < 1e-4, "{}", kept.rms());
    }

    #[test]
    fn a_similarity_is_recovered_and_a_mirror_image_is_not() {
        // Six points, 30° about z then (−1, −1, −1), as a public test suite has them.
        let from = [
            [1.0, 1.0, 1.0],
            [3.0, 4.0, 5.0],
            [10.0, 8.0, 6.0],
            [2.0, 4.0, 7.0],
            [7.0, 1.0, 2.0],
            [-14.0, -5.0, 16.0],
        ]
        .map(Point::from);
        let turn = UnitQuaternion::from_euler_angles(0.0, 0.0, 30.0_f64.to_radians());
        let pose = Pose::from_parts(Translation3::new(-1.0, -1.0, -1.0), turn);
        let to = from.map(|point| pose * Point::from(point.coords * 2.5));
        let found = align(&from, &to, true).unwrap();
        assert!((found.scale - 2.5).abs() < 1e-12 && found.rms() < 1e-12);
        assert!((found.pose.rotation.angle().to_degrees() - 30.0).abs() < 1e-9);
        let mirrored = from.map(|point| Point::new(-point.x, point.y, point.z));
        let found = align(&from, &mirrored, true).unwrap();
        assert!(found.rms() > 1.0, "a mirror image must not fit");
        assert!(
            (found.pose.rotation.to_rotation_matrix().matrix().determinant() - 1.0).abs() < 1e-9
        );
    }

    #[test]
    fn points_that_settle_nothing_are_refused() {
        let line = [0.0, 1.0, 2.0].map(|x| Point::new(x, x, x));
        assert_eq!(align(&line, &line, true), Err(AlignError::OnOneLine));
        assert_eq!(align(&line[..2], &line[..2], true), Err(AlignError::TooFew(2)));
        assert_eq!(align(&line, &line[..2], true), Err(AlignError::Unpaired(3, 2)));
    }
}
