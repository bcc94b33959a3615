//! Where the pump comes to stand when it is pushed, stopped by what it meets, or put over anchors.

use super::grip::shifted;
use crate::checks::Boot;
use crate::model::{Anchor, AnchorKind, FixingKind, Place, Point, Spot, Vector};

/// How near two things count as touching, mm.
const TOUCH_MM: f64 = 0.05;

/// The farthest that a push goes, mm.
const FARTHEST_MM: f64 = 2_000.0;

/// How far a mount may lie from the anchor that it snaps to, mm.
pub(crate) const SNAP_MM: f64 = 60.0;

/// The pump pushed along a direction until it touches a body or a mover where it was measured; none
/// when nothing is in the way within 2 m, or it overlaps something already.
///
/// Method: conservative advancement: the pump never goes farther than its smallest gap, so it passes
/// through nothing. Where it slides past something at less than 0.05 mm it counts as touching it when
/// going on would bring it nearer.
pub(crate) fn push(boot: &Boot, place: &Place, towards: &Vector) -> Option<Place> {
    let way = towards.try_normalize(1e-9)?;
    let along = |far_mm: f64| Place { at: place.at + way * far_mm, ..*place };
    let gap = |place: &Place| boot.smallest_gap_mm(place, 300.0).unwrap_or(300.0);
    let mut far_mm = 0.0;
    let mut now = gap(place);
    if now < -TOUCH_MM {
        return None;
    }
    for _ in 0..2_000 {
        if far_mm > FARTHEST_MM {
            return None;
        }
        if now < TOUCH_MM {
            // Past a side that it lies against it goes on; into something it doesn't.
            let ahead = gap(&along(far_mm + 0.5));
            if ahead < now.min(0.0) - 0.1 || ahead < -TOUCH_MM {
                break;
            }
            far_mm += 0.5;
            now = ahead;
            continue;
        }
        far_mm += now;
        now = gap(&along(far_mm));
    }
    // Rounded back, so that rounding never pushes it into what it touches.
    let far_mm = ((far_mm - 1e-6) * 10.0).floor() / 10.0;
    (far_mm > 0.0).then(|| shifted(place, &(way * far_mm))).filter(|to| gap(to) > -TOUCH_MM)
}

/// As far from one place towards another as the pump meets nothing. From a place where it overlaps
/// something it goes wherever it overlaps less.
///
/// Method: halving; twelve steps, so good to 1/4000 of the way. A thing thinner than the way in a
/// frame is not missed: the way is first tried in steps of 20 mm.
pub(crate) fn stopped(boot: &Boot, from: &Place, to: &Place) -> Place {
    let gap = |place: &Place| boot.smallest_gap_mm(place, 5.0).unwrap_or(5.0);
    let start = gap(from);
    let allowed = start.min(-TOUCH_MM);
    let free = |place: &Place| gap(place) >= allowed;
    let between = |share: f64| Place { at: from.at + (to.at - from.at) * share, ..*to };
    let far_mm = (to.at - from.at).norm();
    let steps = (far_mm / 20.0).ceil().clamp(1.0, 60.0);
    let mut good = 0.0;
    let mut bad = None;
    let mut step = 1.0;
    while step <= steps {
        let share = step / steps;
        if !free(&between(share)) {
            bad = Some(share);
            break;
        }
        good = share;
        step += 1.0;
    }
    let Some(mut bad) = bad else { return *to };
    for _ in 0..12 {
        let middle = f64::midpoint(good, bad);
        if free(&between(middle)) { good = middle } else { bad = middle }
    }
    let back = (good - 0.1 / far_mm.max(0.1)).max(0.0);
    let stop = shifted(&between(back), &Vector::zeros());
    if free(&stop) { stop } else { *from }
}

/// Height of the rubber mounts that a pump is usually bolted down on, mm. Common practice, no source.
pub(crate) const RUBBER_MM: f64 = 12.0;

/// How far below a foot a surface still is what the foot stands over, mm.
const UNDER_MM: f64 = 60.0;

/// How far beside a foot's hole an anchor still is that foot's, mm.
const BESIDE_MM: f64 = 10.0;

/// Clearance holes of metric threads, mm: thread, hole. Source: ISO 273, fine, from memory.
const HOLES_MM: [(f64, f64); 6] =
    [(3.0, 3.2), (4.0, 4.3), (5.0, 5.3), (6.0, 6.4), (8.0, 8.4), (10.0, 10.5)];

/// A stud under every foot with a hole that has no anchor yet: on what lies within 60 mm below the hole,
/// else where the foot ends. Its thread is the largest that goes through the hole.
pub(crate) fn studs_under(boot: &Boot, place: &Place) -> Vec<Anchor> {
    let pose = place.pose();
    let tidy = |value: f64, to: f64| (value * to).round() / to + 0.0;
    let feet = boot.pump().mounts.iter().filter_map(|mount| {
        let hole_mm = mount.hole_mm?;
        let down = (pose * mount.towards).try_normalize(1e-9)?;
        let at = pose * mount.at;
        let taken = boot.anchors().any(|anchor| {
            let off = anchor.at - at;
            let below = off.dot(&down);
            (-5.0..UNDER_MM).contains(&below) && (off - down * below).norm() < BESIDE_MM
        });
        if taken {
            return None;
        }
        // From inside the foot, so that what it stands on or sinks into a little is met.
        let from = at - down * 2.0;
        let met = boot
            .bodies()
            .filter_map(|(body, solid)| Some((body, solid.ray(&from, &down, UNDER_MM + 2.0)?)))
            .min_by(|a, b| a.1.distance_mm.total_cmp(&b.1.distance_mm));
        let foot = met.as_ref().map_or(at, |(_, hit)| hit.point);
        let largest = HOLES_MM.iter().rev().find(|(_, needs)| *needs <= hole_mm + 0.05);
        Some(Anchor {
            name: format!("stud, {}", mount.name),
            kind: AnchorKind::Stud { thread_mm: largest.map_or(3.0, |known| known.0) },
            at: foot.map(|value| tidy(value, 10.0)),
            normal: (-down).map(|value| tidy(value, 1e4)),
            strength_n: 500.0,
            option: met.and_then(|(body, _)| body.option.clone()),
            free_mm: None,
            hot_c: None,
            inside_mm: None,
        })
    });
    feet.collect()
}

/// How much higher the pump would have to stand for rubber under its bolts, mm: none where no foot with a
/// hole stands flat on something, or nothing there could hold a bolt.
///
/// A foot stands flat with less than 1 mm under its hole. It counts where the spot bolts it down, or where
/// an anchor lies under it.
pub(crate) fn rubber_short_mm(boot: &Boot, spot: &Spot, place: &Place) -> Option<f64> {
    let pose = place.pose();
    let bolted = |mount: &str| {
        spot.fixings
            .iter()
            .any(|fixing| fixing.mount == mount && matches!(fixing.kind, FixingKind::Bolt { .. }))
    };
    let feet = boot.pump().mounts.iter().filter(|mount| mount.hole_mm.is_some());
    let mut flat = feet.filter_map(|mount| {
        let down = (pose * mount.towards).try_normalize(1e-9).filter(|down| down.z < -0.7)?;
        let at = pose * mount.at;
        let from = at - down * 2.0;
        let least = boot
            .bodies()
            .filter_map(|(_, solid)| Some(solid.ray(&from, &down, 3.0)?.distance_mm - 2.0))
            .min_by(f64::total_cmp)?;
        let near = boot.anchors().any(|anchor| {
            let off = anchor.at - at;
            let below = off.dot(&down);
            below.abs() < 5.0 && (off - down * below).norm() < BESIDE_MM
        });
        (least < 1.0 && (near || bolted(&mount.name))).then(|| RUBBER_MM - least.max(0.0))
    });
    let first = flat.next()?;
    Some(flat.fold(first, f64::max))
}

/// What snapping did.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Snapped {
    /// Where the pump stands now.
    pub(crate) place: Place,
    /// The pairs that it was put over: mount and anchor.
    pub(crate) pairs: Vec<(String, String)>,
    /// How far the worst pair is still off, across the anchor's axis, mm.
    pub(crate) off_mm: f64,
    /// How high the lowest mount stands over its anchor now, along the anchor's axis, mm; less than
    /// nothing below it.
    pub(crate) over_mm: f64,
    /// How far the pump was lifted along the anchors' axis to stand on them, mm; 0 where its height fitted.
    pub(crate) lifted_mm: f64,
}

/// How far a mount may lie behind its anchor, mm, before it is taken to be on the wrong side: what is
/// measured with a tape.
const BEHIND_MM: f64 = 3.0;

/// Puts mounts of the pump over anchors: those of the spot's bolts, or, when it has none, the nearest
/// mount and anchor within 60 mm and whatever then lies within 15 mm. None when nothing is near.
///
/// The pump moves across the anchors' axes and turns about them by least squares. Its height over them
/// stays, since spacers and rubbers stand between, unless it is behind an anchor, or farther than 60 mm off:
/// then it is put 12 mm over the highest. Method: the closed form of a flat turn between two
/// sets of points.
pub(crate) fn snap(boot: &Boot, spot: &Spot) -> Option<Snapped> {
    let pump = boot.pump();
    let pose = spot.place.pose();
    let mount_at = |name: &str| {
        pump.mounts.iter().find(|mount| mount.name == name).map(|mount| pose * mount.at)
    };
    let anchor = |name: &str| boot.anchors().find(|anchor| anchor.name == name);
    let mut pairs: Vec<(String, String)> = spot
        .fixings
        .iter()
        .filter(|fixing| matches!(fixing.kind, FixingKind::Bolt { .. }))
        .filter(|fixing| mount_at(&fixing.mount).is_some() && anchor(&fixing.anchor).is_some())
        .map(|fixing| (fixing.mount.clone(), fixing.anchor.clone()))
        .collect();
    if pairs.is_empty() {
        pairs = nearest_pairs(boot, &spot.place)?;
    }
    let first = anchor(&pairs.first()?.1)?;
    let axis = first.normal.try_normalize(1e-9)?;
    let flat = |offset: Vector| offset - axis * axis.dot(&offset);
    let places: Vec<(Point, Point)> = pairs
        .iter()
        .filter_map(|(mount, known)| Some((mount_at(mount)?, anchor(known)?.at)))
        .collect();
    let count = places.len() as f64;
    let mean = |points: &mut dyn Iterator<Item = &Point>| {
        points.fold(Vector::zeros(), |sum, point| sum + point.coords) / count
    };
    let from = mean(&mut places.iter().map(|pair| &pair.0));
    let to = mean(&mut places.iter().map(|pair| &pair.1));
    // The turn about the axis that brings the mounts' offsets nearest to the anchors'.
    let (mut along, mut across) = (0.0, 0.0);
    for (mount, anchor) in &places {
        let (a, b) = (flat(mount.coords - from), flat(anchor.coords - to));
        along += a.dot(&b);
        across += axis.dot(&a.cross(&b));
    }
    let angle = if places.len() > 1 { across.atan2(along) } else { 0.0 };
    let turn =
        nalgebra::UnitQuaternion::from_axis_angle(&nalgebra::Unit::new_normalize(axis), angle);
    let moved = flat(to - from);
    let about = Point::from(from);
    let whole =
        nalgebra::Isometry3::from_parts(nalgebra::Translation3::from(about.coords + moved), turn)
            * nalgebra::Isometry3::translation(-about.x, -about.y, -about.z);
    let round = |deg: f64| (deg * 10.0).round() / 10.0 + 0.0;
    let mut place = Place::from_pose(&(whole * pose));
    place.turn_deg = (round(place.turn_deg.0), round(place.turn_deg.1), round(place.turn_deg.2));
    let mut place = shifted(&place, &Vector::zeros());
    let offsets = |place: &Place| -> Vec<Vector> {
        let now = place.pose();
        let offset = |(mount, known): &(String, String)| {
            let mount = pump.mounts.iter().find(|known| known.name == *mount)?;
            Some(now * mount.at - anchor(known)?.at)
        };
        pairs.iter().filter_map(offset).collect()
    };
    let lowest = |place: &Place| {
        offsets(place).iter().map(|off| axis.dot(off)).fold(f64::INFINITY, f64::min)
    };
    let mut over_mm = lowest(&place);
    let mut lifted_mm = 0.0;
    if !(-BEHIND_MM..=SNAP_MM).contains(&over_mm) {
        let before = over_mm;
        place = shifted(&place, &(axis * (RUBBER_MM - over_mm)));
        over_mm = lowest(&place);
        lifted_mm = over_mm - before;
    }
    let off_mm = offsets(&place).iter().map(|off| flat(*off).norm()).fold(0.0, f64::max);
    Some(Snapped { place, pairs, off_mm, over_mm, lifted_mm })
}

/// The nearest mount and anchor, and what then lies together too.
fn nearest_pairs(boot: &Boot, place: &Place) -> Option<Vec<(String, String)>> {
    let pose = place.pose();
    let across = |mount: &Point, anchor: &crate::model::Anchor| {
        let normal = anchor.normal.try_normalize(1e-9).unwrap_or_else(Vector::z);
        let off = mount - anchor.at;
        let over = normal.dot(&off);
        // Below the anchor's face nothing is bolted to it.
        (over > -5.0 && over < SNAP_MM).then(|| (off - normal * over, (off - normal * over).norm()))
    };
    let mounts: Vec<(&str, Point)> =
        boot.pump().mounts.iter().map(|mount| (mount.name.as_str(), pose * mount.at)).collect();
    let (off, _) = mounts
        .iter()
        .flat_map(|(_, at)| boot.anchors().filter_map(move |anchor| across(at, anchor)))
        .filter(|(_, far)| *far < SNAP_MM)
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let mut pairs: Vec<(String, String)> = Vec::new();
    for (name, at) in &mounts {
        let near = boot
            .anchors()
            .filter(|anchor| pairs.iter().all(|(_, known)| *known != anchor.name))
            .filter_map(|anchor| Some((across(&(at - off), anchor)?.1, anchor)))
            .filter(|(far, _)| *far < 15.0)
            .min_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((_, anchor)) = near {
            pairs.push(((*name).to_string(), anchor.name.clone()));
        }
    }
    (!pairs.is_empty()).then_some(pairs)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::format::open_demo;

    /// The demo boot and its spot on the jack bracket.
    fn demo() -> (Boot, Spot) {
        let opened = open_demo(Some("sandlark-cabriolet")).expect("the demo is sound");
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("it can be made ready");
        let spot = opened.layout.spots.iter().find(|spot| spot.name == "On the jack bracket");
        (boot, spot.expect("the demo has it").clone())
    }

    #[test]
    fn a_pump_that_was_shifted_snaps_back_over_its_studs() {
        let (boot, mut spot) = demo();
        let was = spot.place;
        spot.place.at += Vector::new(7.0, -4.0, 0.0);
        spot.place.turn_deg.2 = 6.0;
        let snapped = snap(&boot, &spot).expect("its bolts say where");
        assert!((snapped.place.at - was.at).norm() < 1.0, "{snapped:?} {was:?}");
        assert!(snapped.place.turn_deg.2.abs() < 0.2, "{snapped:?}");
        assert!(snapped.off_mm < 1.0);
        assert_eq!(snapped.pairs.len(), 4);
        // Without fixings the nearest studs say it.
        spot.fixings.clear();
        let found = snap(&boot, &spot).expect("studs are near");
        assert!(found.off_mm < 8.0, "{found:?}");
    }

    #[test]
    fn a_push_ends_at_a_touch_and_a_drag_stops_there() {
        let (boot, spot) = demo();
        let mut high = spot.place;
        high.at.z += 30.0;
        for way in [Vector::x(), -Vector::x(), Vector::y(), -Vector::y(), -Vector::z()] {
            let Some(to) = push(&boot, &high, &way) else { continue };
            let gap = boot.smallest_gap_mm(&to, 50.0).expect("near");
            assert!((-0.05..0.6).contains(&gap), "{way:?}: {gap}");
            let beyond = shifted(&to, &(way * 40.0));
            let stop = stopped(&boot, &to, &beyond);
            assert!((stop.at - to.at).norm() < 1.0, "{way:?}: {stop:?} {to:?}");
            let gap = boot.smallest_gap_mm(&stop, 50.0).expect("near");
            assert!(gap > -0.06, "{way:?}: {gap}");
        }
        let free = shifted(&high, &Vector::new(0.0, 0.0, 1.0));
        assert_eq!(stopped(&boot, &high, &free), free);
    }

    #[test]
    fn a_pump_far_below_its_studs_is_put_on_them_and_that_is_said() {
        let (boot, mut spot) = demo();
        let as_built = snap(&boot, &spot).expect("its bolts say where");
        assert!(as_built.lifted_mm.abs() < 1e-9 && (as_built.over_mm - 15.0).abs() < 1.0);
        spot.place.at.z -= 180.0;
        let snapped = snap(&boot, &spot).expect("its bolts say where");
        assert!((snapped.over_mm - RUBBER_MM).abs() < 0.2, "{snapped:?}");
        // 15 mm over them before, 180 lower, 12 over them now.
        assert!((snapped.lifted_mm - 177.0).abs() < 0.5, "{snapped:?}");
        assert!((snapped.place.at.z - spot.place.at.z - snapped.lifted_mm).abs() < 0.2);
    }

    #[test]
    fn studs_stand_where_the_feet_do_and_only_where_none_is() {
        let opened = open_demo(Some("sandlark-cabriolet")).expect("the demo is sound");
        let (boot, spot) = demo();
        assert_eq!(studs_under(&boot, &spot.place), Vec::new(), "each foot has its stud");
        let mut bare = opened;
        let known = std::mem::take(&mut bare.layout.anchors);
        bare.layout.spots.iter_mut().for_each(|spot| spot.fixings.clear());
        bare.layout.lines.iter_mut().for_each(|line| line.clips.clear());
        let boot = bare.boot(&Boot::usual_options(&bare.layout)).expect("it is ready");
        let studs = studs_under(&boot, &spot.place);
        assert_eq!(studs.len(), 4);
        for stud in &studs {
            assert_eq!(stud.kind, AnchorKind::Stud { thread_mm: 6.0 });
            let near = known.iter().map(|anchor| (anchor.at - stud.at).norm());
            let near = near.fold(f64::INFINITY, f64::min);
            assert!(near < 2.5, "{stud:?} is {near} mm from the stud that is there");
        }
    }

    #[test]
    fn feet_flat_on_a_bracket_are_told_how_far_to_be_raised() {
        let (boot, spot) = demo();
        assert_eq!(rubber_short_mm(&boot, &spot, &spot.place), None, "it has its rubber");
        let down = boot.drop_down(&spot.place).expect("the bracket is below");
        let short = rubber_short_mm(&boot, &spot, &down).expect("its feet are flat");
        assert!((short - RUBBER_MM).abs() < 1.1, "{short}");
        let mut raised = down;
        raised.at.z += short;
        assert_eq!(rubber_short_mm(&boot, &spot, &raised), None);
    }
}
