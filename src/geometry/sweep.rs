//! The smallest gap to a body that moves, over its whole travel.

use std::collections::BinaryHeap;

use super::Course;
use super::Solid;
use super::frontier::Reached;
use super::gap::{Gap, gap, rough_gap_moved};

/// The smallest gap over a travel, and where in the travel it comes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TravelGap {
    /// The gap there, first solid the still one.
    pub gap: Gap,
    /// The travel of what leads the course, degrees or mm from where it was measured.
    pub travel: f64,
}

/// How far off gaps are still measured where only those up to a limit are asked for, as a multiple of it: the
/// farther a sample is known to be from everything, the longer the stretch round it that needs no other.
const FAR: f64 = 4.0;

/// Gap queries that one solid's travel may cost before its bound is taken for its gap.
const MOST_QUERIES: usize = 10_000;

/// A stretch of travel with the gap at both ends.
struct Stretch {
    from: f64,
    to: f64,
    gap_from_mm: f64,
    gap_to_mm: f64,
    /// The farthest any point goes per degree or mm in it.
    rate_mm: f64,
}

impl Stretch {
    /// No gap in it is smaller: each point of the mover is within half its way of one of the ends.
    fn bound_mm(&self) -> f64 {
        f64::midpoint(self.gap_from_mm, self.gap_to_mm) - self.rate_mm * (self.to - self.from) / 2.0
    }
}

/// The smallest gap between `still` solids and `moving` ones over the whole of `course`, if it is at
/// most `up_to_mm`: never larger than the true one, and less by `close_mm` at most.
///
/// Between samples nothing is missed: no point of a solid travels farther than its distance from the
/// axis times the angle, so the gap between two samples can't fall below a known bound. The stretch
/// with the lowest bound is halved first, until no bound lies under the best gap by more than
/// `close_mm`; the lowest bound left is given. Should that take more than 10,000 queries it is lower
/// still: less room than there is, never more. Where they overlap and a mesh takes part, the place is
/// where a bound below the depth is largest, and the depth given is that of [`gap`] there.
pub fn travel_gap(
    still: &[Solid],
    moving: &[Solid],
    course: &Course,
    up_to_mm: f64,
    close_mm: f64,
) -> Option<TravelGap> {
    travel_gap_or_overlap(still, moving, course, up_to_mm, close_mm, false)
}

/// Like [`travel_gap`], but with `any_overlap`, where they meet, the first overlap that is come upon is given,
/// with a bound below its depth: the deepest takes a search.
pub(crate) fn travel_gap_or_overlap(
    still: &[Solid],
    moving: &[Solid],
    course: &Course,
    up_to_mm: f64,
    close_mm: f64,
    any_overlap: bool,
) -> Option<TravelGap> {
    let mut best: Option<TravelGap> = None;
    let mut lowest_mm = f64::INFINITY;
    // What comes within `close_mm` of the limit may be within the limit.
    let up_to_mm = up_to_mm + close_mm;
    for mover in moving {
        let search = Search { still, mover, course, up_to_mm, close_mm, any_overlap };
        let mut found = None;
        let beat_mm = best.map_or(up_to_mm, |best| best.gap.distance_mm.min(up_to_mm));
        lowest_mm = lowest_mm.min(search.run(beat_mm, &mut found));
        if let Some(found) = found
            && best.is_none_or(|best: TravelGap| found.gap.distance_mm < best.gap.distance_mm)
        {
            best = Some(if any_overlap { found } else { search.measured_whole(found) });
        }
        if any_overlap && best.is_some_and(|best| best.gap.distance_mm < 0.0) {
            return best;
        }
    }
    let mut best = best?;
    best.gap.distance_mm = best.gap.distance_mm.min(lowest_mm);
    (best.gap.distance_mm <= up_to_mm - close_mm).then_some(best)
}

struct Search<'a> {
    still: &'a [Solid],
    mover: &'a Solid,
    course: &'a Course,
    up_to_mm: f64,
    close_mm: f64,
    /// Whether the first overlap will do.
    any_overlap: bool,
}

impl Search<'_> {
    /// Finds a gap smaller than `beat_mm`, if there is one, and the smallest of them; gives a bound below
    /// all gaps of the travel.
    fn run(&self, beat_mm: f64, best: &mut Option<TravelGap>) -> f64 {
        let arms_mm = self.course.arms_mm(self.mover);
        let mut front = BinaryHeap::new();
        let mut stretches: Vec<Stretch> = Vec::new();
        let mut queries = 0;
        let knots = self.course.knots();
        let ends: Vec<f64> = knots.iter().map(|knot| self.measure(*knot, best)).collect();
        queries += ends.len();
        let open = |stretch: Stretch, stretches: &mut Vec<Stretch>, front: &mut BinaryHeap<_>| {
            front.push(Reached { key: stretch.bound_mm(), cell: stretches.len() });
            stretches.push(stretch);
        };
        for (pair, gaps) in knots.windows(2).zip(ends.windows(2)) {
            let (from, to) = (pair[0], pair[1]);
            let rate_mm = self.course.rate_mm(&arms_mm, from, to);
            let whole = Stretch { from, to, gap_from_mm: gaps[0], gap_to_mm: gaps[1], rate_mm };
            open(whole, &mut stretches, &mut front);
        }
        while let Some(Reached { key: lowest, cell }) = front.pop() {
            let beaten_mm = best.map_or(beat_mm, |best| best.gap.distance_mm.min(beat_mm));
            let Stretch { from, to, gap_from_mm, gap_to_mm, rate_mm } = stretches[cell];
            if self.any_overlap && best.is_some_and(|best| best.gap.distance_mm < 0.0) {
                return lowest;
            }
            let near_enough = lowest >= beaten_mm - self.close_mm || (to - from).abs() < 1e-6;
            if near_enough || queries >= MOST_QUERIES {
                return lowest; // every other bound is higher still
            }
            let middle = f64::midpoint(from, to);
            let gap_middle_mm = self.measure(middle, best);
            queries += 1;
            let halves = [
                (from, middle, gap_from_mm, gap_middle_mm),
                (middle, to, gap_middle_mm, gap_to_mm),
            ];
            for (from, to, gap_from_mm, gap_to_mm) in halves {
                let half = Stretch { from, to, gap_from_mm, gap_to_mm, rate_mm };
                open(half, &mut stretches, &mut front);
            }
        }
        // A course of one place has no stretches.
        ends.into_iter().fold(f64::INFINITY, f64::min)
    }

    /// The gap at `travel`, or a bound below it where it is large; keeps the smallest so far.
    fn measure(&self, travel: f64, best: &mut Option<TravelGap>) -> f64 {
        let pose = self.course.pose(travel);
        let far_mm = FAR * self.up_to_mm.max(0.0);
        let mut here_mm = f64::INFINITY;
        for solid in self.still {
            match rough_gap_moved(solid, self.mover, &pose, here_mm.min(far_mm)) {
                Ok(gap) => {
                    here_mm = here_mm.min(gap.distance_mm);
                    if best.is_none_or(|best| gap.distance_mm < best.gap.distance_mm) {
                        *best = Some(TravelGap { gap, travel });
                    }
                }
                Err(apart_mm) => here_mm = here_mm.min(apart_mm),
            }
        }
        here_mm
    }

    /// The same place with the whole depth of what overlaps there.
    fn measured_whole(&self, found: TravelGap) -> TravelGap {
        if found.gap.distance_mm >= 0.0 {
            return found;
        }
        let moved = self.mover.moved(&self.course.pose(found.travel));
        let deepest = self
            .still
            .iter()
            .filter_map(|solid| gap(solid, &moved, 0.0))
            .min_by(|a, b| a.distance_mm.total_cmp(&b.distance_mm));
        match deepest {
            Some(gap) if gap.distance_mm < found.gap.distance_mm => TravelGap { gap, ..found },
            _ => found,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::course::pose_at;
    use crate::model::{Motion, Mover, MoverKind, Point, Pose, Shape, Vector};

    fn boxed(from: [f64; 3], to: [f64; 3]) -> Solid {
        let shape = Shape::Box { from: Point::from(from), to: Point::from(to) };
        Solid::of(&shape, &Pose::identity(), |_| None).expect("a box")
    }

    fn course(motion: Motion) -> Course {
        let mover = Mover {
            name: "mover".into(),
            kind: MoverKind::Hinge,
            shapes: Vec::new(),
            motion,
            driven: None,
            option: None,
            tolerance_mm: None,
        };
        Course::of(&mover, &[])
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
        let found =
            travel_gap(&[post], &[arm], &course(motion), 60.0, 0.05).expect("it comes near");
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
            let found = travel_gap(
                std::slice::from_ref(&post),
                &[drum.clone(), fin],
                &course(motion),
                75.0,
                0.1,
            )
            .expect("it comes near");
            assert!(found.gap.distance_mm <= -4.9, "{at_deg}: {found:?}");
        }
    }

    #[test]
    fn a_slide_that_meets_a_post_overlaps() {
        let tray = boxed([0.0, 0.0, 0.0], [100.0, 100.0, 10.0]);
        let post = boxed([400.0, 40.0, 0.0], [410.0, 50.0, 10.0]);
        let motion = Motion::Slide { along: Vector::x(), from_mm: 0.0, to_mm: 500.0 };
        let found =
            travel_gap(&[post], &[tray], &course(motion), 60.0, 0.1).expect("it meets the post");
        assert!(found.gap.distance_mm < 0.0);
    }
}
