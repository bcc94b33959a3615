//! The smallest gap to a body that moves, over its whole travel.

use std::collections::BinaryHeap;

use super::frontier::Reached;
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

/// Gap queries that one solid's travel may cost before its bound is taken for its gap.
const MOST_QUERIES: usize = 1_500;

/// A stretch of travel with the gap at both ends.
struct Stretch {
    from: f64,
    to: f64,
    gap_from_mm: f64,
    gap_to_mm: f64,
}

/// The smallest gap between `still` solids and `moving` ones over the whole of `motion`, if it is at
/// most `up_to_mm`; found to within `close_mm`.
///
/// Between samples nothing is missed: no point of a solid travels farther than its distance from the
/// axis times the angle, so the gap between two samples can't fall below a known bound. The stretch
/// with the lowest bound is halved first, until no bound lies under the best gap by more than
/// `close_mm`. Should that take more than 1,500 queries, the lowest bound left is given: less room
/// than there is, never more.
pub fn travel_gap(
    still: &[Solid],
    moving: &[Solid],
    motion: &Motion,
    up_to_mm: f64,
    close_mm: f64,
) -> Option<TravelGap> {
    let still_bounds = still.iter().map(Solid::bounds).copied().reduce(|a, b| a.with(&b))?;
    let mut best: Option<TravelGap> = None;
    for mover in moving {
        let search = Search { still, still_bounds, mover, motion, up_to_mm, close_mm };
        search.run(&mut best);
    }
    best
}

struct Search<'a> {
    still: &'a [Solid],
    still_bounds: Bounds,
    mover: &'a Solid,
    motion: &'a Motion,
    up_to_mm: f64,
    close_mm: f64,
}

impl Search<'_> {
    fn run(&self, best: &mut Option<TravelGap>) {
        let (from, to) = range(self.motion);
        let rate_mm = rate_mm(self.mover, self.motion);
        let bound = |stretch: &Stretch| {
            f64::midpoint(stretch.gap_from_mm, stretch.gap_to_mm)
                - rate_mm * (stretch.to - stretch.from).abs() / 2.0
        };
        let first = Stretch {
            from,
            to,
            gap_from_mm: self.measure(from, best),
            gap_to_mm: self.measure(to, best),
        };
        let mut front = BinaryHeap::from([Reached { key: bound(&first), cell: 0 }]);
        let mut stretches = vec![first];
        let mut queries = 2;
        while let Some(Reached { key: lowest, cell }) = front.pop() {
            let beaten = best.map_or(self.up_to_mm, |best| best.gap.distance_mm);
            let Stretch { from, to, gap_from_mm, gap_to_mm } = stretches[cell];
            if lowest >= beaten - self.close_mm || (to - from).abs() < 1e-6 {
                return; // every other bound is higher still
            }
            if queries >= MOST_QUERIES {
                if let Some(best) = best {
                    best.gap.distance_mm = lowest;
                }
                return;
            }
            let middle = f64::midpoint(from, to);
            let gap_middle_mm = self.measure(middle, best);
            queries += 1;
            for half in [
                Stretch { from, to: middle, gap_from_mm, gap_to_mm: gap_middle_mm },
                Stretch { from: middle, to, gap_from_mm: gap_middle_mm, gap_to_mm },
            ] {
                front.push(Reached { key: bound(&half), cell: stretches.len() });
                stretches.push(half);
            }
        }
    }

    /// The gap at `travel`, no more than `up_to_mm`; keeps the smallest so far.
    fn measure(&self, travel: f64, best: &mut Option<TravelGap>) -> f64 {
        let moved = self.mover.moved(&pose_at(self.motion, travel));
        if moved.bounds().distance_mm(&self.still_bounds) > self.up_to_mm {
            return self.up_to_mm;
        }
        let nearest = self
            .still
            .iter()
            .filter_map(|solid| gap(solid, &moved, self.up_to_mm))
            .min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm));
        let Some(gap) = nearest else { return self.up_to_mm };
        if best.is_none_or(|best| gap.distance_mm < best.gap.distance_mm) {
            *best = Some(TravelGap { gap, travel });
        }
        gap.distance_mm
    }
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
    fn a_fin_on_a_drum_is_caught_though_the_drum_keeps_its_distance() {
        // A drum of 300 mm turns 45 mm away from a post; a fin 50 mm high, 5 mm wide, hits it.
        let drum = Solid::of(
            &Shape::Cylinder {
                from: Point::origin(),
                to: Point::new(0.0, 0.0, 50.0),
                radius_mm: 300.0,
            },
            &Pose::identity(),
            |_| None,
        )
        .expect("a drum");
        let post = boxed([345.0, -30.0, 0.0], [400.0, 30.0, 50.0]);
        for at_deg in [13.0_f64, 50.0, 77.0, 163.0] {
            let fin = boxed([290.0, -2.5, 0.0], [350.0, 2.5, 50.0]).moved(&pose_at(
                &Motion::Swing {
                    through: Point::origin(),
                    along: Vector::z(),
                    from_deg: 0.0,
                    to_deg: 1.0,
                },
                -at_deg,
            ));
            let motion = Motion::Swing {
                through: Point::origin(),
                along: Vector::z(),
                from_deg: 0.0,
                to_deg: 180.0,
            };
            let found =
                travel_gap(std::slice::from_ref(&post), &[drum.clone(), fin], &motion, 75.0, 0.1)
                    .expect("it comes near");
            assert!(found.gap.distance_mm <= -4.9, "{at_deg}: {found:?}");
        }
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
