//! The smallest gap to a body that moves, over its whole travel.

use super::gap::{Gap, gap};
use super::{Bounds, Solid};
use crate::model::{Motion, Point, Pose, Vector};

/// The smallest gap over a travel, and where in the travel it comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TravelGap {
    /// The gap there, first solid the still one.
    pub gap: Gap,
    /// Degrees or mm of travel from where the mover was measured.
    pub travel: f64,
}

/// Gap queries one travel may cost before the search settles for what it has.
const MOST_QUERIES: usize = 600;

/// The smallest gap between `still` solids and `moving` ones over the whole of `motion`, if it is at
/// most `up_to_mm`; found to within `close_mm`.
///
/// Between samples nothing is missed: no point of the mover travels farther than its distance from
/// the axis times the angle, so the gap between two samples can't fall below a known bound; where
/// that bound lies under the best gap so far the stretch is halved and looked at again.
pub fn travel_gap(
    still: &[Solid],
    moving: &[Solid],
    motion: &Motion,
    up_to_mm: f64,
    close_mm: f64,
) -> Option<TravelGap> {
    let (from, to) = range(motion);
    let rate_mm = moving.iter().map(|solid| rate_mm(solid, motion)).fold(0.0, f64::max);
    let still_bounds = still.iter().map(Solid::bounds).copied().reduce(|a, b| a.with(&b))?;
    let mut queries = 0;
    let mut best: Option<TravelGap> = None;
    let mut measure = |travel: f64, best: &mut Option<TravelGap>| {
        queries += 1;
        let found = gap_at(still, moving, &still_bounds, &pose_at(motion, travel), up_to_mm);
        if let Some(gap) = found
            && best.is_none_or(|best| gap.distance_mm < best.gap.distance_mm)
        {
            *best = Some(TravelGap { gap, travel });
        }
        (found.map_or(up_to_mm, |gap| gap.distance_mm), queries)
    };
    let (at_from, _) = measure(from, &mut best);
    let (at_to, _) = measure(to, &mut best);
    let mut stretches = vec![(from, at_from, to, at_to)];
    while let Some((a, gap_a, b, gap_b)) = stretches.pop() {
        let lowest = f64::midpoint(gap_a, gap_b) - rate_mm * (b - a).abs() / 2.0;
        let beaten = best.map_or(up_to_mm, |best| best.gap.distance_mm);
        if lowest >= beaten - close_mm || (b - a).abs() < 1e-6 {
            continue;
        }
        let middle = f64::midpoint(a, b);
        let (gap_middle, used) = measure(middle, &mut best);
        if used >= MOST_QUERIES {
            break;
        }
        // The half with the smaller gap last, so that it is looked at first.
        let halves = [(a, gap_a, middle, gap_middle), (middle, gap_middle, b, gap_b)];
        if gap_a < gap_b {
            stretches.extend([halves[1], halves[0]]);
        } else {
            stretches.extend(halves);
        }
    }
    best
}

/// Both ends of a travel, degrees or mm.
pub(crate) fn range(motion: &Motion) -> (f64, f64) {
    match *motion {
        Motion::Swing { from_deg, to_deg, .. } => (from_deg, to_deg),
        Motion::Slide { from_mm, to_mm, .. } => (from_mm, to_mm),
    }
}

/// The pose that carries a mover from where it was measured to `travel` degrees or mm.
pub(crate) fn pose_at(motion: &Motion, travel: f64) -> Pose {
    match *motion {
        Motion::Swing { through, along, .. } => {
            let axis = nalgebra::Unit::new_normalize(along);
            let turn = nalgebra::UnitQuaternion::from_axis_angle(&axis, travel.to_radians());
            let shift = through.coords - turn * through.coords;
            Pose::from_parts(nalgebra::Translation3::from(shift), turn)
        }
        Motion::Slide { along, .. } => {
            let shift = along.normalize() * travel;
            Pose::translation(shift.x, shift.y, shift.z)
        }
    }
}

/// The farthest any point of the mover goes per degree or mm of travel, mm.
fn rate_mm(moving: &Solid, motion: &Motion) -> f64 {
    match *motion {
        Motion::Swing { through, along, .. } => {
            let axis: Vector = along.normalize();
            let arm = |point: &Point| {
                let offset = point - through;
                (offset - axis * axis.dot(&offset)).norm()
            };
            moving.triangles().vertices.iter().map(arm).fold(0.0, f64::max).to_radians()
        }
        Motion::Slide { .. } => 1.0,
    }
}

fn gap_at(
    still: &[Solid],
    moving: &[Solid],
    still_bounds: &Bounds,
    pose: &Pose,
    up_to_mm: f64,
) -> Option<Gap> {
    let mut best: Option<Gap> = None;
    for mover in moving {
        let moved = mover.moved(pose);
        if moved.bounds().distance_mm(still_bounds) > up_to_mm {
            continue;
        }
        for solid in still {
            if let Some(found) = gap(solid, &moved, up_to_mm)
                && best.is_none_or(|best| found.distance_mm < best.distance_mm)
            {
                best = Some(found);
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::Shape;

    fn boxed(from: [f64; 3], to: [f64; 3]) -> Solid {
        let shape = Shape::Box { from: Point::from(from), to: Point::from(to) };
        Solid::of(&shape, &Pose::identity(), |_| None).expect("a box")
    }

    #[test]
    fn an_arm_that_sweeps_past_is_caught_between_its_ends() {
        // A thin arm 300 mm long turns a quarter about z; a small box stands at 45°, 320 mm out:
        // the tip passes it with 320 − 300 − half its diagonal.
        let arm = boxed([0.0, -0.5, 0.0], [300.0, 0.5, 10.0]);
        let off = 320.0_f64 / 2.0_f64.sqrt();
        let post = boxed([off - 5.0, off - 5.0, 0.0], [off + 5.0, off + 5.0, 10.0]);
        let motion = Motion::Swing {
            through: Point::origin(),
            along: Vector::z(),
            from_deg: 0.0,
            to_deg: 90.0,
        };
        let found = travel_gap(&[post], &[arm], &motion, 60.0, 0.05).expect("it comes near");
        let expected = 320.0 - 300.0 - 50.0_f64.sqrt();
        assert!((found.gap.distance_mm - expected).abs() < 0.1, "{found:?}");
        assert!((found.travel - 45.0).abs() < 1.0, "{found:?}");
    }

    #[test]
    fn a_slide_that_meets_a_post_overlaps() {
        let tray = boxed([0.0, 0.0, 0.0], [100.0, 100.0, 10.0]);
        let post = boxed([400.0, 40.0, 0.0], [410.0, 50.0, 10.0]);
        let motion = Motion::Slide { along: Vector::x(), from_mm: 0.0, to_mm: 500.0 };
        let found = travel_gap(&[post], &[tray], &motion, 60.0, 0.1).expect("it meets the post");
        assert!(found.gap.distance_mm < 0.0);
    }
}
