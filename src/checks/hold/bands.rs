//! Whether ties and straps go through or stay on what they are led round.

use super::fit::{MountAt, Tried, Trouble, WEBBING_MM, WEBBING_THICK_MM};
use super::strength::tie_thick_mm;
use crate::model::{Anchor, AnchorKind, Fixing, FixingKind};

/// Friction of a band on a stud's thread: nylon or polyester on dry steel. Common practice, no source.
const ON_STUD: f64 = 0.3;

/// Height of a nut over its thread's diameter. Source: ISO 4032, from memory.
pub(super) const NUT_OVER_THREAD: f64 = 0.8;

/// A band: width and thickness, mm; none for what is none.
pub(super) fn band_mm(kind: FixingKind) -> Option<(f64, f64)> {
    match kind {
        FixingKind::Tie { width_mm } => Some((width_mm, tie_thick_mm(width_mm))),
        FixingKind::Strap { .. } => Some((WEBBING_MM, WEBBING_THICK_MM)),
        _ => None,
    }
}

fn words(kind: FixingKind, (width_mm, thick_mm): (f64, f64)) -> String {
    let what = if matches!(kind, FixingKind::Strap { .. }) { "webbing" } else { "a tie" };
    format!("{what} of {width_mm} × {thick_mm} mm")
}

/// Whether bands lying flat on one another go through a round hole: the rectangle that they make.
fn through_hole(bands: &[(f64, f64)], diameter_mm: f64) -> bool {
    let widest_mm = bands.iter().map(|band| band.0).fold(0.0, f64::max);
    let thick_mm: f64 = bands.iter().map(|band| band.1).sum();
    widest_mm.hypot(thick_mm) <= diameter_mm + 1e-9
}

/// Whether bands go through a slot together: side by side along it, in as many layers as it is wide for.
///
/// The widest are laid first, each into the first layer with room for it; a layer is as thick as its first.
fn through_slot(bands: &[(f64, f64)], length_mm: f64, width_mm: f64) -> bool {
    let mut order = bands.to_vec();
    order.sort_by(|a, b| b.1.total_cmp(&a.1).then(b.0.total_cmp(&a.0)));
    let mut layers: Vec<(f64, f64)> = Vec::new();
    for (wide_mm, thick_mm) in order {
        match layers.iter_mut().find(|layer| layer.0 + wide_mm <= length_mm + 1e-9) {
            Some(layer) => layer.0 += wide_mm,
            None => layers.push((wide_mm, thick_mm)),
        }
    }
    layers.iter().all(|layer| layer.0 <= length_mm + 1e-9)
        && layers.iter().map(|layer| layer.1).sum::<f64>() <= width_mm + 1e-9
}

/// Whether bands go through an anchor's hole, slot or loop together; none where that isn't known, and yes
/// where there is nothing to go through.
fn through(bands: &[(f64, f64)], anchor: &Anchor) -> Option<bool> {
    match anchor.kind {
        AnchorKind::Hole { diameter_mm } => Some(through_hole(bands, diameter_mm)),
        AnchorKind::Slot { length_mm, width_mm } => Some(through_slot(bands, length_mm, width_mm)),
        AnchorKind::Loop => anchor.inside_mm.map(|inside_mm| through_hole(bands, inside_mm)),
        _ => Some(true),
    }
}

fn opening(anchor: &Anchor) -> String {
    match anchor.kind {
        AnchorKind::Hole { diameter_mm } => format!("a {diameter_mm} mm hole"),
        AnchorKind::Slot { length_mm, width_mm } => {
            format!("a slot of {length_mm} × {width_mm} mm")
        }
        AnchorKind::Loop => anchor
            .inside_mm
            .map_or("a loop".to_string(), |mm| format!("a loop {mm} mm wide inside")),
        _ => anchor.kind.words().to_string(),
    }
}

/// What keeps a tie or strap from going through its anchor and the pump's foot, or lets it slip off a stud.
pub(super) fn unfit(tried: Tried, anchor: &Anchor, mount: &MountAt) -> Option<Trouble> {
    let band = band_mm(tried.kind)?;
    let (what, name, foot) = (words(tried.kind, band), &anchor.name, &mount.mount.name);
    if through(&[band], anchor) == Some(false) {
        let why = format!("{what} doesn't go through {name}, {}", opening(anchor));
        return Some(Trouble { why, at: anchor.at });
    }
    let hole_mm = mount.mount.hole_mm.filter(|_| mount.mount.girth_mm.is_none());
    if let Some(hole_mm) = hole_mm.filter(|hole_mm| !through_hole(&[band], *hole_mm)) {
        let why = format!(
            "{what} doesn't go through the {hole_mm} mm hole of {foot}; where it can be led round the foot, \
measure once round it"
        );
        return Some(Trouble { why, at: mount.at });
    }
    let AnchorKind::Stud { thread_mm } = anchor.kind else { return None };
    let nut_mm = if tried.nut { NUT_OVER_THREAD * thread_mm } else { 0.0 };
    let needs_mm = band.0 + nut_mm;
    if let Some(free_mm) = anchor.free_mm.filter(|free_mm| *free_mm < needs_mm) {
        let nut = if tried.nut { " and its nut" } else { "" };
        let why =
            format!("{name} stands {free_mm:.0} mm free; {what}{nut} needs {needs_mm:.0} mm of it");
        return Some(Trouble { why, at: anchor.at });
    }
    if tried.nut {
        return None;
    }
    // The pull on the stud, and how far it leans from square to the axis towards the stud's end.
    let (out, pull) =
        (anchor.normal.try_normalize(1e-9)?, (mount.at - anchor.at).try_normalize(1e-6)?);
    let lean_deg = out.dot(&pull).clamp(-1.0, 1.0).asin().to_degrees();
    let holds_deg = ON_STUD.atan().to_degrees();
    (lean_deg > holds_deg).then(|| {
        let why = format!(
            "the {} pulls {lean_deg:.0}° off square towards the end of {name} and would slip off: a bare stud \
holds it up to {holds_deg:.0}°; put a nut and a wide washer over it, or bolt a P-clip to the stud",
            tried.kind.words()
        );
        Trouble { why, at: anchor.at }
    })
}

/// What isn't known of a tie's or strap's way through its anchor; none when all is.
///
/// A tie goes through any loop that is one; webbing may not.
pub(super) fn unsure(kind: FixingKind, anchor: &Anchor) -> Option<Trouble> {
    let band = band_mm(kind).filter(|_| matches!(kind, FixingKind::Strap { .. }))?;
    through(&[band], anchor).is_none().then(|| {
        let why = format!(
            "whether {} goes through {} isn't known: measure how wide the loop is inside",
            words(kind, band),
            anchor.name
        );
        Trouble { why, at: anchor.at }
    })
}

/// A fixing as it takes room at its two ends.
#[derive(Clone, Copy)]
pub(super) struct Taken<'a> {
    pub(super) kind: FixingKind,
    pub(super) anchor: &'a str,
    pub(super) mount: &'a str,
}

impl<'a> Taken<'a> {
    pub(super) fn of(fixing: &'a Fixing) -> Taken<'a> {
        Taken { kind: fixing.kind, anchor: &fixing.anchor, mount: &fixing.mount }
    }
}

/// What leaves a bolt, tie or strap no room beside fixings that are there already, in its anchor or in its foot's
/// hole; none when there is.
pub(super) fn crowded(
    kind: FixingKind,
    anchor: &Anchor,
    mount: &MountAt,
    there: &[Taken],
) -> Option<Trouble> {
    let (name, foot) = (&anchor.name, &mount.mount.name);
    let bolt = |it: &&Taken| matches!(it.kind, FixingKind::Bolt { .. });
    let at_anchor = || there.iter().filter(|it| it.anchor == *name);
    let at_mount = || there.iter().filter(|it| it.mount == *foot);
    let hole_mm = mount.mount.hole_mm.filter(|_| mount.mount.girth_mm.is_none());
    let holed = matches!(anchor.kind, AnchorKind::Hole { .. });
    let Some(band) = band_mm(kind) else {
        let is_bolt = matches!(kind, FixingKind::Bolt { .. });
        let banded = |it: &Taken| band_mm(it.kind).is_some();
        let full = if holed && at_anchor().any(banded) {
            (name, anchor.at)
        } else if hole_mm.is_some() && at_mount().any(banded) {
            (foot, mount.at)
        } else {
            return None;
        };
        return is_bolt.then(|| Trouble {
            why: format!("a tie or strap goes through {} already, where the bolt would go", full.0),
            at: full.1,
        });
    };
    let what = words(kind, band);
    let filled = |name: &str| {
        format!("{name} has a bolt in it already: {what} doesn't go through beside it")
    };
    let full = |name: &str, of: &str, count: usize| {
        format!("{what} doesn't go through {name}, {of}, beside the {count} led through it already")
    };
    if holed && at_anchor().any(|it| bolt(&it)) {
        return Some(Trouble { why: filled(name), at: anchor.at });
    }
    let mut bands: Vec<(f64, f64)> = at_anchor().filter_map(|it| band_mm(it.kind)).collect();
    bands.push(band);
    if bands.len() > 1 && through(&bands, anchor) == Some(false) {
        let why = full(name, &opening(anchor), bands.len() - 1);
        return Some(Trouble { why, at: anchor.at });
    }
    let hole_mm = hole_mm?;
    if at_mount().any(|it| bolt(&it)) {
        return Some(Trouble { why: filled(foot), at: mount.at });
    }
    let mut bands: Vec<(f64, f64)> = at_mount().filter_map(|it| band_mm(it.kind)).collect();
    bands.push(band);
    (bands.len() > 1 && !through_hole(&bands, hole_mm)).then(|| Trouble {
        why: full(foot, &format!("a {hole_mm} mm hole"), bands.len() - 1),
        at: mount.at,
    })
}
