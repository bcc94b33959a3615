//! Where a picture is taken from.

use crate::model::{Point, Vector};

/// A named place to take a picture from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// Standing behind the car, looking in under the lid.
    Behind,
    /// From above, seen towards the nose.
    Above,
    /// Over the left rear corner.
    Left,
    /// Over the right rear corner.
    Right,
    /// Close to the pump, from the side of the boot from which most of it is seen.
    Close,
}

impl View {
    /// Every view by the name that the command line uses.
    pub const ALL: [(&'static str, View); 5] = [
        ("behind", View::Behind),
        ("above", View::Above),
        ("left", View::Left),
        ("right", View::Right),
        ("close", View::Close),
    ];

    /// Out of the boot, towards who looks.
    pub(super) fn towards_eye(self) -> Vector {
        match self {
            View::Behind => Vector::new(-1.0, 0.0, 0.95),
            View::Above => Vector::new(-0.04, 0.0, 1.0),
            View::Left => Vector::new(-0.85, 0.75, 0.80),
            View::Right => Vector::new(-0.85, -0.75, 0.80),
            View::Close => Vector::new(-0.7, 0.0, 0.75),
        }
    }
}

/// A pinhole camera in the vehicle frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// The eye, mm.
    pub eye: Point,
    /// Right in the picture, unit length.
    pub right: Vector,
    /// Up in the picture, unit length.
    pub up: Vector,
    /// Into the picture, unit length.
    pub ahead: Vector,
    /// Half the picture's height at a distance of 1.
    pub half_height: f64,
    /// Width over height.
    pub aspect: f64,
}

/// Half the angle of view upwards, degrees: little enough not to bend things.
const HALF_ANGLE_DEG: f64 = 14.0;

impl Camera {
    /// A camera that looks from the direction `towards_eye` and just holds all of `points`, with a
    /// margin as a share of the picture; none when there is no point.
    pub fn holding(
        points: &[Point],
        towards_eye: &Vector,
        aspect: f64,
        margin: f64,
    ) -> Option<Camera> {
        let back = towards_eye.try_normalize(1e-9)?;
        let ahead = -back;
        let right = ahead.cross(&Vector::z()).try_normalize(1e-6).unwrap_or(-Vector::y());
        let up = right.cross(&ahead);
        let tangent = HALF_ANGLE_DEG.to_radians().tan();
        let fit = (1.0 - margin).max(0.1);
        let (fit_up, fit_right) = (tangent * fit, tangent * aspect * fit);
        // The planes of view through each side's outermost point; where they meet sets the eye.
        let first = points.first()?;
        let most = |of: &dyn Fn(&Vector) -> f64| {
            points.iter().map(|point| of(&(point - first))).fold(f64::NEG_INFINITY, f64::max)
        };
        let side = |axis: Vector, slope: f64| {
            let plus = most(&|p: &Vector| p.dot(&axis) - slope * p.dot(&ahead));
            let minus = most(&|p: &Vector| -p.dot(&axis) - slope * p.dot(&ahead));
            // At a depth d behind `first`: axis·p ≤ centre + slope (d + ahead·p) on both sides.
            ((plus - minus) / 2.0, (plus + minus) / 2.0 / slope)
        };
        let (centre_right, depth_right) = side(right, fit_right);
        let (centre_up, depth_up) = side(up, fit_up);
        let nearest = most(&|p: &Vector| -p.dot(&ahead));
        let depth = depth_right.max(depth_up).max(nearest + 50.0);
        let eye = first + right * centre_right + up * centre_up - ahead * depth;
        Some(Camera { eye, right, up, ahead, half_height: tangent, aspect })
    }

    /// A point as right, up and ahead of the eye, mm.
    pub fn seen(&self, point: &Point) -> [f64; 3] {
        let offset = point - self.eye;
        [offset.dot(&self.right), offset.dot(&self.up), offset.dot(&self.ahead)]
    }

    /// Where a point stands in a picture of this size, from its upper left corner, and how far
    /// ahead; none behind the eye.
    pub fn pixel(&self, point: &Point, width: f64, height: f64) -> Option<(f64, f64, f64)> {
        let [right, up, ahead] = self.seen(point);
        if ahead < 1.0 {
            return None;
        }
        let scale = height / 2.0 / (self.half_height * ahead);
        Some((width / 2.0 + right * scale, height / 2.0 - up * scale, ahead))
    }
}
