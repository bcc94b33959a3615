//! How a mover goes while whatever drives it goes through its travel.

use super::{Solid, Triangles};
use crate::model::{Motion, Mover, Point, Pose, Vector};

/// The way of a mover over the travel of what leads it: itself when nothing drives it, else the first
/// driver of its chain, which nothing drives.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    lead: String,
    /// Its own motion first, then those of what carries it, inner to outer.
    stages: Vec<Stage>,
}

/// One motion, and its travel over the lead's, rising in the lead's; straight between.
#[derive(Debug, Clone, PartialEq)]
struct Stage {
    motion: Motion,
    table: Vec<(f64, f64)>,
}

/// Longest chain of drivers that is followed; a layout's inspection refuses rings.
const LONGEST_CHAIN: usize = 64;

impl Course {
    /// The course of `mover` among `movers`, which hold what drives it. What nothing there drives goes
    /// on its own.
    ///
    /// ```
    /// use dryberth::geometry::Course;
    /// use dryberth::model::{Drive, Motion, Mover, MoverKind, Point, Vector};
    /// let swing = |to_deg| Motion::Swing { through: Point::origin(), along: Vector::z(), from_deg: 0.0, to_deg };
    /// let mover = |name: &str, to_deg, driven| Mover {
    ///     name: name.into(), kind: MoverKind::Roof, shapes: vec![], motion: swing(to_deg), driven,
    ///     option: None, tolerance_mm: None,
    /// };
    /// // The second turns twice as fast as the first, the other way.
    /// let table = vec![(0.0, 0.0), (40.0, -80.0)];
    /// let drive = Drive { by: "first".into(), table, carried: false };
    /// let movers = [mover("first", 60.0, None), mover("second", -80.0, Some(drive))];
    /// let course = Course::of(&movers[1], &movers);
    /// assert_eq!((course.lead(), course.range()), ("first", (0.0, 60.0)));
    /// assert_eq!(course.own_travel(10.0), -20.0);
    /// assert_eq!(course.own_travel(50.0), -80.0);
    /// ```
    pub fn of(mover: &Mover, movers: &[Mover]) -> Course {
        let mut chain = vec![mover];
        while let Some(drive) = &chain[chain.len() - 1].driven
            && chain.len() < LONGEST_CHAIN
            && let Some(driver) = movers.iter().find(|driver| driver.name == drive.by)
        {
            chain.push(driver);
        }
        let mut stages: Vec<Stage> = Vec::new();
        // From the lead inwards: each mover's travel over the lead's.
        let mut table: Vec<(f64, f64)> = Vec::new();
        for (index, link) in chain.iter().enumerate().rev() {
            let drive = link.driven.as_ref().filter(|_| index + 1 < chain.len());
            match drive {
                None => {
                    let (from, to) = link.motion.travel();
                    let (low, high) = (from.min(to), from.max(to));
                    table = vec![(low, low), (high, high)];
                }
                Some(drive) => {
                    table = composed(&table, &drive.table);
                    if !drive.carried {
                        stages.clear();
                    }
                }
            }
            stages.push(Stage { motion: link.motion, table: table.clone() });
        }
        stages.reverse();
        let lead = chain[chain.len() - 1].name.clone();
        Course { lead, stages }
    }

    /// The name of the mover whose travel this course is over.
    pub fn lead(&self) -> &str {
        &self.lead
    }

    /// The lead's travel from its lower to its higher end, degrees or mm from where it was measured.
    pub fn range(&self) -> (f64, f64) {
        let table = self.stages.first().map_or(&[][..], |stage| &stage.table[..]);
        let at = |pair: Option<&(f64, f64)>| pair.map_or(0.0, |pair| pair.0);
        (at(table.first()), at(table.last()))
    }

    /// The mover's own travel, degrees or mm from where it was measured, when the lead's is `travel`.
    pub fn own_travel(&self, travel: f64) -> f64 {
        self.stages.first().map_or(0.0, |stage| looked_up(&stage.table, travel))
    }

    /// The pose that carries the mover from where it was measured to the lead's `travel`.
    pub fn pose(&self, travel: f64) -> Pose {
        self.stages.iter().fold(Pose::identity(), |pose, stage| {
            pose_at(&stage.motion, looked_up(&stage.table, travel)) * pose
        })
    }

    /// Places of the lead's travel between which every motion runs at one rate, both ends included.
    pub(super) fn knots(&self) -> Vec<f64> {
        let mut knots: Vec<f64> =
            self.stages.iter().flat_map(|stage| stage.table.iter().map(|pair| pair.0)).collect();
        knots.sort_by(f64::total_cmp);
        knots.dedup_by(|b, a| *b - *a < 1e-9);
        knots
    }

    /// For each stage, the farthest any point of `solid` goes in it per degree or mm of its own travel,
    /// mm; over all of the travel.
    pub(super) fn arms_mm(&self, solid: &Solid) -> Vec<f64> {
        // Each corner lies in a ball, wherever the stages so far have put it.
        let mut balls: Vec<(Point, f64)> =
            solid.triangles().vertices.iter().map(|corner| (*corner, 0.0)).collect();
        self.stages
            .iter()
            .map(|stage| {
                let travels = || stage.table.iter().map(|pair| pair.1);
                let low = travels().fold(f64::INFINITY, f64::min);
                let high = travels().fold(f64::NEG_INFINITY, f64::max);
                match stage.motion {
                    Motion::Swing { through, along, .. } => {
                        let axis: Vector = along.normalize();
                        let mut most = 0.0_f64;
                        for (middle, radius) in &mut balls {
                            let offset = *middle - through;
                            let foot = through + axis * axis.dot(&offset);
                            *radius += (*middle - foot).norm();
                            *middle = foot;
                            most = most.max(*radius);
                        }
                        most.to_radians()
                    }
                    Motion::Slide { along, .. } => {
                        let along: Vector = along.normalize();
                        for (middle, radius) in &mut balls {
                            *middle += along * f64::midpoint(low, high);
                            *radius += (high - low) / 2.0;
                        }
                        1.0
                    }
                }
            })
            .collect()
    }

    /// The farthest any point goes per degree or mm of the lead's travel between two neighbouring knots,
    /// mm, with the [`arms_mm`](Self::arms_mm) of a solid.
    pub(super) fn rate_mm(&self, arms_mm: &[f64], from: f64, to: f64) -> f64 {
        let run = (to - from).max(1e-12);
        self.stages
            .iter()
            .zip(arms_mm)
            .map(|(stage, arm_mm)| {
                let own = looked_up(&stage.table, to) - looked_up(&stage.table, from);
                arm_mm * own.abs() / run
            })
            .sum()
    }

    /// The space that `solids` go through over the whole course, as closed surfaces that overlap; to be
    /// drawn. Method: as [`sweeps`](Self::sweeps), but a mesh only stands at each place.
    pub fn swept(&self, solids: &[Solid], close_mm: f64) -> Triangles {
        let mut all = Triangles::default();
        for solid in solids {
            for (from, to) in self.steps(solid, close_mm) {
                for hull in solid.swept(&from, &to) {
                    all.append(hull.triangles());
                }
            }
        }
        all
    }

    /// The same as solids, with nothing of what they go through left out but for `close_mm`.
    ///
    /// Method: hulls of each convex piece at neighbouring places, so many that no point's way bulges out of its
    /// hull by more than `close_mm`; at most 200 places. Of a mesh, the hulls of parts of its surface, 60 mm
    /// long or single triangles, and the mesh itself at each place; where that would be more than 2,000 hulls,
    /// larger parts, which take more room than the mesh does.
    pub(crate) fn sweeps(&self, solids: &[Solid], close_mm: f64) -> Vec<Solid> {
        const MOST_HULLS: usize = 2_000;
        let mut all = Vec::new();
        for solid in solids {
            let steps = self.steps(solid, close_mm);
            let parts = solid.mesh_parts(MOST_HULLS / steps.len().max(1));
            for (from, to) in &steps {
                all.extend(solid.swept(from, to));
                all.extend(parts.iter().filter_map(|part| Solid::hull_between(part, from, to)));
            }
        }
        all
    }

    /// The course of `solid` in steps, each from one pose to the next, so short that no point of it is farther
    /// than `close_mm` from the straight between its ends; at most 200 of them between two knots.
    ///
    /// Method: a point whose acceleration over the travel is at most *a* strays from the straight between two
    /// places by at most *a* Δ²/8. With speeds *v* of each motion alone and turning rates *ω*, it is at most
    /// *ω v* for one motion, and twice the product of their sums for a chain (turning and Coriolis parts).
    fn steps(&self, solid: &Solid, close_mm: f64) -> Vec<(Pose, Pose)> {
        const MOST_STEPS: f64 = 200.0;
        let arms_mm = self.arms_mm(solid);
        let mut all = Vec::new();
        for stretch in self.knots().windows(2) {
            let (from, to) = (stretch[0], stretch[1]);
            let mut turned = 0.0;
            for stage in &self.stages {
                if matches!(stage.motion, Motion::Swing { .. }) {
                    let own = looked_up(&stage.table, to) - looked_up(&stage.table, from);
                    turned += own.abs().to_radians();
                }
            }
            let run_mm = self.rate_mm(&arms_mm, from, to) * (to - from);
            let chain = if self.stages.len() > 1 { 2.0 } else { 1.0 };
            let parts = (chain * turned * run_mm / (8.0 * close_mm.max(0.01))).sqrt();
            let parts = parts.ceil().clamp(1.0, MOST_STEPS);
            let at = |part: f64| self.pose(from + (to - from) * part / parts);
            all.extend((0..parts as usize).map(|part| (at(part as f64), at(part as f64 + 1.0))));
        }
        all
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

/// A value of a table with rising first numbers, straight between, held beyond its ends.
fn looked_up(table: &[(f64, f64)], at: f64) -> f64 {
    let next = table.partition_point(|pair| pair.0 <= at);
    match (next.checked_sub(1).and_then(|last| table.get(last)), table.get(next)) {
        (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (at - a.0) / (b.0 - a.0),
        (Some(end), None) | (None, Some(end)) => end.1,
        (None, None) => 0.0,
    }
}

/// `second` of `first`, as a table over the first's first numbers.
fn composed(first: &[(f64, f64)], second: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut at: Vec<f64> = first.iter().map(|pair| pair.0).collect();
    for pair in first.windows(2) {
        let ((from, low), (to, high)) = (pair[0], pair[1]);
        for &(knot, _) in second {
            let share = (knot - low) / (high - low);
            if share.is_finite() && share > 0.0 && share < 1.0 {
                at.push(from + (to - from) * share);
            }
        }
    }
    at.sort_by(f64::total_cmp);
    at.dedup_by(|b, a| *b - *a < 1e-9);
    at.into_iter().map(|at| (at, looked_up(second, looked_up(first, at)))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::model::{Drive, MoverKind};

    fn mover(name: &str, motion: Motion, driven: Option<Drive>) -> Mover {
        Mover {
            name: name.into(),
            kind: MoverKind::Roof,
            shapes: Vec::new(),
            motion,
            driven,
            option: None,
            tolerance_mm: None,
        }
    }

    fn swing(through: [f64; 3], from_deg: f64, to_deg: f64) -> Motion {
        Motion::Swing { through: Point::from(through), along: Vector::z(), from_deg, to_deg }
    }

    #[test]
    fn a_part_carried_by_another_turns_with_it_about_an_axis_that_goes_along() {
        // An arm of 100 mm turned to the left by 90° carries a second one of 50 mm that folds back by
        // 90°: its end comes to stand at (50, 100, 0).
        let drive =
            Drive { by: "arm".into(), table: vec![(0.0, 0.0), (90.0, -90.0)], carried: true };
        let movers = [
            mover("arm", swing([0.0; 3], 0.0, 90.0), None),
            mover("fore", swing([100.0, 0.0, 0.0], -90.0, 0.0), Some(drive)),
        ];
        let course = Course::of(&movers[1], &movers);
        let end = course.pose(90.0) * Point::new(150.0, 0.0, 0.0);
        assert!((end - Point::new(50.0, 100.0, 0.0)).norm() < 1e-9, "{end}");
        assert_eq!(course.lead(), "arm");
    }

    #[test]
    fn tables_follow_one_another_with_every_bend_of_both() {
        let first = [(0.0, 0.0), (10.0, 40.0), (20.0, 40.0)];
        let second = [(0.0, 5.0), (20.0, 25.0), (40.0, -15.0)];
        let both = composed(&first, &second);
        assert_eq!(both, [(0.0, 5.0), (5.0, 25.0), (10.0, -15.0), (20.0, -15.0)]);
        assert!((looked_up(&both, 7.5) - 5.0).abs() < 1e-12);
    }

    /// The farthest that points of `solid`, on its way, come out of what it is said to sweep, mm.
    fn comes_out_mm(course: &Course, solid: &Solid, close_mm: f64) -> f64 {
        let swept = course.sweeps(std::slice::from_ref(solid), close_mm);
        let (from, to) = course.range();
        let mut most: f64 = 0.0;
        for place in 0..=400 {
            let pose = course.pose(from + (to - from) * f64::from(place) / 400.0);
            for [a, b, c] in solid.triangles().each() {
                for (u, v) in [(0.0, 0.0), (0.5, 0.5), (0.3, 0.3), (0.05, 0.9)] {
                    let at = pose * (a + (b - a) * u + (c - a) * v);
                    let near =
                        |hull: &Solid| hull.bounds().distance_to_point_mm(&at) < most.max(1.0);
                    let out =
                        swept.iter().filter(|hull| near(hull)).map(|hull| hull.nearest(&at).0);
                    most = most.max(out.fold(f64::INFINITY, f64::min).min(1e3));
                }
            }
        }
        most
    }

    #[test]
    fn a_mesh_leaves_nothing_out_between_its_places() {
        // An arm 3 mm thick, as a mesh, swings by 80°; an L of plates, as a mesh, slides and turns.
        let arm = Triangles::cuboid(&Point::new(0.0, -10.0, 0.0), &Point::new(500.0, 10.0, 3.0));
        let mut ell = arm.clone();
        ell.append(&Triangles::cuboid(&Point::new(0.0, -10.0, 0.0), &Point::new(3.0, 10.0, 300.0)));
        for surface in [arm, ell] {
            let shape = crate::model::Shape::Mesh { file: "arm".into() };
            let mesh = |_: &str| Some(surface.clone());
            let solid = Solid::of(&shape, &Pose::identity(), mesh).expect("a mesh");
            for along in [Vector::y(), Vector::z()] {
                let through = Point::new(-20.0, 0.0, 0.0);
                let motion = Motion::Swing { through, along, from_deg: -40.0, to_deg: 40.0 };
                let course = Course::of(&mover("arm", motion, None), &[]);
                let out_mm = comes_out_mm(&course, &solid, 0.5);
                assert!(out_mm <= 0.5 + 1e-6, "{out_mm} about {along}");
            }
        }
    }

    #[test]
    fn a_short_flap_on_a_long_arm_stays_in_what_it_sweeps() {
        // The arm of 1500 mm turns by 1°, its flap of 100 mm by 180° meanwhile.
        let drive =
            Drive { by: "arm".into(), table: vec![(0.0, 0.0), (1.0, 180.0)], carried: true };
        let movers = [
            mover("arm", swing([0.0; 3], 0.0, 1.0), None),
            mover("flap", swing([1500.0, 0.0, 0.0], 0.0, 180.0), Some(drive)),
        ];
        let shape = crate::model::Shape::Box {
            from: Point::new(1500.0, -2.0, 0.0),
            to: Point::new(1600.0, 2.0, 40.0),
        };
        let solid = Solid::of(&shape, &Pose::identity(), |_| None).expect("a box");
        let out_mm = comes_out_mm(&Course::of(&movers[1], &movers), &solid, 0.5);
        assert!(out_mm <= 0.5 + 1e-6, "{out_mm}");
    }

    #[test]
    fn no_point_goes_faster_than_the_rate_says() {
        let slide = Motion::Slide { along: Vector::x(), from_mm: 0.0, to_mm: 80.0 };
        let slow = Drive { by: "arm".into(), table: vec![(0.0, 0.0), (30.0, 80.0)], carried: true };
        let fold =
            Drive { by: "rail".into(), table: vec![(0.0, 0.0), (80.0, -120.0)], carried: true };
        let movers = [
            mover("arm", swing([0.0; 3], 0.0, 60.0), None),
            mover("rail", slide, Some(slow)),
            mover("flap", swing([60.0, 10.0, 0.0], -120.0, 0.0), Some(fold)),
        ];
        let course = Course::of(&movers[2], &movers);
        let shape = crate::model::Shape::Box {
            from: Point::new(60.0, 0.0, 0.0),
            to: Point::new(140.0, 20.0, 30.0),
        };
        let solid = Solid::of(&shape, &Pose::identity(), |_| None).expect("a box");
        let arms = course.arms_mm(&solid);
        let corners = &solid.triangles().vertices;
        for stretch in course.knots().windows(2) {
            let rate_mm = course.rate_mm(&arms, stretch[0], stretch[1]);
            let run = (stretch[1] - stretch[0]) / 50.0;
            for step in 0..50 {
                let from = stretch[0] + run * f64::from(step);
                let (a, b) = (course.pose(from), course.pose(from + run));
                for corner in corners {
                    let gone_mm = (a * corner - b * corner).norm();
                    assert!(gone_mm <= rate_mm * run + 1e-9, "{gone_mm} in {run}, {rate_mm}");
                }
            }
        }
    }
}
