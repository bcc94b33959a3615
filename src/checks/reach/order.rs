//! What to cut and order for a line, with allowances.

use super::details::CutItem;
use crate::model::{Limits, Line, LineKind};

/// Cut hose may be off by this share. Source: EN 853:2015 clause 5.2.1 as a summary page gives it, ± 2 %.
const HOSE_CUT: f64 = 0.02;

/// Cable stripped and crimped at each end, mm. Common practice, no source.
const CABLE_END_MM: f64 = 25.0;

/// Slack that is left in a new line, as a share of its length. Common practice, no source.
const NEW_SLACK: f64 = 0.03;

/// What to cut for a line that needs `needed_mm` from exit to fitting: the line itself, a sleeve where it
/// comes near a sharp edge, the clips that its spans call for.
pub(super) fn cut_list(
    line: &Line,
    needed_mm: f64,
    spans_mm: &[f64],
    limits: &Limits,
    sleeve: bool,
) -> Vec<CutItem> {
    let up = |mm: f64| (mm / 5.0).ceil() * 5.0;
    let slack_mm = needed_mm * (1.0 + NEW_SLACK);
    let (what, cut_mm, because) = match line.kind {
        LineKind::Hose => {
            let shortens = limits.hose_shortening_pct / 100.0;
            (
                format!("hose, {:.0} mm outside", line.od_mm),
                up(slack_mm / (1.0 - shortens) / (1.0 - HOSE_CUT)),
                format!(
                    "{needed_mm:.0} mm needed, {:.0} % slack, {} % shortening, {:.0} % off the cut; \
                     fittings' own length to be taken off",
                    100.0 * NEW_SLACK,
                    limits.hose_shortening_pct,
                    100.0 * HOSE_CUT
                ),
            )
        }
        LineKind::Cable(cable) => (
            format!("cable, {} mm², two cores", cable.area_mm2),
            up(slack_mm + 2.0 * CABLE_END_MM),
            format!(
                "{needed_mm:.0} mm needed, {:.0} % slack, {CABLE_END_MM:.0} mm at each end to strip",
                100.0 * NEW_SLACK
            ),
        ),
        LineKind::Cord => (
            "release cord with sheath".to_string(),
            up(slack_mm),
            format!(
                "{needed_mm:.0} mm needed, {:.0} % slack; the inner cord as much longer as the handle \
                 and the lever take up",
                100.0 * NEW_SLACK
            ),
        ),
    };
    let item = |what: String, cut_mm: Option<f64>, count: u32, because: String| CutItem {
        what,
        line: line.name.clone(),
        cut_mm,
        count,
        because,
    };
    let mut list = vec![item(what, Some(cut_mm), 1, because)];
    if sleeve {
        let because = "it comes near a sharp edge".to_string();
        let what = format!("protective sleeve for {:.0} mm", line.od_mm);
        list.push(item(what, Some(up(needed_mm - 2.0 * line.lead_mm())), 1, because));
    }
    let clips: u32 =
        spans_mm.iter().map(|span| ((span / limits.span_mm).ceil() as u32).saturating_sub(1)).sum();
    if clips > 0 {
        let because = format!("no run longer than {:.0} mm without one", limits.span_mm);
        list.push(item(format!("clip for {:.0} mm", line.od_mm), None, clips, because));
    }
    list
}
