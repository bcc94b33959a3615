//! The fitting sheet's lists: what to cut, and what holds the unit.

use super::Handed;
use super::blocks::{Block, details, table};
use crate::checks::HeadlineId;
use crate::model::{AnchorKind, FixingKind, LineKind};

pub(super) fn add_lines(handed: &Handed, blocks: &mut Vec<Block>) {
    let figure =
        |id: &str, subject: &str| handed.card.check(id, subject).and_then(|check| check.figure);
    let mm = |value: Option<f64>| value.map_or("–".to_string(), |value| format!("{value:.0}"));
    let rows: Vec<Vec<String>> = handed
        .boot
        .lines()
        .map(|line| {
            let drawn = handed.card.drawn.lines.iter().find(|drawn| drawn.name == line.name);
            let routed = drawn.map(|drawn| {
                drawn.centreline.windows(2).map(|pair| (pair[1] - pair[0]).norm()).sum::<f64>()
            });
            let kind = match line.kind {
                LineKind::Cable(cable) => format!("cable, 2 × {} mm²", cable.area_mm2),
                other => format!("{}, ø {} mm", other.words(), line.od_mm),
            };
            vec![
                line.name.clone(),
                kind,
                line.to.clone(),
                mm(routed),
                mm(Some(line.free_mm)),
                mm(figure("slack", &line.name)),
                format!("{:.0}", line.bend_centre_mm()),
                format!("{:.0}", line.lead_mm()),
            ]
        })
        .collect();
    if rows.is_empty() {
        return;
    }
    blocks.push(Block::Heading("Hoses, cables, cord: cut list".to_string()));
    let head =
        ["Line", "Kind", "To", "Way, mm", "Has, mm", "Slack, mm", "Least bend, mm", "Straight, mm"];
    blocks.push(table(&[3.2, 2.4, 1.4, 1.0, 1.0, 1.1, 1.2, 1.3], &head, rows));
    let order =
        details(handed).map(|details| details.reach.cut_list.as_slice()).unwrap_or_default();
    let short = "Way: along the middle from where it is last held to the fitting. Slack: what is left of what it has, \
         hoses taken as shortened under pressure; negative means too short by that. Least bend: radius of the \
         middle. Straight: at each fitting before the first bend.";
    blocks.push(Block::Text(short.to_string()));
    let rows: Vec<Vec<String>> = order
        .iter()
        .map(|item| {
            let (count, what) = (item.count.to_string(), item.what.clone());
            vec![item.line.clone(), count, what, mm(item.cut_mm), item.because.clone()]
        })
        .collect();
    if !rows.is_empty() {
        let head = ["If renewed, for", "Pieces", "What", "Cut, mm", "Made up of"];
        blocks.push(table(&[2.6, 0.9, 2.9, 1.0, 4.2], &head, rows));
    }
    let ordered = |title: &str| order.iter().any(|item| title.ends_with(&item.line));
    let line = |title: &str| handed.boot.lines().any(|line| line.name == title);
    let rows: Vec<Vec<String>> = details(handed)
        .map(|details| details.notes(HeadlineId::Reach))
        .unwrap_or_default()
        .into_iter()
        .filter(|note| line(&note.title) || !ordered(&note.title))
        .map(|note| vec![note.title, note.text])
        .collect();
    if !rows.is_empty() {
        blocks.push(table(&[2.6, 9.0], &["Line", "How it lies"], rows));
    }
}

pub(super) fn add_fixings(handed: &Handed, blocks: &mut Vec<Block>) {
    let pose = handed.spot.place.pose();
    let rows: Vec<Vec<String>> = handed
        .spot
        .fixings
        .iter()
        .map(|fixing| {
            let anchor = handed.boot.anchors().find(|anchor| anchor.name == fixing.anchor);
            let mount = handed.boot.pump().mounts.iter().find(|mount| mount.name == fixing.mount);
            let mut kind = match fixing.kind {
                FixingKind::Bolt { working_n } => format!("bolt, {working_n:.0} N"),
                FixingKind::Tie { width_mm } => format!("tie {width_mm} mm wide"),
                FixingKind::Strap { working_n } => format!("strap, {working_n:.0} N"),
                FixingKind::Clamp { working_n } => format!("clamp, {working_n:.0} N"),
                FixingKind::Wedge { working_n } => format!("foam wedge, {working_n:.0} N"),
            };
            kind.push_str(&fixing.besides());
            let size = anchor.map_or("not on this car".to_string(), |anchor| match anchor.kind {
                AnchorKind::Stud { thread_mm } => format!("stud M{thread_mm}"),
                AnchorKind::Hole { diameter_mm } => format!("hole ø {diameter_mm} mm"),
                AnchorKind::Slot { length_mm, width_mm } => {
                    format!("slot {length_mm} × {width_mm} mm")
                }
                AnchorKind::Edge { thickness_mm } => format!("edge {thickness_mm} mm thick"),
                AnchorKind::Bar { girth_mm } => format!("bar {girth_mm} mm round"),
                AnchorKind::Loop => anchor.inside_mm.map_or_else(
                    || anchor.kind.words().to_string(),
                    |inside_mm| format!("loop {inside_mm} mm inside"),
                ),
                AnchorKind::Face => anchor.kind.words().to_string(),
            });
            let length = anchor.zip(mount).map_or("–".to_string(), |(anchor, mount)| {
                format!("{:.0}", (pose * mount.at - anchor.at).norm())
            });
            vec![kind, fixing.mount.clone(), fixing.anchor.clone(), size, length]
        })
        .collect();
    if !rows.is_empty() {
        blocks.push(Block::Heading("Fixings".to_string()));
        let head = ["Fixing", "At the unit", "At the car", "Anchor", "Apart, mm"];
        blocks.push(table(&[2.0, 2.4, 3.2, 1.8, 1.2], &head, rows));
    }
}
