//! The closing panel of an opening, and other plates that are cut from paper.

use crate::checks::{Boot, DrawnLine};
use crate::geometry::{Outline, OutlineError, RegionError, Solid, free_region};
use crate::model::{Opening, OpeningOutline, Point};

/// Slots reach this far beyond the edge, so that they open it, mm.
const BEYOND_EDGE_MM: f64 = 5.0;

/// Pieces of waste smaller than this are not told, mm².
const WASTE_MM2: f64 = 25.0;

/// A slot for a line that passes through.
#[derive(Debug, Clone, PartialEq)]
pub struct Relief {
    /// The line's name.
    pub line: String,
    /// Where the line's middle passes, right and up in the panel's plane, mm.
    pub at: (f64, f64),
    /// The slot's width, mm.
    pub width_mm: f64,
}

/// A flat thing to be cut: its outline, its holes, and the marks that go on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Panel {
    /// What it is called.
    pub name: String,
    /// The cut line, seen on the face; mm right and up.
    pub outline: Outline,
    /// The opening as measured or cut, which the panel goes into; none for a plate.
    pub opening: Option<Outline>,
    /// Holes.
    pub holes: Vec<Outline>,
    /// Slots for lines, already cut into the outline.
    pub reliefs: Vec<Relief>,
    /// Which way pile or grain lies, degrees counter-clockwise from the right; none where it
    /// doesn't matter.
    pub grain_deg: Option<f64>,
    /// What was allowed for, and what to mind, a sentence each.
    pub remarks: Vec<String>,
}

/// Why there is no panel.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PanelError {
    /// The outline can't be used.
    #[error("the outline of `{0}`: {1}")]
    Outline(String, OutlineError),
    /// The plane doesn't cut out an opening.
    #[error("`{0}`: {1}; move the plane or the point, or measure the outline")]
    Region(String, RegionError),
    /// The point lies in a body.
    #[error("`{0}`: the point `around` lies inside `{1}`; expected a point in the opening")]
    InBody(String, String),
    /// Nothing is left.
    #[error(
        "`{0}`: nothing is left after {1:.1} mm are taken off all round; is the opening in mm?"
    )]
    Vanished(String, f64),
    /// The panel falls apart.
    #[error("`{name}`: it falls into {pieces} pieces {why}; make it as several openings")]
    Parted {
        /// The opening.
        name: String,
        /// How many.
        pieces: usize,
        /// Where that comes from.
        why: &'static str,
    },
    /// A hole that reaches out of the plate or meets another.
    #[error("`{0}`: hole {1} at ({2:.1}, {3:.1}) reaches the edge or another hole")]
    Hole(String, usize, f64, f64),
}

/// The closing panel of an opening, with slots for those of `lines` that pass through it.
///
/// The opening's outline is offset inward by the carpet's thickness and outward by the press fit; a
/// finger notch and a slot for each line, from where it passes to the nearest edge, are cut away.
/// Bodies that stand in a cut opening become holes with the same room.
///
/// # Errors
/// When the outline crosses itself or isn't closed, or nothing or several pieces are left.
pub fn panel_for(boot: &Boot, opening: &Opening, lines: &[DrawnLine]) -> Result<Panel, PanelError> {
    let name = || opening.name.clone();
    let pose = opening.place.pose();
    let mut remarks = Vec::new();
    let (measured, standing) = match &opening.outline {
        OpeningOutline::Measured(corners) => (corners.clone(), Vec::new()),
        OpeningOutline::Cut { around } => {
            let (bodies, solids): (Vec<_>, Vec<&Solid>) = boot.bodies().unzip();
            let region = free_region(&solids, &pose, *around).map_err(|error| match error {
                RegionError::Inside(index) => {
                    PanelError::InBody(name(), bodies[index].name.clone())
                }
                other => PanelError::Region(name(), other),
            })?;
            let open = bodies.iter().zip(&solids).filter(|(_, solid)| solid.open());
            if open.count() > 0 {
                remarks.push(
                    "Bodies that are open scans count as far as the scan goes: check by tape."
                        .into(),
                );
            }
            (region.outer, region.inner)
        }
    };
    let outline_error = |error| PanelError::Outline(name(), error);
    let hole = Outline::through(&measured).map_err(outline_error)?;
    let by_mm = opening.fit_mm - opening.carpet_mm;
    let mut outline = single(hole.offset(by_mm), &opening.name, by_mm, "when it is made smaller")?;
    remarks.insert(0, allowance(opening));
    if let Some(notch) = &opening.notch
        && let Some((edge, out)) = outline.nearest(notch.near)
    {
        let inner = (notch.depth_mm - notch.width_mm / 2.0).max(0.0);
        let from = (edge.0 - out.0 * inner, edge.1 - out.1 * inner);
        let beyond = BEYOND_EDGE_MM + notch.width_mm;
        let to = (edge.0 + out.0 * beyond, edge.1 + out.1 * beyond);
        let slot = Outline::slot(from, to, notch.width_mm);
        outline = cut_into(outline, &slot, &opening.name, "at the finger notch")?;
    }
    let mut reliefs = Vec::new();
    for line in lines {
        for at in crossings(line, &pose) {
            let inside = hole.holds(at);
            if !inside {
                continue;
            }
            let width_mm = 2.0 * (line.radius_mm + opening.relief_mm);
            let Some((edge, _)) = outline.nearest(at) else { continue };
            let (x, y) = (edge.0 - at.0, edge.1 - at.1);
            let length = x.hypot(y).max(1e-9);
            let beyond = (length + BEYOND_EDGE_MM + width_mm) / length;
            // A line right on the edge has no way to it; straight down then.
            let to = if length > 0.01 {
                (at.0 + x * beyond, at.1 + y * beyond)
            } else {
                (at.0, at.1 - 4.0 * width_mm)
            };
            let slot = Outline::slot(at, to, width_mm);
            outline = cut_into(outline, &slot, &opening.name, "where a line passes")?;
            reliefs.push(Relief { line: line.name.clone(), at, width_mm });
        }
    }
    for (index, relief) in reliefs.iter().enumerate() {
        let (number, width_mm, line) = (index + 1, relief.width_mm, &relief.line);
        remarks.push(format!("Slot {number}: {width_mm:.0} mm wide, for {line}."));
    }
    if !reliefs.is_empty() {
        remarks.push("Fit the panel with the lines in place, and edge the slots.".to_string());
    }
    let mut holes = Vec::new();
    for corners in &standing {
        let body = Outline::through(corners).map_err(outline_error)?;
        let room = opening.carpet_mm + opening.relief_mm;
        let grown = single(body.offset(room), &opening.name, room, "round what stands in it")?;
        let (left, inner) = outline.without(&grown);
        match (left.len(), inner.len()) {
            (1, 1) => holes.push(grown),
            _ => outline = cut_into(outline, &grown, &opening.name, "at what stands in it")?,
        }
    }
    Ok(Panel {
        name: name(),
        outline,
        opening: Some(hole),
        holes,
        reliefs,
        grain_deg: Some(opening.grain_deg),
        remarks,
    })
}

/// A plate of its own, such as the adapter between a pump's feet and the anchors: an outline and round
/// holes, each with its centre and diameter, mm.
///
/// ```
/// use dryberth::documents::panel::plate;
/// let outline = [(0.0, 0.0), (120.0, 0.0), (120.0, 80.0), (0.0, 80.0)];
/// let made = plate("adapter plate", &outline, &[((20.0, 20.0), 6.5)]).unwrap();
/// assert_eq!(made.holes.len(), 1);
/// assert!(plate("adapter plate", &outline, &[((1.0, 20.0), 6.5)]).is_err());
/// ```
///
/// # Errors
/// When the outline crosses itself, or a hole reaches the edge or another hole.
pub fn plate(
    name: &str,
    outline: &[(f64, f64)],
    holes: &[((f64, f64), f64)],
) -> Result<Panel, PanelError> {
    let outline =
        Outline::through(outline).map_err(|error| PanelError::Outline(name.to_string(), error))?;
    let mut cut: Vec<Outline> = Vec::new();
    for (index, &((x, y), diameter_mm)) in holes.iter().enumerate() {
        let sound = diameter_mm.is_finite() && diameter_mm > 0.0;
        let near_edge = outline
            .nearest((x, y))
            .is_none_or(|(edge, _)| (edge.0 - x).hypot(edge.1 - y) <= diameter_mm / 2.0);
        let meets = holes[..index]
            .iter()
            .any(|((ox, oy), other)| (ox - x).hypot(oy - y) <= (other + diameter_mm) / 2.0);
        if !sound || near_edge || meets || !outline.holds((x, y)) {
            return Err(PanelError::Hole(name.to_string(), index + 1, x, y));
        }
        cut.push(Outline::circle(x, y, diameter_mm / 2.0));
    }
    let remarks = holes
        .iter()
        .enumerate()
        .map(|(index, ((x, y), d))| format!("Hole {}: ø {d:.1} mm at ({x:.1}, {y:.1}).", index + 1))
        .collect();
    Ok(Panel {
        name: name.to_string(),
        outline,
        opening: None,
        holes: cut,
        reliefs: Vec::new(),
        grain_deg: None,
        remarks,
    })
}

fn allowance(opening: &Opening) -> String {
    let by_mm = opening.fit_mm - opening.carpet_mm;
    let side = if by_mm < 0.0 { "smaller" } else { "larger" };
    let fit = if opening.fit_mm < 0.0 {
        format!("{:.1} mm of gap", -opening.fit_mm)
    } else {
        format!("{:.1} mm of press fit", opening.fit_mm)
    };
    format!(
        "Cut line {:.1} mm {side} than the opening all round: {:.1} mm of carpet round the edge, {fit}.",
        by_mm.abs(),
        opening.carpet_mm
    )
}

fn single(
    mut pieces: Vec<Outline>,
    name: &str,
    by_mm: f64,
    why: &'static str,
) -> Result<Outline, PanelError> {
    pieces.retain(|piece| piece.area_mm2() > WASTE_MM2);
    match pieces.len() {
        0 => Err(PanelError::Vanished(name.to_string(), by_mm.abs())),
        1 => Ok(pieces.remove(0)),
        pieces => Err(PanelError::Parted { name: name.to_string(), pieces, why }),
    }
}

fn cut_into(
    outline: Outline,
    other: &Outline,
    name: &str,
    why: &'static str,
) -> Result<Outline, PanelError> {
    let (pieces, _) = outline.without(other);
    // What is cut off small is waste; two pieces of some size are two panels.
    let whole = outline.area_mm2();
    let large: Vec<Outline> =
        pieces.into_iter().filter(|piece| piece.area_mm2() > whole * 0.02).collect();
    single(large, name, 0.0, why)
}

/// Where a line's middle passes through the plane, right and up in it.
fn crossings(line: &DrawnLine, pose: &crate::model::Pose) -> Vec<(f64, f64)> {
    let into_plane = pose.inverse();
    let local: Vec<Point> = line.centreline.iter().map(|point| into_plane * point).collect();
    local
        .windows(2)
        .filter(|pair| (pair[0].z < 0.0) != (pair[1].z < 0.0))
        .map(|pair| {
            let share = pair[0].z / (pair[0].z - pair[1].z);
            let at = pair[0] + (pair[1] - pair[0]) * share;
            (at.x, at.y)
        })
        .collect()
}
