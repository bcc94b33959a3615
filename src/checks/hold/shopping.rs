//! What to buy for a spot's fixings.

use serde::Serialize;

use super::bands::{NUT_OVER_THREAD, band_mm};
use super::fit::{FOAM_MM, MountAt, Tried, WEBBING_MM, thread_mm};
use super::points::Fixed;
use crate::model::{Anchor, AnchorKind, FixingKind};

/// Something to buy or cut.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Item {
    /// How many.
    pub count: usize,
    /// What, with its sizes.
    pub what: String,
}

/// Lengths that screws are sold in, mm. Source: ISO 888, from memory.
const SCREWS_MM: [f64; 16] = [
    10.0, 12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 55.0, 60.0, 70.0, 80.0, 90.0, 100.0,
];

/// Lengths that ties are sold in, mm. Common practice, no source.
const TIES_MM: [f64; 9] = [100.0, 140.0, 200.0, 250.0, 300.0, 370.0, 450.0, 540.0, 780.0];

/// What a tie needs beside its run there and back: its head, its tail, round what it holds, mm.
/// Common practice, no source.
const TIE_SPARE_MM: f64 = 80.0;

/// What webbing needs for its buckle and seams, mm. Common practice, no source.
const WEBBING_SPARE_MM: f64 = 150.0;

/// Thickness of the sheet that holes are in, mm, when nothing else is said.
const SHEET_MM: f64 = 2.0;

/// The shortest length on sale that is enough; the longest when none is.
fn sold(lengths_mm: &[f64], needed_mm: f64) -> f64 {
    let enough = lengths_mm.iter().find(|length| **length >= needed_mm - 1e-9);
    enough.or(lengths_mm.last()).copied().unwrap_or(needed_mm)
}

/// What usable fixings take, like things together, in order of first use.
pub(super) fn shopping<'a>(fixed: impl Iterator<Item = &'a Fixed<'a>>) -> Vec<Item> {
    let parts = fixed.flat_map(|it| parts(Tried::of(it.fixing), it.anchor, &it.mount));
    gathered(parts)
}

/// Like things counted together.
pub(super) fn gathered(parts: impl Iterator<Item = String>) -> Vec<Item> {
    let mut items: Vec<Item> = Vec::new();
    for what in parts {
        match items.iter_mut().find(|item| item.what == what) {
            Some(item) => item.count += 1,
            None => items.push(Item { count: 1, what }),
        }
    }
    items
}

/// What one fixing takes.
pub(super) fn parts(tried: Tried, anchor: &Anchor, mount: &MountAt) -> Vec<String> {
    let run_mm = (anchor.at - mount.at).norm();
    let nut = match anchor.kind {
        AnchorKind::Stud { thread_mm } if tried.nut && band_mm(tried.kind).is_some() => {
            vec![format!("lock nut M{thread_mm}"), format!("washer M{thread_mm}, wide")]
        }
        _ => Vec::new(),
    };
    let mut parts = match tried.kind {
        FixingKind::Bolt { .. } => bolt(anchor, mount),
        FixingKind::Tie { width_mm } => {
            let long_mm = sold(&TIES_MM, 2.0 * run_mm + TIE_SPARE_MM);
            vec![format!("cable tie {width_mm} × {long_mm} mm, for heat and sun")]
        }
        FixingKind::Strap { working_n } => {
            let long_mm = ((2.0 * run_mm + WEBBING_SPARE_MM) / 50.0).ceil() * 50.0;
            vec![format!(
                "strap of {WEBBING_MM} mm webbing, {long_mm} mm, with buckle, for {working_n} N working"
            )]
        }
        FixingKind::Clamp { working_n } => vec![match anchor.kind {
            AnchorKind::Bar { girth_mm } => format!(
                "lined pipe clamp for {:.0} mm across, {working_n} N",
                girth_mm / std::f64::consts::PI
            ),
            AnchorKind::Edge { thickness_mm } => {
                format!("edge clamp for {thickness_mm} mm sheet, {working_n} N")
            }
            _ => format!("clamp, {working_n} N"),
        }],
        FixingKind::Wedge { .. } => {
            // As much over the gap as it is to be pressed; a quarter where that isn't said.
            let out = anchor.normal.try_normalize(1e-9);
            let gap_mm = out.map_or(run_mm, |out| out.dot(&(mount.at - anchor.at)).abs());
            let thick_mm = tried.squeeze_mm.map_or(gap_mm * 1.25, |it| gap_mm + it).ceil();
            vec![format!("block of closed-cell foam {FOAM_MM} × {FOAM_MM} × {thick_mm:.0} mm")]
        }
    };
    parts.extend(nut);
    parts
}

fn bolt(anchor: &Anchor, mount: &MountAt) -> Vec<String> {
    let thread_mm = thread_mm(anchor.kind, mount.mount.hole_mm).unwrap_or(6.0);
    let (gap_mm, thick_mm) = ((anchor.at - mount.at).norm(), mount.thick_mm());
    // Nut and washer: ISO 4032 and ISO 7089, from memory: 0.8 d and about 0.27 d.
    let (nut_mm, washer_mm) = (NUT_OVER_THREAD * thread_mm, 0.27 * thread_mm);
    let mut parts = Vec::new();
    if gap_mm > 1.0 {
        parts.push(format!("spacer or rubber mount for M{thread_mm}, {gap_mm:.0} mm"));
    }
    let grip_mm = gap_mm + thick_mm + washer_mm + nut_mm;
    match anchor.kind {
        AnchorKind::Stud { .. } => {
            if anchor.free_mm.is_some_and(|free_mm| free_mm < grip_mm) {
                parts.push(format!("long nut M{thread_mm}"));
                let screw_mm = sold(&SCREWS_MM, thick_mm + washer_mm + thread_mm);
                parts.push(format!("screw M{thread_mm} × {screw_mm}"));
            } else {
                parts.push(format!("lock nut M{thread_mm}"));
            }
        }
        AnchorKind::Face => {
            parts.push(format!("rivet nut M{thread_mm}, and a drill for it"));
            let screw_mm = sold(&SCREWS_MM, gap_mm + thick_mm + washer_mm + 1.5 * thread_mm);
            parts.push(format!("screw M{thread_mm} × {screw_mm}"));
        }
        _ => {
            let screw_mm = sold(&SCREWS_MM, grip_mm + SHEET_MM + washer_mm);
            parts.push(format!("screw M{thread_mm} × {screw_mm}"));
            parts.push(format!("lock nut M{thread_mm}"));
            parts.push(format!("washer M{thread_mm}, wide"));
        }
    }
    parts.push(format!("washer M{thread_mm}"));
    parts
}
