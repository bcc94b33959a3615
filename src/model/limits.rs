//! What the checks hold a spot to; a layout may state its own.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;

/// Limits and default tolerances. Where nothing else is said the figure is common practice,
/// no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// Gap to any body, mm.
    pub gap_mm: f64,
    /// Gap to a sharp edge, mm.
    pub gap_sharp_mm: f64,
    /// Gap to a mover, mm.
    pub gap_mover_mm: f64,
    /// Gap to a battery terminal, mm.
    pub gap_terminal_mm: f64,
    /// Gap that a line keeps to any body, mm.
    pub gap_line_mm: f64,
    /// Spare length of a line that can still be clipped up, mm.
    pub spare_mm: f64,
    /// Run of a line between supports from which a clip is called for, mm. Source: ISO 10133 practice,
    /// conductors supported at least every 450 mm.
    pub span_mm: f64,
    /// How much a hose shortens under pressure, %. Source: fitting guides quote +2 / −4 % at
    /// working pressure.
    pub hose_shortening_pct: f64,
    /// Share of the pump's surface that may be seen with the trim in, %.
    pub seen_pct: f64,
    /// Usable boot space that may be lost, litres.
    pub space_litres: f64,
    /// Luggage blocks of 200 × 100 × 50 mm that may no longer go in.
    pub blocks: f64,
    /// Clear diameter of the way to the filler: a bottle's neck and the fingers round it, mm.
    pub service_mm: f64,
    /// Voltage lost in the feed with the pump running, %. Source: ISO 10133 practice.
    pub volt_drop_pct: f64,
    /// Freeboard with one drain blocked, mm.
    pub freeboard_mm: f64,
    /// Largest reach of a bolt with its spacer, mm.
    pub bolt_reach_mm: f64,
    /// How far beside its anchor a bolt's mount may stand, mm: the play of hole and rubber.
    pub bolt_play_mm: f64,
    /// Largest free run of a tie or strap from mount to anchor, mm.
    pub tie_reach_mm: f64,
    /// Friction between the pump's faces and what it rests on.
    pub friction: f64,
    /// Free height over a nut that a spanner needs, mm.
    pub spanner_mm: f64,
    /// Stiffness of a bolt with its rubber, any direction, N/mm.
    pub bolt_n_mm: f64,
    /// Stiffness of a clamp, any direction, N/mm.
    pub clamp_n_mm: f64,
    /// Stiffness of a foam wedge along its push, N/mm.
    pub wedge_n_mm: f64,
    /// Stiffness of a point that the pump rests on along its push, N/mm.
    pub rest_n_mm: f64,
    /// Amplification at resonance (1 over twice the damping ratio): rubber, webbing and foam damp by
    /// some 5 %.
    pub resonance: f64,
    /// Side of a cell of the water grid, mm.
    pub water_step_mm: f64,
    /// What a leak lets in when nothing else was measured, l/min.
    pub leak_l_min: f64,
    /// Distance that a drip's way keeps from a live part, mm.
    pub drip_mm: f64,
    /// Temperature at which the level is set, °C.
    pub fill_c: f64,
    /// Coldest that the fluid gets, °C.
    pub cold_c: f64,
    /// Hottest that it gets, in a shut boot in the sun, °C.
    pub hot_c: f64,
    /// Tolerance of a tape measurement, ± mm.
    pub tape_mm: f64,
    /// Tolerance of a scanned mesh, ± mm.
    pub scan_mm: f64,
    /// Tolerance of the pump's own dimensions, ± mm.
    pub bench_mm: f64,
}

impl Default for Limits {
    fn default() -> Self {
        Limits {
            gap_mm: 5.0,
            gap_sharp_mm: 10.0,
            gap_mover_mm: 15.0,
            gap_terminal_mm: 25.0,
            gap_line_mm: 3.0,
            spare_mm: 300.0,
            span_mm: 450.0,
            hose_shortening_pct: 4.0,
            seen_pct: 10.0,
            space_litres: 10.0,
            blocks: 10.0,
            service_mm: 60.0,
            volt_drop_pct: 3.0,
            freeboard_mm: 25.0,
            bolt_reach_mm: 30.0,
            bolt_play_mm: 6.0,
            tie_reach_mm: 200.0,
            friction: 0.3,
            spanner_mm: 20.0,
            bolt_n_mm: 300.0,
            clamp_n_mm: 300.0,
            wedge_n_mm: 20.0,
            rest_n_mm: 200.0,
            resonance: 10.0,
            water_step_mm: 5.0,
            leak_l_min: 0.5,
            drip_mm: 30.0,
            fill_c: 20.0,
            cold_c: -20.0,
            hot_c: 60.0,
            tape_mm: 3.0,
            scan_mm: 10.0,
            bench_mm: 1.0,
        }
    }
}

impl Limits {
    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.range("gap_mm", self.gap_mm, 0.0, 200.0, "mm");
        to.range("gap_sharp_mm", self.gap_sharp_mm, 0.0, 200.0, "mm");
        to.range("gap_mover_mm", self.gap_mover_mm, 0.0, 200.0, "mm");
        to.range("gap_terminal_mm", self.gap_terminal_mm, 0.0, 500.0, "mm");
        to.range("gap_line_mm", self.gap_line_mm, 0.0, 100.0, "mm");
        to.range("spare_mm", self.spare_mm, 1.0, 5_000.0, "mm");
        to.range("span_mm", self.span_mm, 50.0, 5_000.0, "mm");
        to.range("hose_shortening_pct", self.hose_shortening_pct, 0.0, 20.0, "%");
        to.range("seen_pct", self.seen_pct, 0.0, 100.0, "%");
        to.range("space_litres", self.space_litres, 0.0, 1_000.0, "litres");
        to.range("blocks", self.blocks, 0.0, 1_000.0, "blocks");
        to.range("service_mm", self.service_mm, 10.0, 140.0, "mm");
        to.range("volt_drop_pct", self.volt_drop_pct, 0.1, 50.0, "%");
        to.range("freeboard_mm", self.freeboard_mm, 0.0, 500.0, "mm");
        to.range("bolt_reach_mm", self.bolt_reach_mm, 1.0, 200.0, "mm");
        to.range("bolt_play_mm", self.bolt_play_mm, 0.0, 100.0, "mm");
        to.range("tie_reach_mm", self.tie_reach_mm, 1.0, 2_000.0, "mm");
        to.range("friction", self.friction, 0.0, 1.5, "");
        to.range("spanner_mm", self.spanner_mm, 1.0, 300.0, "mm");
        to.range("bolt_n_mm", self.bolt_n_mm, 1.0, 1_000_000.0, "N/mm");
        to.range("clamp_n_mm", self.clamp_n_mm, 1.0, 1_000_000.0, "N/mm");
        to.range("wedge_n_mm", self.wedge_n_mm, 0.1, 1_000_000.0, "N/mm");
        to.range("rest_n_mm", self.rest_n_mm, 0.1, 1_000_000.0, "N/mm");
        to.range("resonance", self.resonance, 0.5, 200.0, "");
        to.range("water_step_mm", self.water_step_mm, 2.0, 50.0, "mm");
        to.range("leak_l_min", self.leak_l_min, 0.001, 1_000.0, "l/min");
        to.range("drip_mm", self.drip_mm, 0.0, 500.0, "mm");
        to.range("fill_c", self.fill_c, -50.0, 120.0, "°C");
        to.range("cold_c", self.cold_c, -60.0, self.fill_c.clamp(-50.0, 120.0), "°C");
        to.range("hot_c", self.hot_c, self.fill_c.clamp(-50.0, 120.0), 150.0, "°C");
        to.range("tape_mm", self.tape_mm, 0.0, 50.0, "mm");
        to.range("scan_mm", self.scan_mm, 0.0, 50.0, "mm");
        to.range("bench_mm", self.bench_mm, 0.0, 50.0, "mm");
    }
}
