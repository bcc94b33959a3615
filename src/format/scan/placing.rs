//! Where a scan comes to lie: its scale, and its place by named points.

use super::plan_file::PlanFile;
use super::report::{KnownLengthReport, PlacedPoint};
use super::unit::{Unit, Up};
use crate::format::error::FileError;
use crate::frame::vehicle_from_gltf;
use crate::geometry::{Alignment, align};
use crate::model::Point;

/// A mirror image that fits this much better than the best turn tells that left and right, or an
/// axis, were swapped.
const MIRRORED: f64 = 0.2;

/// From the scan's own coordinates and unit to the vehicle frame.
pub(super) struct Placing {
    unit: Unit,
    up: Up,
    pub(super) scale: f64,
    alignment: Option<Alignment>,
    pub(super) known_length: Option<KnownLengthReport>,
    pub(super) points: Vec<PlacedPoint>,
    pub(super) residual_rms_mm: Option<f64>,
}

impl Placing {
    pub(super) fn of(file: &PlanFile, unit: Unit, up: Up) -> Result<Placing, FileError> {
        let plan = &file.plan;
        let mut placing = Placing {
            unit,
            up,
            scale: 1.0,
            alignment: None,
            known_length: None,
            points: Vec::new(),
            residual_rms_mm: None,
        };
        let length = plan.known_length.as_ref().map(|length| {
            let before_mm = (length.to - length.from).norm() * unit.mm();
            placing.scale = length.mm / before_mm;
            (length, before_mm)
        });
        if !plan.points.is_empty() {
            let from: Vec<Point> =
                plan.points.iter().map(|point| placing.apply(&point.scan)).collect();
            let to: Vec<Point> = plan.points.iter().map(|point| point.boot).collect();
            let alignment = match align(&from, &to, plan.free_scale) {
                Ok(alignment) => alignment,
                Err(error) => {
                    return file.fail(
                        "points",
                        error.to_string(),
                        "3 points or more that don't lie on one line, in the scan and in the boot",
                    );
                }
            };
            placing.accept(file, &from, &to, alignment)?;
        }
        placing.known_length = length.map(|(length, before_mm)| KnownLengthReport {
            said_mm: length.mm,
            before_mm,
            after_mm: (placing.apply(&length.to) - placing.apply(&length.from)).norm(),
        });
        Ok(placing)
    }

    /// Takes an alignment over if the points don't miss by too much.
    fn accept(
        &mut self,
        file: &PlanFile,
        from: &[Point],
        to: &[Point],
        alignment: Alignment,
    ) -> Result<(), FileError> {
        let plan = &file.plan;
        let rms_mm = alignment.rms();
        let sound = alignment.scale.is_finite() && alignment.scale > 1e-9 && rms_mm.is_finite();
        if !sound || rms_mm > plan.most_residual_mm {
            let each: Vec<String> = plan
                .points
                .iter()
                .zip(&alignment.residuals)
                .take(12)
                .map(|(point, miss)| format!("{} {miss:.1}", point.name))
                .collect();
            let mirrored: Vec<Point> =
                from.iter().map(|point| Point::new(point.x, -point.y, point.z)).collect();
            let swapped = align(&mirrored, to, plan.free_scale)
                .is_ok_and(|mirror| mirror.rms() < rms_mm * MIRRORED);
            let expected = if swapped {
                "points that are no mirror image of the scan's: left and right, or an axis, are \
                 swapped in one of the two lists"
            } else {
                "points that fit; check them, the unit and the known length, set `free_scale: \
                 true`, or allow more by `most_residual_mm`"
            };
            return file.fail(
                "points",
                format!(
                    "points that miss by {rms_mm:.1} mm (root mean square; {}) where {} is allowed",
                    each.join(", "),
                    plan.most_residual_mm
                ),
                expected,
            );
        }
        self.points = plan
            .points
            .iter()
            .zip(from.iter().zip(&alignment.residuals))
            .map(|(point, (from, miss))| PlacedPoint {
                name: point.name.clone(),
                at: alignment.apply(from).into(),
                residual_mm: *miss,
            })
            .collect();
        self.residual_rms_mm = Some(rms_mm);
        self.scale *= alignment.scale;
        self.alignment = Some(Alignment { scale: 1.0, ..alignment });
        Ok(())
    }

    pub(super) fn apply(&self, scan: &Point) -> Point {
        let turned = match self.up {
            Up::Y => vehicle_from_gltf([scan.x, scan.y, scan.z]) / 1000.0,
            Up::Z => *scan,
        };
        let scaled = turned * (self.unit.mm() * self.scale);
        self.alignment.as_ref().map_or(scaled, |alignment| alignment.apply(&scaled))
    }
}
