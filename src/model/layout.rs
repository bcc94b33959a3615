//! One model's boot as measured.

use std::collections::BTreeSet;

use serde::{Deserialize, Serialize};

use super::problem::{Inspector, Problem};
use super::{
    Anchor, Body, Drain, Handover, Leak, Limits, Line, Mover, Opening, OptionRule, Point,
    RequiredGap, Shape, Spot, Trial, Trim,
};

/// Most solids of the usable boot space.
const MOST_SPACES: usize = 50;

/// An option that only some cars have.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OptionModule {
    /// Short name, used by bodies and on the command line.
    pub name: String,
    /// A code that stands for it in rules and on the command line; none if left out.
    #[serde(default)]
    pub code: String,
    /// What it is.
    #[serde(default)]
    pub about: String,
    /// Whether the car is taken to have it unless said otherwise.
    #[serde(default)]
    pub fitted: bool,
}

impl OptionModule {
    /// An option known by its name alone, which a car doesn't have unless said otherwise.
    pub fn called(name: &str) -> OptionModule {
        OptionModule {
            name: name.to_string(),
            code: String::new(),
            about: String::new(),
            fitted: false,
        }
    }
}

/// A car of this model as the workshop meets it: a set of options with a name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Car {
    /// What the workshop calls such cars.
    pub name: String,
    /// The options it has, by name or code; none of the others.
    #[serde(default)]
    pub options: Vec<String>,
}

/// How much each headline counts in the score of a spot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Weights {
    /// Hose reach.
    pub reach: f64,
    /// Carpet line.
    pub carpet: f64,
    /// Feed.
    pub feed: f64,
    /// Water.
    pub water: f64,
    /// Hold.
    pub hold: f64,
}

impl Default for Weights {
    fn default() -> Self {
        Weights { reach: 1.0, carpet: 1.0, feed: 1.0, water: 1.0, hold: 1.0 }
    }
}

/// The roof's rams: their rods decide how far the level moves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ram {
    /// What they move.
    pub name: String,
    /// Bore, mm: with it the fluid in them counts when it is warm or cold; left out where it wasn't
    /// measured.
    #[serde(default)]
    pub bore_mm: Option<f64>,
    /// Rod diameter, mm.
    pub rod_mm: f64,
    /// Stroke, mm.
    pub stroke_mm: f64,
    /// How many there are.
    pub count: u32,
}

/// Where a person stands and looks from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Viewpoint {
    /// Who stands there.
    pub name: String,
    /// The eye.
    pub at: Point,
}

/// One model's boot as measured, and its spots.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Layout {
    /// File schema.
    pub schema: u32,
    /// The model, in the workshop's words.
    pub name: String,
    /// Who measured it, how, and anything worth knowing.
    #[serde(default)]
    pub about: String,
    /// Which point of the boot the origin is, in words.
    pub origin: String,
    /// Path of the pump's file, inside the layout's folder or the assets folder.
    pub pump: String,
    /// How much each headline counts.
    #[serde(default)]
    pub weights: Weights,
    /// What the checks hold a spot to.
    #[serde(default)]
    pub limits: Limits,
    /// Gaps between pairs of roles that differ from the usual ones of the limits.
    #[serde(default)]
    pub required_gaps: Vec<RequiredGap>,
    /// Options that only some cars have.
    #[serde(default)]
    pub options: Vec<OptionModule>,
    /// What holds of every car's options, such as `not (tow-bar and amplifier)`; combinations that
    /// break one of these rules don't exist.
    #[serde(default)]
    pub option_rules: Vec<String>,
    /// Cars of this model that the workshop meets; for comparing spots over them.
    #[serde(default)]
    pub cars: Vec<Car>,
    /// Rigid things.
    pub bodies: Vec<Body>,
    /// Carpets and boards.
    #[serde(default)]
    pub trims: Vec<Trim>,
    /// Things that move.
    #[serde(default)]
    pub movers: Vec<Mover>,
    /// Ways out for water.
    #[serde(default)]
    pub drains: Vec<Drain>,
    /// Ways in for water.
    #[serde(default)]
    pub leaks: Vec<Leak>,
    /// Places that can hold.
    #[serde(default)]
    pub anchors: Vec<Anchor>,
    /// Hoses, cables, the release cord.
    #[serde(default)]
    pub lines: Vec<Line>,
    /// The roof's rams.
    #[serde(default)]
    pub rams: Vec<Ram>,
    /// Where people look from.
    #[serde(default)]
    pub viewpoints: Vec<Viewpoint>,
    /// The luggage space that customers use, inside the trim as refitted, with the lid shut: closed
    /// solids, none for a part behind trim.
    #[serde(default)]
    pub boot_space: Vec<Shape>,
    /// What the sheets say: the way in, tape edges, what can be moved, the release.
    #[serde(default)]
    pub handover: Handover,
    /// Openings that a closing panel is cut for.
    #[serde(default)]
    pub openings: Vec<Opening>,
    /// Candidate places for the pump.
    #[serde(default)]
    pub spots: Vec<Spot>,
    /// What the car said at trial fits, beside what was predicted.
    #[serde(default)]
    pub trials: Vec<Trial>,
}

impl Layout {
    /// Everything in it that can't be used, in file order; empty when it is sound.
    ///
    /// References into the pump (ports, mounts) are not looked at here: the pump is another file.
    pub fn problems(&self) -> Vec<Problem> {
        let mut to = Inspector::default();
        let anchors: BTreeSet<&str> =
            self.anchors.iter().map(|anchor| anchor.name.as_str()).collect();
        to.name(&self.name);
        to.field("weights", |at| inspect_weights(&self.weights, at));
        to.field("limits", |at| self.limits.inspect(at));
        self.inspect_required_gaps(&mut to);
        to.each("options", &self.options, |at, option| {
            at.name(&option.name);
            inspect_code(at, &option.code);
        });
        let options = &self.options[..];
        to.each("option_rules", &self.option_rules, |at, rule| {
            if let Err(error) = OptionRule::read(rule, options) {
                at.report(format!("the rule `{rule}`"), format!("a rule over options: {error}"));
            }
        });
        to.each("cars", &self.cars, |at, car| {
            at.name(&car.name);
            at.each("options", &car.options, |at, name| {
                if self.option_called(name).is_none() {
                    at.report(format!("`{name}`"), "the name or code of an option of this file");
                }
            });
        });
        to.each("bodies", &self.bodies, |at, body| {
            body.inspect(at);
            option_known(at, options, &body.option);
        });
        if self.bodies.is_empty() {
            to.field("bodies", |at| at.report("no body", "at least one body, such as the floor"));
        }
        to.each("trims", &self.trims, |at, trim| {
            trim.inspect(at);
            option_known(at, options, &trim.option);
        });
        to.each("movers", &self.movers, |at, mover| {
            mover.inspect(at);
            option_known(at, options, &mover.option);
        });
        super::mover::inspect_drives(&self.movers, &mut to);
        to.each("drains", &self.drains, |at, drain| drain.inspect(at));
        to.each("leaks", &self.leaks, |at, leak| leak.inspect(at));
        to.each("anchors", &self.anchors, |at, anchor| {
            anchor.inspect(at);
            option_known(at, options, &anchor.option);
        });
        to.each("lines", &self.lines, |at, line| {
            line.inspect(at);
            at.each("clips", &line.clips, |at, clip| {
                at.known("anchor", &clip.anchor, "an anchor", &anchors);
            });
            option_known(at, options, &line.option);
        });
        to.each("rams", &self.rams, |at, ram| {
            at.name(&ram.name);
            at.range("rod_mm", ram.rod_mm, 0.5, 200.0, "mm");
            if let Some(bore_mm) = ram.bore_mm {
                let least = if ram.rod_mm.is_finite() { ram.rod_mm.clamp(0.5, 300.0) } else { 0.5 };
                at.range("bore_mm", bore_mm, least, 300.0, "mm, at least the rod");
            }
            at.range("stroke_mm", ram.stroke_mm, 0.5, 5_000.0, "mm");
            at.range("count", f64::from(ram.count), 1.0, 20.0, "");
        });
        to.each("viewpoints", &self.viewpoints, |at, viewpoint| {
            at.name(&viewpoint.name);
            at.point("at", &viewpoint.at);
        });
        if self.boot_space.len() > MOST_SPACES {
            to.field("boot_space", |at| {
                at.report(
                    format!("{} solids", self.boot_space.len()),
                    format!("at most {MOST_SPACES}: a few boxes or prisms describe a boot"),
                );
            });
        }
        to.each("boot_space", &self.boot_space, |at, shape| {
            shape.inspect(at);
            if let Shape::Mesh { file } = shape {
                at.report(
                    format!("the mesh `{file}`"),
                    "Box, Cylinder, Prism or Hull: the luggage space is measured, not scanned",
                );
            }
        });
        to.each("spots", &self.spots, |at, spot| {
            spot.inspect(at);
            at.each("fixings", &spot.fixings, |at, fixing| {
                at.known("anchor", &fixing.anchor, "an anchor", &anchors);
            });
        });
        let bodies: BTreeSet<&str> = self.bodies.iter().map(|body| body.name.as_str()).collect();
        let spots: BTreeSet<&str> = self.spots.iter().map(|spot| spot.name.as_str()).collect();
        to.field("handover", |at| self.handover.inspect(at, &bodies, &spots));
        to.each("openings", &self.openings, |at, opening| opening.inspect(at));
        to.each("trials", &self.trials, |at, trial| trial.inspect(at));
        self.inspect_names(&mut to);
        to.finish()
    }

    fn inspect_required_gaps(&self, to: &mut Inspector) {
        let mut stated = BTreeSet::new();
        to.each("required_gaps", &self.required_gaps, |at, pair| {
            pair.inspect(&self.limits, at);
            if !stated.insert((pair.of, pair.to)) {
                at.report(
                    format!("{} to {} a second time", pair.of.words(), pair.to.words()),
                    "each pair of roles once",
                );
            }
        });
    }

    fn inspect_names(&self, to: &mut Inspector) {
        to.unique("options", self.options.iter().map(|option| option.name.as_str()));
        to.unique("cars", self.cars.iter().map(|car| car.name.as_str()));
        to.unique("openings", self.openings.iter().map(|opening| opening.name.as_str()));
        self.inspect_codes(to);
        to.unique("bodies", self.bodies.iter().map(|body| body.name.as_str()));
        to.unique("trims", self.trims.iter().map(|trim| trim.name.as_str()));
        to.unique("movers", self.movers.iter().map(|mover| mover.name.as_str()));
        to.unique("drains", self.drains.iter().map(|drain| drain.name.as_str()));
        to.unique("leaks", self.leaks.iter().map(|leak| leak.name.as_str()));
        to.unique("anchors", self.anchors.iter().map(|anchor| anchor.name.as_str()));
        to.unique("lines", self.lines.iter().map(|line| line.name.as_str()));
        to.unique("spots", self.spots.iter().map(|spot| spot.name.as_str()));
    }

    /// A code that another option has as its code or name would mean two things.
    fn inspect_codes(&self, to: &mut Inspector) {
        to.each("options", &self.options, |at, option| {
            let taken = |other: &OptionModule| {
                !std::ptr::eq(other, option)
                    && (other.name == option.code || other.code == option.code)
            };
            if !option.code.is_empty() && self.options.iter().any(taken) {
                at.field("code", |at| {
                    at.report(
                        format!("`{}` a second time", option.code),
                        "a code that no other option has as its code or name",
                    );
                });
            }
        });
    }

    /// The option that has this name or code.
    pub fn option_called(&self, name: &str) -> Option<&OptionModule> {
        let by_name = self.options.iter().find(|option| option.name == name);
        by_name.or_else(|| {
            self.options.iter().find(|option| !option.code.is_empty() && option.code == name)
        })
    }

    /// References from this layout into `pump` that name nothing there.
    pub fn problems_with(&self, pump: &super::Pump) -> Vec<Problem> {
        let mut to = Inspector::default();
        let ports: BTreeSet<&str> = pump.ports.iter().map(|port| port.name.as_str()).collect();
        let mounts: BTreeSet<&str> = pump.mounts.iter().map(|mount| mount.name.as_str()).collect();
        to.each("lines", &self.lines, |at, line| {
            at.known("to", &line.to, "a port of the pump", &ports);
        });
        to.each("spots", &self.spots, |at, spot| {
            at.each("fixings", &spot.fixings, |at, fixing| {
                at.known("mount", &fixing.mount, "a mount of the pump", &mounts);
            });
        });
        to.finish()
    }

    /// The spot called `name`.
    pub fn spot(&self, name: &str) -> Option<&Spot> {
        self.spots.iter().find(|spot| spot.name == name)
    }
}

fn option_known(to: &mut Inspector, options: &[OptionModule], option: &Option<String>) {
    let Some(rule) = option else { return };
    // A plain name is reported as such; the nearest name and the place stand in the rule's own error.
    if let Err(error) = OptionRule::read(rule, options) {
        to.field("option", |at| {
            at.report(
                format!("`{rule}`"),
                format!("the name or code of an option of this file, or a rule over them: {error}"),
            );
        });
    }
}

fn inspect_code(to: &mut Inspector, code: &str) {
    let word = ["and", "or", "not", "none"].contains(&code.to_lowercase().as_str());
    let odd =
        |letter: char| letter.is_whitespace() || letter.is_control() || "()',".contains(letter);
    if code.chars().any(odd) || word || code.chars().count() > 40 {
        to.field("code", |at| {
            at.report(
                format!("the code `{code}`"),
                "a word of at most 40 characters without blanks, brackets, commas or quotes, and not \
                 `and`, `or`, `not` or `none`",
            );
        });
    }
}

fn inspect_weights(weights: &Weights, to: &mut Inspector) {
    let all = [
        ("reach", weights.reach),
        ("carpet", weights.carpet),
        ("feed", weights.feed),
        ("water", weights.water),
        ("hold", weights.hold),
    ];
    for (name, weight) in all {
        to.range(name, weight, 0.0, 1_000.0, "");
    }
    if all.iter().map(|(_, weight)| weight).sum::<f64>() <= 0.0 {
        to.report("weights that are all zero", "at least one weight above zero");
    }
}
