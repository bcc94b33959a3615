//! Ways through random fields of obstacles, against an optimising planner and a grid.
//!
//! Fields: `ways_cases.py`. Answers: `ways_planner.py`, 60 s a case on 16 cores (ompl 2.0.1 BIT*, Informed
//! RRT* and RRT* on Vana curves; strings rounded and pulled tight by batched descent on one GPU). Beside
//! the best length found stands the length of the shortest string without a bend radius by the eikonal
//! equation on a 5 mm grid. Distances here are worked out by closed forms of this file, not by the
//! project's geometry.

use dryberth::checks::reach::{Curve, End, NoWay, Wanted, shortest_way};
use dryberth::geometry::{Bounds, ClearanceField, Obstacle, Solid};
use dryberth::model::{Point, Pose, Shape, Vector};
use serde::Deserialize;

#[derive(Deserialize)]
struct Case {
    kind: String,
    radius: f64,
    need: f64,
    from: Held,
    to: Held,
    obstacles: Vec<Thing>,
    /// The best length that the planners found; none where they found no way.
    best: Option<f64>,
    /// The grid's string, and the grid's answer for the same ends with nothing between.
    string: Option<f64>,
    string_free: f64,
}

#[derive(Deserialize)]
struct Held {
    at: [f64; 3],
    towards: [f64; 3],
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum Thing {
    Box { at: [f64; 3], half: [f64; 3], turn: [f64; 4] },
    Bar { from: [f64; 3], to: [f64; 3], radius: f64 },
    Hull(Vec<[f64; 3]>),
}

impl Held {
    fn end(&self) -> End {
        End { at: Point::from(self.at), towards: Vector::from(self.towards).normalize() }
    }
}

fn turn(of: &[f64; 4]) -> nalgebra::UnitQuaternion<f64> {
    nalgebra::UnitQuaternion::from_quaternion(nalgebra::Quaternion::new(of[3], of[0], of[1], of[2]))
}

impl Thing {
    fn solid(&self) -> Solid {
        let (shape, pose) = match self {
            Thing::Box { at, half, turn: by } => {
                let half = Point::from(*half);
                let shape = Shape::Box { from: -half, to: half };
                (shape, Pose::from_parts(nalgebra::Translation3::from(*at), turn(by)))
            }
            Thing::Bar { from, to, radius } => (
                Shape::Cylinder { from: (*from).into(), to: (*to).into(), radius_mm: *radius },
                Pose::identity(),
            ),
            Thing::Hull(points) => (
                Shape::Hull { points: points.iter().map(|at| Point::from(*at)).collect() },
                Pose::identity(),
            ),
        };
        Solid::of(&shape, &pose, |_| None).expect("a sound shape")
    }

    /// Signed distance by closed form; of a hull, from every triangle of corners that has all others on
    /// one side.
    fn measure(&self) -> Box<dyn Fn(&Point) -> f64> {
        match self {
            Thing::Box { at, half, turn: by } => {
                let (at, half, back) = (Vector::from(*at), Vector::from(*half), turn(by).inverse());
                Box::new(move |point| {
                    let over = (back * (point.coords - at)).abs() - half;
                    over.sup(&Vector::zeros()).norm() + over.max().min(0.0)
                })
            }
            Thing::Bar { from, to, radius } => {
                let (from, to, radius) = (Point::from(*from), Point::from(*to), *radius);
                let axis = (to - from).normalize();
                let half = (to - from).norm() / 2.0;
                Box::new(move |point| {
                    let along = (point - from).dot(&axis);
                    let aside = (point - from - axis * along).norm() - radius;
                    let over = (along - half).abs() - half;
                    aside.max(0.0).hypot(over.max(0.0)) + aside.max(over).min(0.0)
                })
            }
            Thing::Hull(points) => {
                let corners: Vec<Point> = points.iter().map(|at| Point::from(*at)).collect();
                let mut faces: Vec<[Point; 3]> = Vec::new();
                for a in 0..corners.len() {
                    for b in a + 1..corners.len() {
                        for c in b + 1..corners.len() {
                            let (p, q, r) = (corners[a], corners[b], corners[c]);
                            let normal = (q - p).cross(&(r - p));
                            let over = |at: &Point| normal.dot(&(at - p));
                            if corners.iter().all(|at| over(at) <= 1e-9 * normal.norm()) {
                                faces.push([p, q, r]);
                            } else if corners.iter().all(|at| over(at) >= -1e-9 * normal.norm()) {
                                faces.push([p, r, q]);
                            }
                        }
                    }
                }
                Box::new(move |point| {
                    let over = |[p, q, r]: &[Point; 3]| {
                        (q - p).cross(&(r - p)).normalize().dot(&(point - p))
                    };
                    let highest = faces.iter().map(over).fold(f64::NEG_INFINITY, f64::max);
                    if highest <= 0.0 {
                        return highest;
                    }
                    faces.iter().map(|face| to_triangle(point, face)).fold(f64::INFINITY, f64::min)
                })
            }
        }
    }
}

fn to_triangle(point: &Point, corners: &[Point; 3]) -> f64 {
    let [a, b, c] = *corners;
    let normal = (b - a).cross(&(c - a)).normalize();
    let mut nearest = f64::INFINITY;
    let mut over = true;
    for (u, v) in [(a, b), (b, c), (c, a)] {
        let edge = v - u;
        let share = ((point - u).dot(&edge) / edge.norm_squared()).clamp(0.0, 1.0);
        nearest = nearest.min((point - u - edge * share).norm());
        over &= normal.cross(&edge).dot(&(point - u)) >= 0.0;
    }
    if over { normal.dot(&(point - a)).abs() } else { nearest }
}

fn cases() -> Vec<Case> {
    serde_json::from_str(include_str!("data/ways.json")).expect("cases")
}

fn field(case: &Case) -> ClearanceField {
    let obstacles =
        case.obstacles.iter().map(|o| Obstacle { solid: o.solid(), extra_mm: 0.0 }).collect();
    // As far as the planners could go.
    let bounds =
        Bounds { low: Point::new(-20.0, -20.0, -20.0), high: Point::new(620.0, 470.0, 340.0) };
    ClearanceField::of(obstacles, &bounds, 10.0)
}

fn ask(case: &Case) -> Result<Curve, NoWay> {
    let wanted = Wanted {
        from: case.from.end(),
        to: case.to.end(),
        bend_mm: case.radius,
        longest_mm: f64::INFINITY,
    };
    shortest_way(&field(case), case.need, &wanted)
}

/// Looks at a way every quarter of a millimetre: does it begin and end as it should, is it as long as it
/// says, does it bend no tighter than `radius`, and how near does it come?
fn verify(case: &Case, curve: &Curve) -> f64 {
    let points = curve.sampled(0.25);
    let (from, to) = (case.from.end(), case.to.end());
    let last = points.len() - 1;
    assert!((points[0] - from.at).norm() < 1e-6 && (points[last] - to.at).norm() < 1e-6);
    let along = |a: usize, b: usize| (points[b] - points[a]).normalize();
    // A chord of 0.25 mm leans by 0.25 / 2R at most.
    let lean = 0.25 / case.radius;
    assert!((along(0, 1) - from.towards).norm() < lean, "it leaves aside");
    assert!((along(last - 1, last) - to.towards).norm() < lean, "it arrives aside");
    let sum: f64 = points.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum();
    assert!((sum - curve.length_mm).abs() < 1e-3 * curve.length_mm.max(1.0), "{sum}");
    // Directions turn by no more than the way between the chords' middles over the radius.
    for triple in points.windows(3) {
        let (before, after) = (triple[1] - triple[0], triple[2] - triple[1]);
        if before.norm() < 1e-6 || after.norm() < 1e-6 {
            continue;
        }
        let turned = before.angle(&after);
        let way = (before.norm() + after.norm()) / 2.0;
        assert!(turned <= way / case.radius * 1.001 + 1e-6, "bends tighter than {}", case.radius);
    }
    let measures: Vec<_> = case.obstacles.iter().map(Thing::measure).collect();
    let nearest = |at: &Point| measures.iter().map(|m| m(at)).fold(f64::INFINITY, f64::min);
    points.iter().map(nearest).fold(f64::INFINITY, f64::min)
}

/// How far the grid's string may be off, as a share: its first-order error for an empty field of the same
/// ends, where the chord is exact, and as much again for the way round obstacles.
fn grid_error(case: &Case) -> f64 {
    let chord = (case.to.end().at - case.from.end().at).norm();
    2.0 * (case.string_free / chord - 1.0).abs() + 0.01
}

/// Every 8th case; all 200 with DRYBERTH_ALL_WAYS set.
#[test]
fn random_fields() {
    let all = std::env::var_os("DRYBERTH_ALL_WAYS").is_some();
    let (mut compared, mut near, mut found, mut unfound) = (0, 0, 0, Vec::new());
    let mut worse = Vec::new();
    for (index, case) in cases().iter().enumerate().filter(|(index, _)| all || index % 8 == 4) {
        let started = std::time::Instant::now();
        let way = ask(case);
        let took = started.elapsed().as_secs_f64() * 1e3;
        let kind = &case.kind;
        let curve = match way {
            Ok(curve) => curve,
            Err(why) => {
                if all {
                    println!("{index} {kind} none, planner {:?} {took:.1} ms {why:?}", case.best);
                }
                if case.best.is_some() {
                    unfound.push(index);
                    compared += 1;
                }
                continue;
            }
        };
        found += 1;
        let nearest = verify(case, &curve);
        assert!(nearest >= case.need - 1e-6, "case {index} comes as near as {nearest}");
        if let Some(string) = case.string {
            let least = string * (1.0 - grid_error(case));
            assert!(curve.length_mm >= least, "case {index}: {} < {least}", curve.length_mm);
        }
        let ratio = case.best.map(|best| curve.length_mm / best);
        if all {
            println!("{index} {kind} {:.1} ratio {ratio:.4?} {took:.1} ms", curve.length_mm);
        }
        if let Some(ratio) = ratio {
            compared += 1;
            near += usize::from(ratio <= 1.03);
            if ratio > 1.03 {
                worse.push((index, ratio));
            }
        }
    }
    println!(
        "{found} ways, {near} of {compared} within 3 %; longer {worse:?}; not found {unfound:?}"
    );
    assert!(near * 10 >= compared * 9, "{near} of {compared} within 3 % of the planner's best");
}
