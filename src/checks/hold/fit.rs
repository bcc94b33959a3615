//! Whether a fixing can go from a mount of the pump to an anchor.

use super::bands::{NUT_OVER_THREAD, unfit};
use super::barred::in_the_way;
use super::foam::squeeze_n;
use crate::checks::Boot;
use crate::geometry::Solid;
use crate::model::{Anchor, AnchorKind, Body, Fixing, FixingKind, Mount, Point, Pose, Vector};

/// How far out of the metal an anchor must be free to be got at, mm. Common practice, no source.
pub(super) const FREE_MM: f64 = 8.0;

/// How far a bolt may lean against its anchor: what rubber and washers take, degrees. Common practice,
/// no source.
const LEAN_DEG: f64 = 10.0;

/// Width of the webbing that a strap is made of, mm: the narrowest usual. Common practice, no source.
pub(super) const WEBBING_MM: f64 = 25.0;

/// Its thickness, mm. Common practice, no source.
pub(super) const WEBBING_THICK_MM: f64 = 1.5;

/// Thickness of foam that a wedge may have, mm. Common practice, no source.
pub(super) const WEDGE_MM: (f64, f64) = (3.0, 60.0);

/// Width of a block of foam each way, mm. Common practice, no source.
pub(super) const FOAM_MM: f64 = 40.0;

/// Hottest that a tie of plain nylon 66 is used, °C. From memory: makers' continuous use.
pub(super) const NYLON_C: f64 = 85.0;

/// Metric threads in use here with the hole that each goes through, mm. Source: ISO 273, medium, from
/// memory.
pub(super) const THREADS: [(f64, f64); 7] =
    [(3.0, 3.4), (4.0, 4.5), (5.0, 5.5), (6.0, 6.6), (8.0, 9.0), (10.0, 11.0), (12.0, 13.5)];

/// Where a mount stands in the boot.
#[derive(Debug, Clone, Copy)]
pub(super) struct MountAt<'a> {
    pub(super) mount: &'a Mount,
    pub(super) at: Point,
    /// Out of the pump, unit length.
    pub(super) towards: Vector,
    /// The pump's pose.
    pub(super) pose: Pose,
}

impl<'a> MountAt<'a> {
    pub(super) fn of(mount: &'a Mount, pose: &Pose) -> MountAt<'a> {
        let towards = (pose * mount.towards).try_normalize(1e-9).unwrap_or_else(Vector::z);
        MountAt { mount, at: pose * mount.at, towards, pose: *pose }
    }

    /// Thickness of the foot round its hole, mm.
    pub(super) fn thick_mm(&self) -> f64 {
        self.mount.thick_mm.unwrap_or(5.0)
    }
}

/// What is said of a fixing, apart from its ends.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tried {
    pub(super) kind: FixingKind,
    /// Whether a nut and washer hold it on its stud.
    pub(super) nut: bool,
    /// How much thinner its foam is pressed, mm.
    pub(super) squeeze_mm: Option<f64>,
}

impl Tried {
    pub(super) fn of(fixing: &Fixing) -> Tried {
        Tried { kind: fixing.kind, nut: fixing.nut, squeeze_mm: fixing.squeeze_mm }
    }

    pub(super) fn plain(kind: FixingKind) -> Tried {
        Tried { kind, nut: false, squeeze_mm: None }
    }
}

/// Why a fixing can't be used.
#[derive(Debug, Clone)]
pub(super) struct Trouble {
    pub(super) why: String,
    /// Where in the boot.
    pub(super) at: Point,
}

/// Why a fixing can't be used; none when it can. Asks in this order: the kind of anchor, what covers
/// it, the sizes of thread, hole or slot, whether a band stays on its stud, the length, what stands between,
/// the heat.
pub(super) fn trouble(
    boot: &Boot,
    pump: &[Solid],
    tried: Tried,
    anchor: &Anchor,
    mount: &MountAt,
) -> Option<Trouble> {
    let kind = tried.kind;
    let (words, name) = (kind.words(), &anchor.name);
    let here = |why: String| Trouble { why, at: anchor.at };
    if !takes(kind, anchor.kind) {
        return Some(here(format!("a {words} can't hold {name}, a {}", anchor.kind.words())));
    }
    if let Some(cover) = cover(boot, anchor) {
        return Some(here(format!("{name} is covered by {cover}")));
    }
    if let Some(why) = size(kind, anchor, mount) {
        return Some(here(why));
    }
    let way = anchor.at - mount.at;
    let (length_mm, reach_mm) = (way.norm(), reach_mm(boot, kind));
    if length_mm > reach_mm {
        return Some(here(format!(
            "the {words} to {name} would be {length_mm:.1} mm long; at most {reach_mm:.0} mm"
        )));
    }
    if let Some(trouble) = unfit(tried, anchor, mount) {
        return Some(trouble);
    }
    let stands = match kind {
        FixingKind::Bolt { .. } => lines_up(boot, anchor, mount, &way),
        FixingKind::Clamp { .. } => None,
        FixingKind::Wedge { working_n } => faces(boot, anchor, mount, &way)
            .or_else(|| pressed(boot, tried.squeeze_mm, working_n, anchor, mount)),
        FixingKind::Tie { .. } | FixingKind::Strap { .. } => (length_mm < 1e-6).then(|| {
            format!(
                "the {words} from {} to {name} has no length and so no line to pull along: take \
another anchor or mount",
                mount.mount.name
            )
        }),
    };
    stands
        .map(here)
        .or_else(|| in_the_way(boot, pump, kind, anchor, mount))
        .or_else(|| too_hot(kind, anchor).map(here))
}

/// What is wrong with a stated squeeze.
fn pressed(
    boot: &Boot,
    squeeze_mm: Option<f64>,
    working_n: f64,
    anchor: &Anchor,
    mount: &MountAt,
) -> Option<String> {
    let push_n = squeeze_n(boot, squeeze_mm);
    let most_n = working_n.min(anchor.strength_n);
    (push_n > most_n + 1e-9).then(|| {
        format!(
            "foam from {} to {}, pressed {:.1} mm thinner, pushes with {push_n:.0} N; at most {most_n:.0} N",
            mount.mount.name,
            anchor.name,
            squeeze_mm.unwrap_or(0.0)
        )
    })
}

/// Longest that a fixing of a kind may be, mm.
pub(super) fn reach_mm(boot: &Boot, kind: FixingKind) -> f64 {
    let limits = &boot.layout().limits;
    match kind {
        FixingKind::Bolt { .. } | FixingKind::Clamp { .. } => limits.bolt_reach_mm,
        FixingKind::Tie { .. } | FixingKind::Strap { .. } => limits.tie_reach_mm,
        FixingKind::Wedge { .. } => WEDGE_MM.1,
    }
}

/// Whether a fixing can take hold of an anchor of a kind. A bolt in a flat face needs a hole drilled.
fn takes(fixing: FixingKind, anchor: AnchorKind) -> bool {
    use AnchorKind as A;
    match fixing {
        FixingKind::Bolt { .. } => matches!(anchor, A::Stud { .. } | A::Hole { .. } | A::Face),
        FixingKind::Tie { .. } | FixingKind::Strap { .. } => {
            !matches!(anchor, A::Face | A::Edge { .. })
        }
        FixingKind::Clamp { .. } => matches!(anchor, A::Edge { .. } | A::Bar { .. }),
        FixingKind::Wedge { .. } => matches!(anchor, A::Face),
    }
}

/// The body of this car that an anchor is hidden under, if there is one.
pub(super) fn cover<'a>(boot: &'a Boot, anchor: &Anchor) -> Option<&'a str> {
    let out = anchor.normal.try_normalize(1e-9)?;
    let free = anchor.at + out * FREE_MM;
    boot.bodies()
        .find(|(_, solid)| solid.bounds().holds(&free) && solid.distance_to_point_mm(&free) < 0.0)
        .map(|(body, _)| body.name.as_str())
}

/// The thread of a bolt from a mount to an anchor, mm; none when no bolt from M3 goes through.
pub(super) fn thread_mm(anchor: AnchorKind, hole_mm: Option<f64>) -> Option<f64> {
    let passes = |hole: f64| THREADS.iter().rev().find(|(_, needs)| *needs <= hole + 0.11);
    match anchor {
        AnchorKind::Stud { thread_mm } => Some(thread_mm),
        AnchorKind::Hole { diameter_mm } => {
            passes(hole_mm.map_or(diameter_mm, |hole| hole.min(diameter_mm))).map(|it| it.0)
        }
        // Drilled for what goes through the pump's foot.
        _ => Some(hole_mm.map_or(6.0, |hole| passes(hole).map_or(3.0, |it| it.0))),
    }
}

fn size(kind: FixingKind, anchor: &Anchor, mount: &MountAt) -> Option<String> {
    let name = &anchor.name;
    match (kind, anchor.kind) {
        (FixingKind::Bolt { .. }, AnchorKind::Stud { thread_mm }) => {
            if let Some(hole_mm) = mount.mount.hole_mm.filter(|hole| thread_mm > *hole) {
                return Some(format!(
                    "the M{thread_mm} thread of {name} doesn't go through the {hole_mm} mm hole of {}",
                    mount.mount.name
                ));
            }
            let nut_mm = NUT_OVER_THREAD * thread_mm;
            let free_mm = anchor.free_mm.filter(|free| *free < nut_mm)?;
            Some(format!(
                "{name} has {free_mm:.0} mm of free thread; a nut needs {nut_mm:.0} mm of it"
            ))
        }
        (FixingKind::Bolt { .. }, AnchorKind::Hole { diameter_mm }) => {
            thread_mm(anchor.kind, mount.mount.hole_mm).is_none().then(|| {
                format!(
                    "no bolt goes through both {name} ({diameter_mm} mm) and {}",
                    mount.mount.name
                )
            })
        }
        _ => None,
    }
}

/// What stops a bolt from lining up with its anchor.
fn lines_up(boot: &Boot, anchor: &Anchor, mount: &MountAt, way: &Vector) -> Option<String> {
    let out = anchor.normal.try_normalize(1e-9)?;
    let (name, foot) = (&anchor.name, &mount.mount.name);
    let aside_mm = (way - out * out.dot(way)).norm();
    let play_mm = boot.layout().limits.bolt_play_mm;
    if aside_mm > play_mm {
        return Some(format!(
            "{foot} stands {aside_mm:.1} mm beside {name}; a bolt takes at most {play_mm} mm"
        ));
    }
    if out.dot(way) > play_mm {
        return Some(format!("{foot} lies behind {name}: a bolt goes in from the other side"));
    }
    let lean_deg = (-mount.towards.dot(&out)).clamp(-1.0, 1.0).acos().to_degrees();
    // A mount that is only a place on the pump takes a bolt at any angle: its bracket is bent to it.
    (mount.mount.hole_mm.is_some() && lean_deg > LEAN_DEG).then(|| {
        format!(
            "{foot} leans by {lean_deg:.0}° against {name}; a bolt takes at most {LEAN_DEG:.0}°"
        )
    })
}

/// What stops a wedge between a mount and a face. Foam pushes square to the face: its line of push must
/// meet the face, as measured, at the anchor's height; where no body was measured at the anchor, within half
/// a block of it.
fn faces(boot: &Boot, anchor: &Anchor, mount: &MountAt, way: &Vector) -> Option<String> {
    let out = anchor.normal.try_normalize(1e-9)?;
    let (name, here) = (&anchor.name, &mount.mount.name);
    let thick_mm = -out.dot(way);
    if thick_mm < WEDGE_MM.0 {
        return Some(format!("{thick_mm:.0} mm between {here} and {name} leave no room for foam"));
    }
    let square = -mount.towards.dot(&out);
    if square < 0.9 {
        return Some(format!("{here} doesn't face {name}: foam would slip out"));
    }
    let foot = mount.at - out * thick_mm;
    let aside_mm = (anchor.at - foot).norm();
    // The nearest of the bodies that the anchor lies on to where foam would press.
    let off = |(_, solid): &(&Body, &Solid)| solid.distance_to_point_mm(&foot).abs();
    let near_mm = boot.layout().limits.tape_mm;
    let carries = boot
        .bodies()
        .filter(|(_, solid)| solid.distance_to_point_mm(&anchor.at).abs() <= near_mm)
        .min_by(|a, b| off(a).total_cmp(&off(b)));
    match carries {
        Some((body, solid)) => {
            let beyond_mm = off(&(body, solid));
            (beyond_mm > near_mm).then(|| {
                format!(
                    "foam from {here} would press {beyond_mm:.0} mm beside {}, and {aside_mm:.0} mm beside \
{name}: take a mount that stands over the face",
                    body.name
                )
            })
        }
        None => (aside_mm > FOAM_MM / 2.0).then(|| {
            format!(
                "foam from {here} would press {aside_mm:.0} mm beside {name}, where no face was measured; \
a block is {FOAM_MM:.0} mm wide"
            )
        }),
    }
}

fn too_hot(kind: FixingKind, anchor: &Anchor) -> Option<String> {
    let hot_c = anchor.hot_c.filter(|hot| *hot > NYLON_C)?;
    matches!(kind, FixingKind::Tie { .. }).then(|| {
        format!("{} gets {hot_c:.0} °C hot; a nylon tie takes {NYLON_C:.0} °C", anchor.name)
    })
}
