//! Hoses, cables and the release cord.

use serde::{Deserialize, Serialize};

use super::problem::Inspector;
use super::{Point, Vector};

/// Where a line leaves the car body.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exit {
    /// The last point where it is held.
    pub at: Point,
    /// The way it leaves.
    pub towards: Vector,
}

/// Which side of the bend a bend radius is given on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum BendRule {
    /// On the inside of the bend, as EN 853 gives it for rubber hose; half the outside diameter
    /// is added for the centreline.
    #[default]
    Inside,
    /// On the centreline.
    Centre,
}

/// The electrics of a feed cable.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cable {
    /// Copper cross-section of each of the two conductors, mm².
    pub area_mm2: f64,
    /// Length of the run from the supply to where it leaves the car body, one way, mm.
    pub upstream_mm: f64,
    /// Supply voltage with the pump off, V.
    pub supply_v: f64,
    /// Resistance of supply, fuse, relay and joints together, mΩ.
    pub joints_mohm: f64,
    /// Conductor temperature, °C.
    pub conductor_c: f64,
}

/// What a line is.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum LineKind {
    /// A hydraulic hose.
    Hose,
    /// The pump's feed cable.
    Cable(Cable),
    /// The emergency-release cord in its sheath.
    Cord,
}

impl LineKind {
    /// The kind in the trade's words.
    pub fn words(self) -> &'static str {
        match self {
            LineKind::Hose => "hose",
            LineKind::Cable(_) => "cable",
            LineKind::Cord => "release cord",
        }
    }
}

/// A bundle of lines tied together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bundle {
    /// What the workshop calls it.
    pub name: String,
    /// Smallest bend radius of the bundle's middle, mm: no line in it is bent tighter.
    pub bend_mm: f64,
}

/// A clip that a line goes through.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineClip {
    /// The anchor that it sits on.
    pub anchor: String,
    /// The way that the line runs through it, from exit to pump.
    pub towards: Vector,
    /// The spot that it belongs to; to every spot if left out.
    #[serde(default)]
    pub spot: Option<String>,
}

/// How the release is pulled.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pull {
    /// How far from the lever's own direction the cord may pull, degrees.
    pub cone_deg: f64,
    /// Where a hand takes the handle.
    pub handle: Point,
}

/// What was read at the plug on the bench or in the car, with the line as it is now.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FeedReading {
    /// Volts at the plug while the pump ran.
    pub plug_v: f64,
    /// Current at the same moment, A.
    pub current_a: f64,
}

/// A line from where it leaves the car body to where it meets the pump.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    /// What the workshop calls it.
    pub name: String,
    /// What it is.
    pub kind: LineKind,
    /// Where it leaves the car body.
    pub from: Exit,
    /// The pump's port or connector that it meets.
    pub to: String,
    /// Free length from exit to fitting, unpressed, mm.
    pub free_mm: f64,
    /// Outside diameter, mm.
    pub od_mm: f64,
    /// Inside diameter of a hose, mm; [`bore_mm`](Self::bore_mm) takes the usual one if left out.
    #[serde(default)]
    pub bore_mm: Option<f64>,
    /// Smallest bend radius, mm.
    pub bend_mm: f64,
    /// Which side of the bend that radius is given on.
    #[serde(default)]
    pub bend_rule: BendRule,
    /// Straight length at each fitting before the first bend, mm; 1.5 × outside diameter if left
    /// out.
    #[serde(default)]
    pub lead_mm: Option<f64>,
    /// The option that brings it; on every car if left out.
    #[serde(default)]
    pub option: Option<String>,
    /// The bundle that it is tied into.
    #[serde(default)]
    pub bundle: Option<Bundle>,
    /// The clips that it goes through, from exit to pump.
    #[serde(default)]
    pub clips: Vec<LineClip>,
    /// For a release cord: how it is pulled.
    #[serde(default)]
    pub pull: Option<Pull>,
    /// For a cable: what was read at its plug; it replaces what supply and joints are taken to lose.
    #[serde(default)]
    pub measured: Option<FeedReading>,
}

impl Line {
    /// Smallest radius of the centreline, mm: its own, or its bundle's if that is larger.
    pub fn bend_centre_mm(&self) -> f64 {
        let own_mm = match self.bend_rule {
            BendRule::Inside => self.bend_mm + self.od_mm / 2.0,
            BendRule::Centre => self.bend_mm,
        };
        self.bundle.as_ref().map_or(own_mm, |bundle| own_mm.max(bundle.bend_mm))
    }

    /// Inside diameter, mm: as measured, else what polyamide hose of its outside diameter usually has,
    /// between 2.5 of 4, 4 of 6, 5.7 of 8 and 7.2 of 10 mm, and in proportion beyond.
    ///
    /// Source: a maker's table of polyamide tube, 4/6/8/10 mm outside.
    pub fn bore_mm(&self) -> f64 {
        const USUAL_MM: [(f64, f64); 4] = [(4.0, 2.5), (6.0, 4.0), (8.0, 5.7), (10.0, 7.2)];
        let od = self.od_mm;
        let between = |pair: &[(f64, f64)]| {
            let [(from, bore), (to, next)] = [pair[0], pair[1]];
            (from..=to).contains(&od).then(|| bore + (next - bore) * (od - from) / (to - from))
        };
        self.bore_mm.unwrap_or_else(|| {
            let least = if od < USUAL_MM[0].0 { USUAL_MM[0] } else { USUAL_MM[3] };
            USUAL_MM.windows(2).find_map(between).unwrap_or(od * least.1 / least.0)
        })
    }

    /// Straight length at each end, mm.
    pub fn lead_mm(&self) -> f64 {
        self.lead_mm.unwrap_or(1.5 * self.od_mm)
    }

    pub(crate) fn inspect(&self, to: &mut Inspector) {
        to.name(&self.name);
        to.field("from", |at| {
            at.point("at", &self.from.at);
            at.direction("towards", &self.from.towards);
        });
        to.range("free_mm", self.free_mm, 1.0, 20_000.0, "mm");
        to.range("od_mm", self.od_mm, 0.5, 100.0, "mm");
        if let Some(bore_mm) = self.bore_mm {
            let most = if self.od_mm.is_finite() { self.od_mm.clamp(0.2, 100.0) } else { 100.0 };
            to.range("bore_mm", bore_mm, 0.2, most, "mm, at most the outside diameter");
        }
        to.range("bend_mm", self.bend_mm, 1.0, 2_000.0, "mm");
        if let Some(lead_mm) = self.lead_mm {
            to.range("lead_mm", lead_mm, 0.0, 500.0, "mm");
        }
        if let Some(bundle) = &self.bundle {
            to.field("bundle", |at| {
                at.name(&bundle.name);
                at.range("bend_mm", bundle.bend_mm, 1.0, 2_000.0, "mm");
            });
        }
        to.each("clips", &self.clips, |at, clip| at.direction("towards", &clip.towards));
        if let Some(pull) = &self.pull {
            to.field("pull", |at| {
                at.range("cone_deg", pull.cone_deg, 0.0, 90.0, "degrees");
                at.point("handle", &pull.handle);
            });
        }
        if let Some(reading) = &self.measured {
            to.field("measured", |at| {
                let supply_v = match self.kind {
                    LineKind::Cable(cable) if (1.0..=60.0).contains(&cable.supply_v) => {
                        cable.supply_v
                    }
                    _ => 60.0,
                };
                at.range("plug_v", reading.plug_v, 0.1, supply_v, "V, at most the supply's");
                at.range("current_a", reading.current_a, 0.1, 1_000.0, "A");
            });
        }
        if let LineKind::Cable(cable) = self.kind {
            to.field("kind", |at| {
                at.range("area_mm2", cable.area_mm2, 0.1, 200.0, "mm²");
                at.range("upstream_mm", cable.upstream_mm, 0.0, 20_000.0, "mm");
                at.range("supply_v", cable.supply_v, 1.0, 60.0, "V");
                at.range("joints_mohm", cable.joints_mohm, 0.0, 10_000.0, "mΩ");
                at.range("conductor_c", cable.conductor_c, -60.0, 200.0, "°C");
            });
        }
    }
}
