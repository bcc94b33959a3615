//! Headline feed: does fluid reach the pump at this attitude, on slopes and when driving, cold and hot?

mod cases;
mod cone;
mod details;
mod drawing;
mod level;

pub use cases::{Attitude, attitudes};
pub use details::{FeedCase, FeedDetails};
pub use drawing::{TankDrawing, TankMark, TankSurface, TankView};
pub use level::{EXPANSION_PER_K, Fill, Surface};

use super::{Boot, Check, DrawnSurface, Reading};
use crate::geometry::clip;
use crate::model::{Point, Pose, Vector};
use crate::units::{MM3_PER_ML, head_pa, whole};
use cases::Case;

/// Head from which feeding is comfortable, mm. Common practice, no source.
const COMFORTABLE_HEAD_MM: f64 = 20.0;

/// Fluid that is no more than rounding, mm³.
const TRACE_MM3: f64 = 500.0;

/// Pickup cover and breather height from which they are comfortable, mm. Common practice, no source.
const COMFORTABLE_COVER_MM: f64 = 15.0;

/// How far the level line may misread, as a share of the fill. Common practice, no source.
const MISREAD_LIMIT: f64 = 0.15;

/// How far outside the reservoir's inside its inlet, pickup or level line may be measured: the wall,
/// mm. Common practice, no source.
const WALL_MM: f64 = 8.0;

/// What the feed headline found.
pub(crate) struct Found {
    pub(crate) checks: Vec<Check>,
    /// The surface on level ground, rams in.
    pub(crate) surface: Option<DrawnSurface>,
    /// Sections with every case.
    pub(crate) tank: Option<TankDrawing>,
}

/// The fill of a boot's pump, rams and hoses.
fn fill_of(boot: &Boot) -> Fill {
    Fill::of(boot.pump(), boot.reservoir.triangles(), &boot.layout().rams).with_lines(boot.lines())
}

/// The checks of the feed headline, and what is to be drawn of it.
pub(crate) fn check(boot: &Boot, pose: &Pose) -> Found {
    let fill = fill_of(boot);
    let cases = cases::every(boot, pose, &fill);
    let checks = vec![
        head(boot, pose, &cases),
        pickup(boot, pose, &cases),
        breather(boot, pose, &cases),
        tilt(boot, pose),
        misread(boot, pose, &fill),
    ];
    let surface = cases.first().and_then(|case| {
        let loops =
            clip::section(boot.reservoir.triangles(), &case.up_pump, case.surface.height_mm);
        let mut placed = loops
            .into_iter()
            .map(|corners| corners.iter().map(|corner| pose * corner).collect::<Vec<Point>>());
        Some(DrawnSurface { outline: placed.next()?, more: placed.collect() })
    });
    Found { checks, surface, tank: Some(drawing::of(boot, pose, &cases)) }
}

/// What a workshop writes down about the fluid at a spot.
pub(crate) fn details(boot: &Boot, pose: &Pose) -> FeedDetails {
    details::of(boot, pose)
}

/// How far fluid that is sure to be where a point is stands over it in each case, mm, and whether a ridge
/// parts the fluid there: then no more is sure than what the other side can't have taken.
fn sure_over(boot: &Boot, cases: &[Case], point: &Point) -> Vec<(f64, bool)> {
    let over = |case: &Case| {
        let above_mm = case.above(point);
        let sure = boot.sumps.as_ref().filter(|_| above_mm >= 0.0).and_then(|sumps| {
            let level_mm = case.surface.height_mm;
            let inside = boot.reservoir.triangles();
            let held_mm3 = clip::volume_below_mm3(inside, &case.up_pump, level_mm);
            sumps.sure_mm(&case.up_pump, level_mm, held_mm3, point)
        });
        match sure {
            Some(sure_mm) => (sure_mm - case.up_pump.dot(&point.coords), true),
            None => (above_mm, false),
        }
    };
    cases.iter().map(over).collect()
}

/// What to add to a sentence where a ridge parts the fluid.
const PARTED: &str =
    "; a ridge inside parts the fluid there, and the other side may have taken what it holds";

/// The case in which `figure` is lowest.
fn worst(cases: &[Case], figure: impl Fn(&Case) -> f64) -> Option<(&Case, f64)> {
    cases.iter().map(|case| (case, figure(case))).min_by(|a, b| a.1.total_cmp(&b.1))
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

/// Why a point that should be in the reservoir can't be; none when it is in it or in its wall.
fn astray(boot: &Boot, what: &str, point: &Point) -> Option<String> {
    let off_mm = boot.reservoir.distance_to_point_mm(point);
    (off_mm > WALL_MM).then(|| {
        format!(
            "the pump's file has the {what} {off_mm:.0} mm outside the reservoir: measure the {what} \
             or the reservoir's inside again"
        )
    })
}

fn head(boot: &Boot, pose: &Pose, cases: &[Case]) -> Check {
    let tank = &boot.pump().reservoir;
    let reading = bench_reading(boot, "head", COMFORTABLE_HEAD_MM);
    let at = Some(pose * tank.inlet);
    if let Some(why) = astray(boot, "inlet", &tank.inlet) {
        return reading.unknown(why, at);
    }
    // Where the rods take more than there is, nothing stands at the inlet, wherever the bottom is.
    let sure = sure_over(boot, cases, &tank.inlet);
    let over_inlet = |(case, sure): (&Case, &(f64, bool))| {
        let short = case.surface.over_mm3 < -TRACE_MM3;
        (if short { sure.0.min(-1.0) } else { sure.0 }, sure.1)
    };
    let found = cases.iter().zip(&sure).map(|pair| (pair.0, over_inlet(pair)));
    let Some((case, (head_mm, parted))) = found.min_by(|a, b| a.1.0.total_cmp(&b.1.0)) else {
        return reading.unknown("no case to look at".to_string(), at);
    };
    let parted = if parted { PARTED } else { "" };
    let level_mm = cases.first().map_or(head_mm, |case| case.above(&tank.inlet));
    let pressure = head_pa(head_mm, tank.density_kg_l) * case.gravity_g / 100.0;
    let why = format!(
        "the surface stands {:.0} mm above the pump inlet on level ground, least {:.0} mm \
         ({pressure:+.1} mbar) {}{}{parted}",
        whole(level_mm),
        whole(head_mm),
        case.words,
        case.surface.remark()
    );
    reading.judge(head_mm, why, at)
}

fn pickup(boot: &Boot, pose: &Pose, cases: &[Case]) -> Check {
    let tank = &boot.pump().reservoir;
    let reading = bench_reading(boot, "pickup", COMFORTABLE_COVER_MM);
    let at = Some(pose * tank.pickup);
    if let Some(why) = astray(boot, "pickup", &tank.pickup) {
        return reading.unknown(why, at);
    }
    let sure = sure_over(boot, cases, &tank.pickup);
    let least = cases.iter().zip(&sure).min_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let Some((case, &(cover_mm, parted))) = least else {
        return reading.unknown("no case to look at".to_string(), at);
    };
    let parted = if parted { PARTED } else { "" };
    let why = if cover_mm < 0.0 {
        format!(
            "the pickup draws air {}: it stands {:.0} mm out of the fluid{parted}",
            case.words, -cover_mm
        )
    } else {
        format!(
            "the pickup keeps {:.0} mm of fluid over it, least {}{parted}",
            whole(cover_mm),
            case.words
        )
    };
    reading.judge(cover_mm, why, at)
}

fn breather(boot: &Boot, pose: &Pose, cases: &[Case]) -> Check {
    let tank = &boot.pump().reservoir;
    let reading = bench_reading(boot, "breather", COMFORTABLE_COVER_MM);
    let at = Some(pose * tank.breather);
    // What is more than the tank holds comes out, however high its breather ends; and what is open lower
    // down leaks first.
    let clear = |case: &Case| {
        let lowest_mm =
            tank.openings.iter().map(|point| case.clear(point)).fold(f64::INFINITY, f64::min);
        let clear_mm = case.clear(&tank.breather).min(lowest_mm);
        if case.shut.over_mm3 > TRACE_MM3 { clear_mm.min(-1.0) } else { clear_mm }
    };
    let Some((case, clear_mm)) = worst(cases, clear) else {
        return reading.unknown("no case to look at".to_string(), at);
    };
    let why = if case.shut.over_mm3 > TRACE_MM3 {
        format!(
            "the reservoir can't hold {:.0} ml of its fluid {}: they come out of the breather",
            case.shut.over_mm3 / crate::units::MM3_PER_ML,
            case.words
        )
    } else if clear_mm < case.clear(&tank.breather) - 1e-9 {
        if clear_mm < 0.0 {
            format!(
                "an opening lies {:.0} mm under the fluid {}: it will leak",
                -clear_mm, case.words
            )
        } else {
            format!(
                "the lowest opening stays {clear_mm:.0} mm above the fluid, least {}",
                case.words
            )
        }
    } else if clear_mm < 0.0 {
        format!(
            "the breather lies {:.0} mm under the fluid {}: it will leak",
            -clear_mm, case.words
        )
    } else {
        format!("the breather stays {clear_mm:.0} mm above the fluid, least {}", case.words)
    };
    reading.judge(clear_mm, why, at)
}

/// How far the pump leans from upright, degrees.
fn lean_deg(pose: &Pose) -> f64 {
    (pose.rotation * Vector::z()).z.clamp(-1.0, 1.0).acos().to_degrees()
}

fn tilt(boot: &Boot, pose: &Pose) -> Check {
    let limit = boot.pump().max_tilt_deg;
    let lean_deg = lean_deg(pose);
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

/// Fluid in the reservoir when its surface is at the level line on level ground at this attitude, mm³.
fn at_line_mm3(boot: &Boot, pose: &Pose) -> f64 {
    let up_pump = pose.rotation.inverse() * Vector::z();
    let line_mm = up_pump.dot(&boot.pump().reservoir.level_line.coords);
    clip::volume_below_mm3(boot.reservoir.triangles(), &up_pump, line_mm)
}

fn misread(boot: &Boot, pose: &Pose, fill: &Fill) -> Check {
    let tank = &boot.pump().reservoir;
    let at_line_mm3 = at_line_mm3(boot, pose);
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
    let at = Some(pose * tank.level_line);
    if let Some(why) = astray(boot, "level line", &tank.level_line) {
        return reading.unknown(why, at);
    }
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
    reading.judge(off_ml.abs(), why, at)
}
