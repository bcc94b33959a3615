//! New things, with figures of a usual size to be typed over.

use std::collections::BTreeSet;

use super::{Kind, Thing, ports};
use crate::checks::Boot;
use crate::model::{
    Anchor, AnchorKind, Axis, Body, Cable, Car, Drain, Exit, Layout, Leak, Line, LineKind, Motion,
    Mover, MoverKind, Opening, OpeningOutline, OptionModule, Place, Point, Ram, Role, Shape,
    TapeEdge, Trim, TrimKind, Unbolt, Vector, Viewpoint,
};

/// What a new thing may need to know of the layout that it comes into.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// A port of the pump that no hose goes to yet, for a hose.
    pub port: String,
    /// The pump's plug, for a cable.
    pub plug: String,
    /// The pump's release, for a cord.
    pub release: String,
    /// A body, for one that can be unbolted.
    pub body: String,
    /// An option, for a rule.
    pub option: String,
}

impl Known {
    /// The first body that could be unbolted and the first option of a layout, with the ports of the pump
    /// that new lines go to.
    pub fn of(layout: &Layout, boot: &Boot) -> Known {
        let loose = |body: &&Body| {
            matches!(body.role, Role::Module | Role::Bracket | Role::Loom | Role::Other)
                && layout.handover.unbolt.iter().all(|known| known.body != body.name)
        };
        let body = layout.bodies.iter().find(loose).or(layout.bodies.first());
        Known {
            port: ports::usual(boot, layout, &LineKind::Hose),
            plug: ports::usual(boot, layout, &LineKind::Cable(usual_cable())),
            release: ports::usual(boot, layout, &LineKind::Cord),
            body: body.map_or_else(String::new, |body| body.name.clone()),
            option: layout.options.first().map_or_else(String::new, |option| option.name.clone()),
        }
    }
}

impl Thing {
    /// Gives it a name that no other of its kind has.
    pub fn call_apart(&mut self, layout: &Layout) {
        let kind = self.kind();
        let taken: BTreeSet<String> = (0..kind.count(layout))
            .filter_map(|index| Thing::get(layout, kind, index)?.name().map(str::to_string))
            .collect();
        let Some(name) = self.name_mut() else { return };
        if !taken.contains(name) {
            return;
        }
        let stem = name.trim_end_matches(|letter: char| letter.is_ascii_digit()).trim_end();
        let stem = if stem.is_empty() { name.as_str() } else { stem };
        let free = (2_u32..).map(|number| format!("{stem} {number}"));
        if let Some(free) = free.into_iter().find(|free| !taken.contains(free)) {
            *name = free;
        }
    }

    /// A new thing of a kind, near a point, with figures of a usual size to be typed over. Sizes are
    /// common practice, no source.
    pub fn new(kind: Kind, near: Point, known: &Known) -> Thing {
        let round = |value: f64| (value / 10.0).round() * 10.0;
        let at = near.map(round);
        let cube = Shape::Box { from: at, to: at + Vector::new(100.0, 80.0, 60.0) };
        match kind {
            Kind::Option => {
                Thing::Option(OptionModule { fitted: true, ..OptionModule::called("new option") })
            }
            Kind::Body => Thing::Body(body("new body", Role::Other, cube)),
            Kind::Trim => Thing::Trim(Trim {
                name: "new board".into(),
                kind: TrimKind::Board,
                faces: vec![flat(at, 300.0, 200.0)],
                thickness_mm: 4.0,
                give_mm: 0.0,
                option: None,
            }),
            Kind::Mover => Thing::Mover(Mover {
                name: "new hinge arm".into(),
                kind: MoverKind::Hinge,
                shapes: vec![Shape::Box { from: at, to: at + Vector::new(200.0, 20.0, 25.0) }],
                motion: Motion::Swing {
                    through: at,
                    along: Vector::y(),
                    from_deg: 0.0,
                    to_deg: -80.0,
                },
                driven: None,
                option: None,
                tolerance_mm: None,
            }),
            Kind::Drain => Thing::Drain(Drain {
                name: "new drain".into(),
                at,
                diameter_mm: 14.0,
                blocked: false,
            }),
            Kind::Leak => Thing::Leak(Leak { name: "new leak point".into(), at, rate_l_min: None }),
            Kind::Anchor => Thing::Anchor(Anchor {
                name: "new stud".into(),
                kind: AnchorKind::Stud { thread_mm: 6.0 },
                at,
                normal: Vector::z(),
                strength_n: 500.0,
                free_mm: None,
                hot_c: None,
                inside_mm: None,
                option: None,
            }),
            Kind::Line => Thing::Line(Line {
                name: "new hose".into(),
                kind: LineKind::Hose,
                from: Exit { at, towards: Vector::z() },
                to: known.port.clone(),
                free_mm: 500.0,
                od_mm: 8.0,
                bore_mm: None,
                bend_mm: 40.0,
                bend_rule: crate::model::BendRule::Inside,
                lead_mm: None,
                option: None,
                bundle: None,
                clips: Vec::new(),
                pull: None,
                measured: None,
            }),
            Kind::Ram => Thing::Ram(Ram {
                name: "new ram".into(),
                bore_mm: None,
                rod_mm: 10.0,
                stroke_mm: 200.0,
                count: 2,
            }),
            Kind::Viewpoint => Thing::Viewpoint(Viewpoint {
                name: "standing behind the car".into(),
                at: Point::new(-600.0, 0.0, 1000.0),
            }),
            Kind::Space => {
                let to = at + Vector::new(500.0, 600.0, 300.0);
                Thing::Space(Shape::Box { from: at, to })
            }
            // Holds of every car until it is typed over.
            Kind::Rule => Thing::Rule(format!("{0} or not {0}", quoted(&known.option))),
            Kind::Car => Thing::Car(Car { name: "new car".into(), options: Vec::new() }),
            Kind::Opening => Thing::Opening(Opening {
                name: "new opening".into(),
                // Upright, its face to the rear.
                place: Place { at, turn_deg: (90.0, 0.0, -90.0) },
                outline: OpeningOutline::Measured(vec![
                    (0.0, 0.0),
                    (240.0, 0.0),
                    (240.0, 160.0),
                    (0.0, 160.0),
                ]),
                carpet_mm: 0.0,
                fit_mm: 0.0,
                notch: None,
                grain_deg: 0.0,
                relief_mm: 3.0,
            }),
            Kind::Edge => Thing::Edge(TapeEdge {
                name: "the rear sill's inner edge".into(),
                axis: Axis::X,
                at_mm: 0.0,
            }),
            Kind::Unbolt => Thing::Unbolt(Unbolt {
                body: known.body.clone(),
                how: "nuts and plugs, as found".into(),
                refit: None,
                refit_words: "outside the boot".into(),
            }),
        }
    }
}

/// A feed cable of a usual kind. Common practice, no source.
pub(crate) fn usual_cable() -> Cable {
    Cable {
        area_mm2: 6.0,
        upstream_mm: 1000.0,
        supply_v: 12.6,
        joints_mohm: 3.0,
        conductor_c: 40.0,
    }
}

/// A body as measured, on every car.
pub(crate) fn body(name: &str, role: Role, shape: Shape) -> Body {
    Body {
        name: name.into(),
        role,
        shape,
        place: Place::default(),
        option: None,
        skin: None,
        sharp: false,
        tolerance_mm: None,
        note: String::new(),
    }
}

/// A name as a rule takes it: in quotes when a word of it means something there.
fn quoted(name: &str) -> String {
    let meant = |word: &str| matches!(word, "and" | "or" | "not");
    if name.split_whitespace().any(meant) || name.contains(['(', ')']) {
        format!("'{name}'")
    } else {
        name.to_string()
    }
}

/// A level face, counter-clockwise as seen from above.
fn flat(at: Point, long_mm: f64, wide_mm: f64) -> Vec<Point> {
    [(0.0, 0.0), (long_mm, 0.0), (long_mm, wide_mm), (0.0, wide_mm)]
        .into_iter()
        .map(|(x, y)| at + Vector::new(x, y, 0.0))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_new_thing_is_sound_and_called_apart() {
        let opened = crate::format::open_demo(None).expect("the demo is sound");
        let boot = opened.boot(&Boot::usual_options(&opened.layout)).expect("it is ready");
        let mut layout = opened.layout.clone();
        for kind in Kind::ALL {
            for _ in 0..2 {
                let known = Known::of(&layout, &boot);
                let mut thing = Thing::new(kind, Point::new(201.0, 99.0, 12.0), &known);
                thing.call_apart(&layout);
                thing.add_to(&mut layout);
                assert!(layout.problems().is_empty(), "{kind:?}: {:?}", layout.problems());
            }
        }
    }
}
