//! What the feed headline found out beyond its verdicts.

use serde::Serialize;

use super::cases::{self, Case};
use super::{Fill, at_line_mm3, cone, fill_of, lean_deg, level, sure_over};
use crate::checks::{Boot, Note};
use crate::geometry::clip;
use crate::model::Pose;
use crate::units::{MM3_PER_ML, head_pa, whole};

/// The fluid in one case.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FeedCase {
    /// The case in words.
    pub case: String,
    /// Surface over the pump inlet along effective gravity, mm.
    pub head_mm: f64,
    /// Static pressure at the inlet, mbar over the air in the reservoir.
    pub head_mbar: f64,
    /// Surface over the foot of the pickup, mm.
    pub cover_mm: f64,
    /// Breather over the surface of all the fluid, mm.
    pub breather_mm: f64,
    /// What runs out of the breather or an open top, ml.
    pub spilled_ml: f64,
}

/// Details of the feed headline.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct FeedDetails {
    /// Fill to the level line, pump upright, rams in, ml.
    pub fill_ml: f64,
    /// Fill to the level line at this attitude, rams in, ml.
    pub to_line_ml: f64,
    /// How much that is too much, ml; negative when too little.
    pub misread_ml: f64,
    /// What the rods draw from the reservoir when the rams go out, ml.
    pub rods_ml: f64,
    /// What all the fluid gains from cold to hot, ml.
    pub expansion_ml: f64,
    /// The least fill, rams in, for which neither inlet nor pickup comes out of the fluid in any case at
    /// this attitude, ml; none when more than the reservoir holds would be needed.
    pub least_fill_ml: Option<f64>,
    /// The case that asks for it.
    pub least_fill_case: String,
    /// What runs out in the worst case at this fill, ml.
    pub spilled_ml: f64,
    /// How far the pump may lean any way, degrees.
    pub cone_deg: f64,
    /// The way in which it may lean least: what goes down, degrees from the pump's x towards its y.
    pub cone_towards_deg: f64,
    /// How far it leans, degrees.
    pub lean_deg: f64,
    /// What the hoses hold: to be filled when bleeding, ml.
    pub hoses_ml: f64,
    /// What the rams hold besides, rods in, ml; none when the bore of one isn't known.
    pub rams_ml: Option<f64>,
    /// Hoses whose bore was taken from their outside diameter.
    pub bores_taken: Vec<String>,
    /// Every case.
    pub cases: Vec<FeedCase>,
}

impl FeedDetails {
    /// In words, in a fixed order.
    pub fn notes(&self) -> Vec<Note> {
        let note = |title: &str, text: String| Note { title: title.to_string(), text };
        let mut notes = Vec::new();
        if self.cases.is_empty() {
            return notes;
        }
        let way = if self.misread_ml > 0.0 { "too much" } else { "too little" };
        let reads = if self.misread_ml.abs() < 0.5 {
            "as it should".to_string()
        } else {
            format!("{:.0} ml {way}", self.misread_ml.abs())
        };
        notes.push(note(
            "fill",
            format!(
                "{:.0} ml to the level line on the bench; at this lean the line reads {:.0} ml, {reads}",
                self.fill_ml, self.to_line_ml
            ),
        ));
        notes.push(note(
            "level swing",
            format!(
                "the rams' rods draw {:.1} ml; from cold to hot the fluid gains {:.1} ml",
                self.rods_ml, self.expansion_ml
            ),
        ));
        notes.push(match self.least_fill_ml {
            Some(least) => {
                let spare_ml = whole(self.fill_ml - least);
                let in_hand = if spare_ml < 0.0 {
                    format!("the fill to the line is {:.0} ml short of that", -spare_ml)
                } else {
                    format!("{spare_ml:.0} ml in hand")
                };
                note(
                    "least fluid",
                    format!(
                        "{least:.0} ml, rams in, never starve the pump: {in_hand}; worst {}",
                        self.least_fill_case
                    ),
                )
            }
            None => {
                note("least fluid", format!("no fill keeps the pump fed {}", self.least_fill_case))
            }
        });
        if self.spilled_ml > 0.5 {
            notes.push(note("spilled", format!("{:.0} ml in the worst case", self.spilled_ml)));
        }
        notes.push(note(
            "lean",
            format!(
                "up to {:.0}° any way as filled on level ground; it leans {:.0}°",
                self.cone_deg, self.lean_deg
            ),
        ));
        let rams = match self.rams_ml {
            Some(ml) if ml > 0.0 => format!("; rams {ml:.0} ml"),
            Some(_) => String::new(),
            None => "; rams unknown, measure their bore".to_string(),
        };
        let taken = if self.bores_taken.is_empty() {
            String::new()
        } else {
            format!(", bore by outside diameter for {}", self.bores_taken.join(", "))
        };
        notes.push(note("bleed", format!("hoses take {:.0} ml{rams}{taken}", self.hoses_ml)));
        notes
    }
}

pub(super) fn of(boot: &Boot, pose: &Pose) -> FeedDetails {
    let fill = fill_of(boot);
    let layout = boot.layout();
    let limits = &layout.limits;
    let tank = &boot.pump().reservoir;
    let cases = cases::every(boot, pose, &fill);
    let ml = |mm3: f64| mm3 / MM3_PER_ML;
    let at_line_mm3 = at_line_mm3(boot, pose);
    let (least_mm3, least_fill_case) = least_fill(boot, &fill, &cases);
    let whole_mm3 = boot.reservoir.triangles().volume_mm3();
    let sure = [&tank.inlet, &tank.pickup].map(|point| sure_over(boot, &cases, point));
    let listed: Vec<FeedCase> = cases
        .iter()
        .enumerate()
        .map(|(index, case)| {
            let head_mm = sure[0][index].0;
            FeedCase {
                case: case.words.clone(),
                head_mm,
                head_mbar: head_pa(head_mm, tank.density_kg_l) * case.gravity_g / 100.0,
                cover_mm: sure[1][index].0,
                breather_mm: case.clear(&tank.breather),
                spilled_ml: ml(case.surface.over_mm3.max(0.0)),
            }
        })
        .collect();
    let cone = cone::of(boot, &fill);
    let annuli: Option<Vec<f64>> = layout.rams.iter().map(level::annuli_mm3).collect();
    let guessed =
        boot.lines().filter(|line| level::inside_mm3(line) > 0.0 && line.bore_mm.is_none());
    FeedDetails {
        fill_ml: ml(fill.rams_in_mm3),
        to_line_ml: ml(at_line_mm3),
        misread_ml: ml(at_line_mm3 - fill.rams_in_mm3),
        rods_ml: ml(fill.rams_in_mm3 - fill.rams_out_mm3),
        expansion_ml: ml(fill.tank_mm3(false, limits.hot_c - limits.fill_c)
            - fill.tank_mm3(false, limits.cold_c - limits.fill_c)),
        least_fill_ml: (least_mm3 <= whole_mm3).then(|| ml(least_mm3)),
        least_fill_case,
        spilled_ml: listed.iter().map(|case| case.spilled_ml).fold(0.0, f64::max),
        cone_deg: cone.half_angle_deg,
        cone_towards_deg: cone.towards_deg,
        lean_deg: lean_deg(pose),
        hoses_ml: ml(boot.lines().map(level::inside_mm3).sum()),
        rams_ml: annuli.map(|annuli| ml(annuli.iter().sum())),
        bores_taken: guessed.map(|line| line.name.clone()).collect(),
        cases: listed,
    }
}

/// The least fill, rams in, mm³, and the case that asks for it: in each case the reservoir must hold
/// what lies below the higher of inlet and pickup.
fn least_fill(boot: &Boot, fill: &Fill, cases: &[Case]) -> (f64, String) {
    let tank = &boot.pump().reservoir;
    let needed = |case: &Case| {
        let up = &case.up_pump;
        let height = up.dot(&tank.inlet.coords).max(up.dot(&tank.pickup.coords));
        let held = clip::volume_below_mm3(boot.reservoir.triangles(), up, height);
        fill.fill_for_mm3(held, case.rams_out, case.warmer_k)
    };
    cases
        .iter()
        .map(|case| (needed(case), case))
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .map_or((0.0, String::new()), |(mm3, case)| (mm3, case.words.clone()))
}
