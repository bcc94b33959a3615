//! Which anchors a spot can use, and which of its fixings reach theirs.

use super::bands::{Taken, crowded, unsure};
use super::fit::{MountAt, Tried, Trouble, cover, reach_mm, trouble};
use super::foam::{Pressed, foam, squeeze_n};
use super::holding::Holding;
use super::strength::tie_working_n;
use crate::checks::{Boot, Check, Reading};
use crate::geometry::Solid;
use crate::model::{Anchor, Fixing, FixingKind, Pose, Spot};
use crate::units::root_sum_of_squares;

/// Fewest anchors to hold to. Common practice, no source.
const FEWEST: f64 = 2.0;

/// Anchors from which there is a choice. Common practice, no source.
const CHOICE: f64 = 4.0;

/// A fixing whose mount and anchor are both there.
pub(super) struct Fixed<'a> {
    pub(super) fixing: &'a Fixing,
    pub(super) anchor: &'a Anchor,
    pub(super) mount: MountAt<'a>,
    pub(super) length_mm: f64,
    pub(super) reach_mm: f64,
    pub(super) in_reach: bool,
    /// Why it is no use, when it isn't.
    trouble: Option<Trouble>,
    /// What isn't known of whether it goes in, when something isn't; it is then counted as if it did.
    unsure: Option<Trouble>,
    /// Push of its foam at the stated squeeze, N; 0 without.
    pub(super) squeeze_n: f64,
    /// How many usable fixings share its anchor, itself included.
    sharing: usize,
    friction: f64,
}

impl Fixed<'_> {
    /// What it can do for the pump; nothing for a tie of no length, which has no line to pull along.
    ///
    /// Foam is two: up to the push of its stated squeeze it has friction; what it pushes beyond that, pressed
    /// on by the load, has none.
    pub(super) fn holdings(&self) -> Vec<Holding> {
        // Fixings on one anchor share what it carries, evenly: less than they might, never more.
        let anchor_n = self.anchor.strength_n / self.sharing.max(1) as f64;
        let one = match self.fixing.kind {
            FixingKind::Bolt { working_n } | FixingKind::Clamp { working_n } => {
                Some(Holding::Bolt { at: self.mount.at, working_n: working_n.min(anchor_n) })
            }
            FixingKind::Wedge { working_n } => {
                let most_n = working_n.min(anchor_n);
                let Some(along) = self.anchor.normal.try_normalize(1e-9) else { return Vec::new() };
                return foam(&self.mount.at, &along, self.friction, self.squeeze_n, most_n);
            }
            FixingKind::Tie { width_mm } => self.pull(tie_working_n(width_mm).min(anchor_n)),
            FixingKind::Strap { working_n } => self.pull(working_n.min(anchor_n)),
        };
        one.into_iter().collect()
    }

    /// What its foam is counted on; none when it is no wedge.
    pub(super) fn pressed(&self) -> Option<Pressed> {
        matches!(self.fixing.kind, FixingKind::Wedge { .. }).then(|| Pressed {
            mount: self.fixing.mount.clone(),
            anchor: self.fixing.anchor.clone(),
            squeeze_mm: self.fixing.squeeze_mm,
            push_n: self.squeeze_n,
        })
    }

    fn pull(&self, working_n: f64) -> Option<Holding> {
        let along = (self.anchor.at - self.mount.at).try_normalize(1e-6)?;
        Some(Holding::Pull { at: self.mount.at, along, working_n })
    }
}

/// The fixings of a spot that this car has an anchor for.
pub(super) fn fixed<'a>(
    boot: &'a Boot,
    pump: &[Solid],
    pose: &Pose,
    spot: &'a Spot,
) -> Vec<Fixed<'a>> {
    let mut fixed: Vec<Fixed> = spot
        .fixings
        .iter()
        .filter_map(|fixing| {
            let anchor = boot.anchors().find(|anchor| anchor.name == fixing.anchor)?;
            let mount = boot.pump().mounts.iter().find(|mount| mount.name == fixing.mount)?;
            let mount = MountAt::of(mount, pose);
            let trouble = trouble(boot, pump, Tried::of(fixing), anchor, &mount);
            Some(Fixed {
                fixing,
                anchor,
                length_mm: (anchor.at - mount.at).norm(),
                reach_mm: reach_mm(boot, fixing.kind),
                mount,
                in_reach: trouble.is_none(),
                trouble,
                unsure: unsure(fixing.kind, anchor),
                squeeze_n: squeeze_n(boot, fixing.squeeze_mm),
                sharing: 1,
                friction: boot.layout().limits.friction,
            })
        })
        .collect();
    room_for_each(&mut fixed);
    let usable: Vec<&str> = fixed
        .iter()
        .filter(|fixed| fixed.in_reach)
        .map(|fixed| fixed.anchor.name.as_str())
        .collect();
    let shares: Vec<usize> = fixed
        .iter()
        .map(|fixed| usable.iter().filter(|name| **name == fixed.anchor.name).count())
        .collect();
    for (fixed, sharing) in fixed.iter_mut().zip(shares) {
        fixed.sharing = sharing;
    }
    fixed
}

/// A hole takes one bolt, at the unit and at the car, and hole, slot and loop only the ties and straps that go
/// in together: what comes after is of no use.
fn room_for_each(fixed: &mut [Fixed]) {
    let bolted = |other: &Fixed| matches!(other.fixing.kind, FixingKind::Bolt { .. });
    for index in 1..fixed.len() {
        let (before, from) = fixed.split_at_mut(index);
        let here = &mut from[0];
        if !here.in_reach {
            continue;
        }
        let there = || before.iter().filter(|other| other.in_reach);
        let taken = there().filter(|other| bolted(other) && bolted(here)).find_map(|other| {
            let at_anchor = other.anchor.name == here.anchor.name;
            let at_mount = other.mount.mount.name == here.mount.mount.name;
            let taken = |name: &str, at| Trouble { why: format!("{name} has a bolt already"), at };
            if at_anchor {
                Some(taken(&here.anchor.name, here.anchor.at))
            } else {
                at_mount.then(|| taken(&here.mount.mount.name, here.mount.at))
            }
        });
        let known: Vec<Taken> = there().map(|other| Taken::of(other.fixing)).collect();
        here.trouble =
            taken.or_else(|| crowded(here.fixing.kind, here.anchor, &here.mount, &known));
        here.in_reach = here.trouble.is_none();
    }
}

/// Fixings that an anchor may be asked to take.
const TRIED: [FixingKind; 4] = [
    FixingKind::Bolt { working_n: 1.0 },
    FixingKind::Tie { width_mm: 4.8 },
    FixingKind::Clamp { working_n: 1.0 },
    FixingKind::Wedge { working_n: 1.0 },
];

/// Whether some fixing would go from some mount to an anchor.
fn some_use(boot: &Boot, pump: &[Solid], mounts: &[MountAt], anchor: &Anchor) -> bool {
    // On a stud a tie may be held by a nut, where there is thread for it.
    let tried: Vec<Tried> = TRIED
        .iter()
        .flat_map(|kind| [false, true].map(|nut| Tried { nut, ..Tried::plain(*kind) }))
        .filter(|tried| !tried.nut || matches!(tried.kind, FixingKind::Tie { .. }))
        .collect();
    mounts
        .iter()
        .any(|mount| tried.iter().any(|tried| trouble(boot, pump, *tried, anchor, mount).is_none()))
}

/// How many anchors of this car a bolt, tie, clamp or wedge would go to from some mount.
pub(super) fn in_reach(boot: &Boot, pump: &[Solid], pose: &Pose) -> Check {
    let reach_mm = boot.layout().limits.tie_reach_mm;
    let mounts: Vec<MountAt> =
        boot.pump().mounts.iter().map(|mount| MountAt::of(mount, pose)).collect();
    let nearest_mm = |anchor: &Anchor| {
        mounts.iter().map(|mount| (mount.at - anchor.at).norm()).fold(f64::INFINITY, f64::min)
    };
    let mut near: Vec<(f64, &Anchor)> = boot
        .anchors()
        .filter(|anchor| cover(boot, anchor).is_none())
        .map(|anchor| (nearest_mm(anchor), anchor))
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    let usable: Vec<&Anchor> = near
        .iter()
        .take_while(|(distance_mm, _)| *distance_mm <= reach_mm)
        .filter(|(_, anchor)| some_use(boot, pump, &mounts, anchor))
        .map(|(_, anchor)| *anchor)
        .collect();
    let count = usable.len();
    let reading = Reading {
        id: "anchors",
        subject: "in reach".to_string(),
        unit: "anchors",
        limit: FEWEST,
        comfort: CHOICE,
        tolerance: 0.0,
    };
    if near.is_empty() {
        let why = "no anchor was measured: look for studs, holes, slots and loops".to_string();
        return reading.unknown(why, None);
    }
    let within = near.iter().filter(|(distance_mm, _)| *distance_mm <= reach_mm).count();
    let names: Vec<&str> = usable.iter().take(4).map(|anchor| anchor.name.as_str()).collect();
    let why = if names.is_empty() && within > 0 {
        format!(
            "no bolt, tie, clamp or wedge goes from a mount to any of the {within} anchors within \
{reach_mm:.0} mm; the nearest, {}, is {:.1} mm away",
            near[0].1.name, near[0].0
        )
    } else if names.is_empty() {
        format!(
            "nothing to hold to within {reach_mm:.0} mm; the nearest, {}, is {:.1} mm away",
            near[0].1.name, near[0].0
        )
    } else {
        format!("{count} anchors can be used from a mount: {}", names.join("; "))
    };
    reading.judge(count as f64, why, Some(near[0].1.at))
}

/// How many of the fixings chosen have their anchor on this car, of a kind that takes them, in
/// reach.
pub(super) fn usable(boot: &Boot, pose: &Pose, spot: &Spot, fixed: &[Fixed]) -> Check {
    let chosen = spot.fixings.len();
    let count = fixed.iter().filter(|fixed| fixed.in_reach).count();
    let limit = chosen.max(1) as f64;
    let reading = Reading {
        id: "fixings",
        subject: "usable".to_string(),
        unit: "fixings",
        limit,
        comfort: limit,
        tolerance: 0.0,
    };
    let centre = Some(pose * boot.pump().centre_of_gravity);
    if chosen == 0 {
        return reading.judge(0.0, "no fixing was chosen for this spot".to_string(), centre);
    }
    let troubled = fixed.iter().find_map(|fixed| fixed.trouble.as_ref());
    if let Some(trouble) = troubled {
        return reading.judge(count as f64, trouble.why.clone(), Some(trouble.at));
    }
    let missing = spot
        .fixings
        .iter()
        .find(|fixing| !fixed.iter().any(|fixed| std::ptr::eq(fixed.fixing, *fixing)));
    let why = match missing {
        Some(fixing) => format!("this car lacks {}: its option isn't fitted", fixing.anchor),
        None => {
            if let Some(unsure) = fixed.iter().find_map(|fixed| fixed.unsure.as_ref()) {
                return reading.unknown(unsure.why.clone(), Some(unsure.at));
            }
            format!("all {chosen} reach their anchors")
        }
    };
    reading.judge(count as f64, why, centre)
}

/// The fixing nearest to the end of its reach.
pub(super) fn farthest(boot: &Boot, fixed: &[Fixed]) -> Option<Check> {
    let limits = &boot.layout().limits;
    let stretch = |fixed: &Fixed| fixed.length_mm / fixed.reach_mm;
    let longest = fixed.iter().max_by(|a, b| stretch(a).total_cmp(&stretch(b)))?;
    let reading = Reading {
        id: "fixing-length",
        subject: longest.anchor.name.clone(),
        unit: "mm",
        limit: longest.reach_mm,
        comfort: longest.reach_mm / 2.0,
        tolerance: root_sum_of_squares(&[limits.tape_mm, limits.bench_mm]),
    };
    let why = format!(
        "the {} to {} spans {:.0} mm of at most {:.0} mm from {}",
        longest.fixing.kind.words(),
        longest.anchor.name,
        longest.length_mm,
        longest.reach_mm,
        longest.fixing.mount
    );
    Some(reading.judge(longest.length_mm, why, Some(longest.anchor.at)))
}
