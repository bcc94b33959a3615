//! Headline feed: does fluid reach the pump at this attitude, level and on slopes?

mod details;
mod level;

pub use details::FeedDetails;
pub use level::{Fill, Surface};

use super::water::SLOPES;
use super::{Boot, Check, DrawnSurface, Reading};
use crate::geometry::clip;
use crate::model::{Point, Pose, Vector};
use crate::units::{MM3_PER_ML, head_pa};

/// Head from which feeding is comfortable, mm. Common practice, no source.
const COMFORTABLE_HEAD_MM: f64 = 20.0;

/// Pickup cover and breather height from which they are comfortable, mm. Common practice, no source.
const COMFORTABLE_COVER_MM: f64 = 15.0;

/// How far the level line may misread, as a share of the fill. Common practice, no source.
const MISREAD_LIMIT: f64 = 0.15;

/// One attitude of the reservoir with one fill.
struct Case {
    words: String,
    surface: Surface,
    up_pump: Vector,
}

/// The checks of the feed headline, and the surface on level ground to draw.
pub(crate) fn check(boot: &Boot, pose: &Pose) -> (Vec<Check>, Option<DrawnSurface>) {
    let fill = Fill::of(boot.pump(), boot.reservoir.triangles(), &boot.layout().rams);
    let cases = every_case(boot, pose, &fill);
    let mut checks = vec![
        head(boot, pose, &cases),
        pickup(boot, pose, &cases),
        breather(boot, pose, &cases),
        tilt(boot, pose),
    ];
    checks.push(misread(boot, pose, &fill));
    let surface = cases.first().map(|case| {
        let outline =
            clip::section(boot.reservoir.triangles(), &case.up_pump, case.surface.height_mm);
        DrawnSurface { outline: outline.iter().map(|corner| pose * corner).collect() }
    });
    (checks, surface)
}

/// Level and every slope; rams in, then out.
fn every_case(boot: &Boot, pose: &Pose, fill: &Fill) -> Vec<Case> {
    let mut cases = Vec::new();
    for (volume_mm3, rams) in [(fill.rams_in_mm3, "rams in"), (fill.rams_out_mm3, "rams out")] {
        for slope in SLOPES {
            let up_pump = pose.rotation.inverse() * slope.up();
            let surface = Surface::of(boot.reservoir.triangles(), &up_pump, volume_mm3);
            cases.push(Case { words: format!("{}, {rams}", slope.words), surface, up_pump });
        }
    }
    cases
}

/// The case in which `figure` is lowest.
fn worst(cases: &[Case], figure: impl Fn(&Case) -> f64) -> Option<(&Case, f64)> {
    cases.iter().map(|case| (case, figure(case))).min_by(|a, b| a.1.total_cmp(&b.1))
}

fn above(case: &Case, point: &Point) -> f64 {
    case.surface.height_mm - case.up_pump.dot(&point.coords)
}

fn bench_reading(boot: &Boot, id: &'static str, comfort: f64) -> Reading {
    Reading {
        id,
        subject: "reservoir".to_string(),
        unit: "mm",
        limit: 0.0,
        comfort,
        tolerance: boot.layout().limits.bench_mm,
    }
}

fn head(boot: &Boot, pose: &Pose, cases: &[Case]) -> Check {
    let tank = &boot.pump().reservoir;
    let reading = bench_reading(boot, "head", COMFORTABLE_HEAD_MM);
    let at = Some(pose * tank.inlet);
    let Some((case, head_mm)) = worst(cases, |case| above(case, &tank.inlet)) else {
        return reading.unknown("no case to look at".to_string(), at);
    };
    let level_mm = cases.first().map_or(head_mm, |case| above(case, &tank.inlet));
    let pressure = head_pa(head_mm, tank.density_kg_l) / 100.0;
    let why = format!(
        "the surface stands {level_mm:.0} mm above the pump inlet on level ground, least {head_mm:.0} \
         mm ({pressure:+.1} mbar) {}{}",
        case.words,
        case.surface.remark()
    );
    reading.judge(head_mm, why, at)
}

fn pickup(boot: &Boot, pose: &Pose, cases: &[Case]) -> Check {
    let tank = &boot.pump().reservoir;
    let reading = bench_reading(boot, "pickup", COMFORTABLE_COVER_MM);
    let at = Some(pose * tank.pickup);
    let Some((case, cover_mm)) = worst(cases, |case| above(case, &tank.pickup)) else {
        return reading.unknown("no case to look at".to_string(), at);
    };
    let why = if cover_mm < 0.0 {
        format!(
            "the pickup draws air {}: it stands {:.0} mm out of the fluid",
            case.words, -cover_mm
        )
    } else {
        format!("the pickup keeps {cover_mm:.0} mm of fluid over it, least {}", case.words)
    };
    reading.judge(cover_mm, why, at)
}

fn breather(boot: &Boot, pose: &Pose, cases: &[Case]) -> Check {
    let tank = &boot.pump().reservoir;
    let reading = bench_reading(boot, "breather", COMFORTABLE_COVER_MM);
    let at = Some(pose * tank.breather);
    let Some((case, clear_mm)) = worst(cases, |case| -above(case, &tank.breather)) else {
        return reading.unknown("no case to look at".to_string(), at);
    };
    let why = if clear_mm < 0.0 {
        format!(
            "the breather lies {:.0} mm under the fluid {}: it will leak",
            -clear_mm, case.words
        )
    } else {
        format!("the breather stays {clear_mm:.0} mm above the fluid, least {}", case.words)
    };
    reading.judge(clear_mm, why, at)
}

fn tilt(boot: &Boot, pose: &Pose) -> Check {
    let limit = boot.pump().max_tilt_deg;
    let lean_deg = (pose.rotation * Vector::z()).z.clamp(-1.0, 1.0).acos().to_degrees();
    let reading = Reading {
        id: "tilt",
        subject: "pump".to_string(),
        unit: "°",
        limit,
        comfort: (limit / 2.0).min(limit - 1.0),
        tolerance: 1.0,
    };
    let why = format!("the pump leans {lean_deg:.0}°; its maker allows {limit:.0}°");
    reading.judge(lean_deg, why, Some(pose * boot.pump().centre_of_gravity))
}

fn misread(boot: &Boot, pose: &Pose, fill: &Fill) -> Check {
    let tank = &boot.pump().reservoir;
    let up_pump = pose.rotation.inverse() * Vector::z();
    let at_line_mm3 = clip::volume_below_mm3(
        boot.reservoir.triangles(),
        &up_pump,
        up_pump.dot(&tank.level_line.coords),
    );
    let fill_ml = fill.rams_in_mm3 / MM3_PER_ML;
    let off_ml = (at_line_mm3 - fill.rams_in_mm3) / MM3_PER_ML;
    let reading = Reading {
        id: "level-line",
        subject: "reservoir".to_string(),
        unit: "ml",
        limit: MISREAD_LIMIT * fill_ml,
        comfort: (MISREAD_LIMIT * fill_ml / 5.0).min(MISREAD_LIMIT * fill_ml - 1.0),
        tolerance: 0.01 * fill_ml,
    };
    let way = if off_ml > 0.0 { "too much" } else { "too little" };
    let why = if off_ml.abs() < 0.5 {
        format!("filled to the line it holds {fill_ml:.0} ml, as it should")
    } else {
        format!(
            "filled to the line at this lean it holds {:.0} ml, {:.0} ml {way}",
            at_line_mm3 / MM3_PER_ML,
            off_ml.abs()
        )
    };
    reading.judge(off_ml.abs(), why, Some(pose * tank.level_line))
}
