//! The boot with the pump as one GLB file, for a phone's viewer.

use super::parts::{PartKind, boot_parts};
use super::picture::smooth_normals;
use crate::checks::{Boot, Scorecard};
use crate::format::{FileError, GlbNode, GlbSurface, glb_from_nodes};
use crate::model::{Pose, Spot};

/// A GLB file of the boot with the pump at a spot. Nodes at the top: `bodies`, `movers`, `trim`, `pump`,
/// `lines`, `fixings`, `water`, each carrying its things by their names; the pump's node stands where the
/// spot says, its solids in the pump's own frame. Carpets and boards are glassy.
///
/// # Errors
/// When there is nothing to write, or more than a GLB file can hold.
pub fn boot_glb(
    file: &str,
    boot: &Boot,
    spot: &Spot,
    card: &Scorecard,
) -> Result<Vec<u8>, FileError> {
    let groups = ["bodies", "movers", "trim", "pump", "lines", "fixings", "water"];
    let mut nodes: Vec<GlbNode> = groups
        .iter()
        .map(|name| GlbNode {
            name: (*name).to_string(),
            pose: if *name == "pump" { spot.place.pose() } else { Pose::identity() },
            surface: None,
            children: Vec::new(),
        })
        .collect();
    for part in boot_parts(boot, spot, card) {
        let (group, alpha) = match part.kind {
            PartKind::Body(_) => (0, 1.0),
            PartKind::Mover(_) => (1, 1.0),
            PartKind::Trim(_) => (2, 0.35),
            PartKind::Pump(_) => (3, 1.0),
            PartKind::Line => (4, 1.0),
            PartKind::Fixing => (5, 1.0),
            PartKind::Water => (6, 0.6),
        };
        let normals = smooth_normals(&part.surface);
        let surface =
            Some(GlbSurface { triangles: part.surface, normals, colour: part.colour, alpha });
        let child =
            GlbNode { name: part.name, pose: Pose::identity(), surface, children: Vec::new() };
        nodes[group].children.push(child);
    }
    nodes.retain(|node| !node.children.is_empty());
    glb_from_nodes(file, &nodes)
}
