//! A layout made ready: whatever doesn't depend on the spot is worked out once.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::carpet::blocks::Packing;
use super::carpet::clearance::measured_mm;
use super::carpet::seen::{self, SkinPoint};
use super::carpet::space::{self, Filling};
use super::routing::{ROUTE_STEP_MM, routing_bounds, routing_obstacles, routing_sheets};
use super::water::standing::Water;
use super::water::{DrainState, DripTrack, Slope, WaterCase, tracks};
use crate::geometry::{
    ClearanceField, Course, FloorGap, HeightGrid, ShapeError, Sheet, Solid, Sumps, Triangles,
    edges, fault_at, pose_at,
};
use crate::model::{
    Anchor, Body, Layout, Line, Motion, Mover, Pose, Pump, Shape, Spot, Trim, Vector, rule_holds,
};

/// The name under which a shape of the usable boot space that can't be made ready is reported.
pub const BOOT_SPACE: &str = "boot_space";

/// The name under which a reservoir that can't be made ready is reported.
pub const RESERVOIR: &str = "reservoir";

/// Most triangles of a reservoir's mesh: its fluid is levelled in some eighty cases for each drag.
pub const MOST_RESERVOIR_TRIANGLES: usize = 20_000;

/// Triangles of mesh files by the path that the layout gives, vehicle frame, mm.
pub type Meshes = BTreeMap<String, Triangles>;

/// Why a layout can't be made ready.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PrepareError {
    /// Whoever asked for it didn't want it any more.
    #[error("given up")]
    GivenUp,
    /// A shape of a body or mover.
    #[error("`{name}`: {source}")]
    Shape {
        /// Name of the body, mover or pump solid.
        name: String,
        /// What is wrong with its shape.
        source: ShapeError,
    },
    /// A mesh of the reservoir's inside that isn't closed.
    #[error(
        "the reservoir's mesh `{file}` is not closed: {open} open edges, {at_odds} where triangles face \
         opposite ways, {crowded} of three or more triangles; one at ({}, {}, {})", at[0], at[1], at[2]
    )]
    ReservoirOpen {
        /// The mesh file.
        file: String,
        /// Edges of one triangle only: the rim of a hole.
        open: usize,
        /// Edges of two triangles that face opposite ways.
        at_odds: usize,
        /// Edges of three or more.
        crowded: usize,
        /// The middle of one of them, pump's frame, rounded to mm.
        at: [i64; 3],
    },
    /// A mesh of the reservoir's inside with more triangles than a drag can wait for.
    #[error(
        "the reservoir's mesh `{file}` has {triangles} triangles, more than {MOST_RESERVOIR_TRIANGLES}"
    )]
    ReservoirFine {
        /// The mesh file.
        file: String,
        /// How many it has.
        triangles: usize,
    },
    /// An option that the layout doesn't list.
    #[error("the layout lists no option `{wanted}`; it lists {known}")]
    Option {
        /// The name asked for.
        wanted: String,
        /// The names listed.
        known: String,
    },
}

/// A body of this car, ready.
pub struct BootBody {
    pub(crate) index: usize,
    /// Its solid, vehicle frame.
    pub solid: Solid,
}

/// A mover of this car, ready.
pub struct BootMover {
    pub(crate) index: usize,
    /// Its solids where they were measured.
    pub solids: Vec<Solid>,
    /// How it goes with what drives it.
    pub course: Course,
}

/// A trim of this car, ready.
pub struct BootTrim {
    pub(crate) index: usize,
    /// Its hidden side, facing the boot's usable space.
    pub triangles: Triangles,
    /// The same with its folds, ready for questions.
    pub(crate) sheet: Sheet,
}

/// What a solid of the routing field belongs to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum FieldOwner {
    Body(usize),
    Mover(usize),
}

/// A layout, its pump and the options fitted, made ready for [`evaluate`](super::evaluate).
///
/// Preparing costs what doesn't depend on the spot: meshes with their trees, the floor's height
/// grid with its floods, the field that lines are routed through.
pub struct Boot {
    layout: Layout,
    pump: Pump,
    fitted: Vec<String>,
    pub(crate) bodies: Vec<BootBody>,
    pub(crate) movers: Vec<BootMover>,
    pub(crate) trims: Vec<BootTrim>,
    pub(crate) pump_solids: Vec<Solid>,
    pub(crate) pump_skin: Arc<Vec<SkinPoint>>,
    pub(crate) pump_filling: Arc<Filling>,
    pub(crate) reservoir: Solid,
    /// Which parts of it hang together below a level; none where it is convex and nothing parts it.
    pub(crate) sumps: Option<Arc<Sumps>>,
    /// The usable boot space, its litres, and luggage packed into it; none when not measured.
    pub(crate) boot_space: Arc<Vec<Solid>>,
    pub(crate) boot_litres: f64,
    pub(crate) packing: Option<Arc<Packing>>,
    pub(crate) water: Option<Arc<Water>>,
    floor_gaps: Arc<Vec<FloorGap>>,
    drips: Arc<Vec<DripTrack>>,
    pub(crate) field: Arc<ClearanceField>,
    pub(crate) field_owners: Vec<FieldOwner>,
    /// The same cells with the distance to the nearest trim surface.
    pub(crate) trim_field: Arc<ClearanceField>,
    /// Which trim each sheet of it is of, by its place among `trims`.
    trim_owners: Vec<usize>,
    /// How much higher than measured the pump stands over the water, mm; 0 in a boot as measured.
    pub(crate) water_error_mm: f64,
    /// Whether every near body is reported, not only the nearest few.
    pub(crate) every_gap: bool,
}

impl Boot {
    /// Makes a layout ready with the options in `fitted`.
    ///
    /// # Errors
    /// When a shape can't be made ready or an option isn't listed.
    pub fn prepare(
        layout: Layout,
        pump: Pump,
        meshes: &Meshes,
        fitted: &[String],
    ) -> Result<Boot, PrepareError> {
        Boot::prepare_watched(layout, pump, meshes, fitted, &|_| true)
    }

    /// As [`prepare`](Self::prepare), telling `go_on` before each part of the work how much of it is done,
    /// 0 to 1 and rising; it is given up as soon as that says no. The shares are those of the demo cars.
    ///
    /// # Errors
    /// As [`prepare`](Self::prepare), and [`PrepareError::GivenUp`].
    pub fn prepare_watched(
        layout: Layout,
        pump: Pump,
        meshes: &Meshes,
        fitted: &[String],
        go_on: &dyn Fn(f64) -> bool,
    ) -> Result<Boot, PrepareError> {
        let part = |share: f64| if go_on(share) { Ok(()) } else { Err(PrepareError::GivenUp) };
        part(0.0)?;
        let fitted = known_options(&layout, fitted)?;
        let options = layout.options.clone();
        let here = |rule: &Option<String>| rule_holds(rule, &options, &fitted);
        let ready = |name: &str, shape, pose: &Pose| {
            Solid::of(shape, pose, |file| meshes.get(file).cloned())
                .map_err(|source| PrepareError::Shape { name: name.to_string(), source })
        };
        let mut bodies = Vec::new();
        for (index, body) in layout.bodies.iter().enumerate() {
            if here(&body.option) {
                part(0.1 * index as f64 / layout.bodies.len() as f64)?;
                let solid = ready(&body.name, &body.shape, &body.place.pose())?;
                let solid = match body.skin {
                    Some(skin) => solid.with_skin(skin),
                    None => solid,
                };
                bodies.push(BootBody { index, solid });
            }
        }
        let mut movers = Vec::new();
        for (index, mover) in layout.movers.iter().enumerate() {
            if here(&mover.option) {
                let solids = mover
                    .shapes
                    .iter()
                    .map(|shape| ready(&mover.name, shape, &Pose::identity()))
                    .collect::<Result<_, _>>()?;
                let course = Course::of(mover, &layout.movers);
                movers.push(BootMover { index, solids, course });
            }
        }
        let trims: Vec<BootTrim> = layout
            .trims
            .iter()
            .enumerate()
            .filter(|(_, trim)| here(&trim.option))
            .map(|(index, trim)| BootTrim {
                index,
                triangles: trim_triangles(trim),
                sheet: Sheet::of(&trim.faces),
            })
            .collect();
        let boot_space: Vec<Solid> = layout
            .boot_space
            .iter()
            .map(|shape| ready(BOOT_SPACE, shape, &Pose::identity()))
            .collect::<Result<_, _>>()?;
        let pump_solids: Vec<Solid> = pump
            .solids
            .iter()
            .map(|solid| ready(&solid.name, &solid.shape, &Pose::identity()))
            .collect::<Result<_, _>>()?;
        let reservoir = ready(RESERVOIR, &pump.reservoir.inside, &Pose::identity())?;
        if let Shape::Mesh { file } = &pump.reservoir.inside {
            closed_reservoir(file, reservoir.triangles())?;
        }
        part(0.1)?;
        let water = Water::of(&layout, &bodies);
        part(0.5)?;
        let floor_gaps = water.as_ref().map(|water| water.grid.gaps()).unwrap_or_default();
        let drips = water.as_ref().map(|water| water.tracks.clone()).unwrap_or_default();
        let (obstacles, field_owners) = routing_obstacles(&layout, &bodies, &movers);
        let (sheets, trim_owners) = routing_sheets(&trims);
        let around = routing_bounds(&layout, &pump_solids, obstacles.iter().chain(&sheets));
        part(0.6)?;
        let field = Arc::new(ClearanceField::of(obstacles, &around, ROUTE_STEP_MM));
        part(0.75)?;
        let trim_field = Arc::new(ClearanceField::of(sheets, &around, ROUTE_STEP_MM));
        part(0.8)?;
        let packing =
            Packing::of(&boot_space, field.obstacles().iter().map(|o| &o.solid)).map(Arc::new);
        part(0.95)?;
        Ok(Boot {
            layout,
            pump,
            fitted,
            bodies,
            movers,
            trims,
            pump_skin: Arc::new(seen::skin(&pump_solids)),
            pump_filling: Arc::new(Filling::of(&pump_solids)),
            pump_solids,
            sumps: (!reservoir.is_convex()).then(|| Arc::new(Sumps::of(reservoir.triangles()))),
            reservoir,
            boot_litres: space::litres(&boot_space),
            boot_space: Arc::new(boot_space),
            packing,
            water: water.map(Arc::new),
            floor_gaps: Arc::new(floor_gaps),
            drips: Arc::new(drips),
            field,
            field_owners,
            trim_field,
            trim_owners,
            water_error_mm: 0.0,
            every_gap: false,
        })
    }

    /// The same boot as another measuring of it might have given, and how far off the pump then
    /// stands. `error(mm)` draws an error for something known to ± that many mm.
    ///
    /// Bodies, movers with their axes, trims, anchors, leaks, the lines' exits each get one of their
    /// own, and lines a free length. What the pump stands on (`stands_on`) goes where the pump goes.
    /// The floods and the coarse cells of the routing fields are kept: for the floods the pump's
    /// height over the water gets an error instead.
    pub(crate) fn measured_again(
        &self,
        stands_on: &[usize],
        mut error: impl FnMut(f64) -> Vector,
    ) -> (Boot, Vector) {
        let limits = self.layout.limits;
        let mut layout = self.layout.clone();
        let mut shifts: Vec<Vector> = self
            .bodies
            .iter()
            .map(|body| error(measured_mm(&limits, &layout.bodies[body.index])))
            .collect();
        let carried = stands_on.first().map_or_else(Vector::zeros, |&first| shifts[first]);
        let pump_shift = carried + error(limits.bench_mm);
        stands_on.iter().for_each(|&body| shifts[body] = pump_shift);
        let shifted = |by: &Vector| Pose::translation(by.x, by.y, by.z);
        let bodies: Vec<BootBody> = self
            .bodies
            .iter()
            .zip(&shifts)
            .map(|(body, by)| BootBody { index: body.index, solid: body.solid.moved(&shifted(by)) })
            .collect();
        let mut movers = Vec::with_capacity(self.movers.len());
        let mut mover_shifts = BTreeMap::new();
        for mover in &self.movers {
            let measured = &mut layout.movers[mover.index];
            let by = error(measured.tolerance_mm.unwrap_or(limits.tape_mm));
            if let Motion::Swing { through, .. } = &mut measured.motion {
                *through += by;
            }
            mover_shifts.insert(mover.index, by);
            let solids = mover.solids.iter().map(|solid| solid.moved(&shifted(&by))).collect();
            let course = mover.course.clone();
            movers.push(BootMover { index: mover.index, solids, course });
        }
        // Courses go about the axes as measured again.
        for mover in &mut movers {
            mover.course = Course::of(&layout.movers[mover.index], &layout.movers);
        }
        let trim_shifts: Vec<Vector> = self.trims.iter().map(|_| error(limits.tape_mm)).collect();
        let trims: Vec<BootTrim> = self
            .trims
            .iter()
            .zip(&trim_shifts)
            .map(|(trim, by)| BootTrim {
                index: trim.index,
                triangles: trim.triangles.moved(&shifted(by)),
                sheet: trim.sheet.shifted(by),
            })
            .collect();
        layout.anchors.iter_mut().for_each(|anchor| anchor.at += error(limits.tape_mm));
        layout.leaks.iter_mut().for_each(|leak| leak.at += error(limits.tape_mm));
        for line in &mut layout.lines {
            line.from.at += error(limits.tape_mm);
            line.free_mm = (line.free_mm + error(limits.tape_mm).x).max(1.0);
        }
        let water_error_mm = error(limits.tape_mm).z;
        let body_shifts: BTreeMap<usize, Vector> =
            self.bodies.iter().map(|body| body.index).zip(shifts).collect();
        // A mover's axis goes with it, so what it sweeps only moves.
        let field = self.field.moved(|obstacle| {
            let by = match self.field_owners[obstacle] {
                FieldOwner::Body(index) => body_shifts.get(&index),
                FieldOwner::Mover(index) => mover_shifts.get(&index),
            };
            by.copied().unwrap_or_else(Vector::zeros)
        });
        let trim_field = self.trim_field.moved(|sheet| trim_shifts[self.trim_owners[sheet]]);
        let drips = self
            .water
            .as_ref()
            .map_or_else(Vec::new, |water| tracks::tracks(&layout, &self.bodies, water));
        let drips = Arc::new(drips);
        let boot = Boot {
            layout,
            pump: self.pump.clone(),
            fitted: self.fitted.clone(),
            field: Arc::new(field),
            trim_field: Arc::new(trim_field),
            trim_owners: self.trim_owners.clone(),
            field_owners: self.field_owners.clone(),
            bodies,
            movers,
            trims,
            pump_solids: self.pump_solids.clone(),
            pump_skin: Arc::clone(&self.pump_skin),
            pump_filling: Arc::clone(&self.pump_filling),
            reservoir: self.reservoir.clone(),
            sumps: self.sumps.clone(),
            boot_space: Arc::clone(&self.boot_space),
            boot_litres: self.boot_litres,
            packing: self.packing.clone(),
            water: self.water.clone(),
            floor_gaps: Arc::clone(&self.floor_gaps),
            drips,
            water_error_mm,
            every_gap: true,
        };
        (boot, pump_shift)
    }

    /// What lines are routed round: bodies and what movers sweep, with how far each place is from them.
    pub fn line_field(&self) -> &ClearanceField {
        &self.field
    }

    /// Forgets the distances that lines have asked for; for measuring what working them out costs.
    pub fn forget_distances(&mut self) {
        self.field = Arc::new(self.field.unasked());
        self.trim_field = Arc::new(self.trim_field.unasked());
    }

    /// A pose as the water checks are to take it.
    pub(crate) fn over_water(&self, pose: &Pose) -> Pose {
        Pose::translation(0.0, 0.0, self.water_error_mm) * pose
    }

    /// The options that a layout takes as fitted when nothing else is said.
    pub fn usual_options(layout: &Layout) -> Vec<String> {
        layout
            .options
            .iter()
            .filter(|option| option.fitted)
            .map(|option| option.name.clone())
            .collect()
    }

    /// The layout.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// The pump.
    pub fn pump(&self) -> &Pump {
        &self.pump
    }

    /// The options fitted, in the layout's order.
    pub fn fitted(&self) -> &[String] {
        &self.fitted
    }

    fn here(&self, option: &Option<String>) -> bool {
        rule_holds(option, &self.layout.options, &self.fitted)
    }

    /// The bodies of this car with their solids.
    pub fn bodies(&self) -> impl Iterator<Item = (&Body, &Solid)> {
        self.bodies.iter().map(|body| (&self.layout.bodies[body.index], &body.solid))
    }

    /// The movers of this car with their solids where they were measured.
    pub fn movers(&self) -> impl Iterator<Item = (&Mover, &[Solid])> {
        self.movers.iter().map(|mover| (&self.layout.movers[mover.index], &mover.solids[..]))
    }

    /// The trims of this car with the triangles of their hidden side.
    pub fn trims(&self) -> impl Iterator<Item = (&Trim, &Triangles)> {
        self.trims.iter().map(|trim| (&self.layout.trims[trim.index], &trim.triangles))
    }

    /// The anchors of this car.
    pub fn anchors(&self) -> impl Iterator<Item = &Anchor> {
        self.layout.anchors.iter().filter(|anchor| self.here(&anchor.option))
    }

    /// The lines of this car.
    pub fn lines(&self) -> impl Iterator<Item = &Line> {
        self.layout.lines.iter().filter(|line| self.here(&line.option))
    }

    /// The lines of this car with their places in [`Layout::lines`].
    pub(crate) fn numbered_lines(&self) -> impl Iterator<Item = (usize, &Line)> {
        self.layout.lines.iter().enumerate().filter(|(_, line)| self.here(&line.option))
    }

    /// The pump's solids in its own frame, in the order of [`Pump::solids`].
    pub fn pump_solids(&self) -> &[Solid] {
        &self.pump_solids
    }

    /// The floor's height grid, if any body can hold water.
    pub fn floor(&self) -> Option<&HeightGrid> {
        self.water.as_deref().map(|water| &water.grid)
    }

    /// Standing water for every slope and drain state; level ground with the drains as found first.
    pub fn water(&self) -> &[WaterCase] {
        self.water.as_deref().map_or(&[], |water| &water.cases)
    }

    /// Standing water on any slope, for a drain state that [`water`](Self::water) lists; none for
    /// another, and without a floor. One flood: see the bench `water`.
    pub fn water_on(
        &self,
        along_pct: f64,
        across_pct: f64,
        drains: DrainState,
    ) -> Option<WaterCase> {
        let within = |pct: f64| pct.is_finite() && pct.abs() <= 100.0;
        if !within(along_pct) || !within(across_pct) {
            return None;
        }
        let slope = Slope { words: "on the slope chosen", along_pct, across_pct };
        self.water.as_deref()?.on(slope, drains)
    }

    /// Works the whole water question out again, as [`prepare`](Self::prepare) did: height grid, floods
    /// and pools of every slope and drain state, drips, filling. Gives how many cases there are; for
    /// benches.
    #[doc(hidden)]
    pub fn water_again(&self) -> usize {
        Water::of(&self.layout, &self.bodies).map_or(0, |water| water.cases.len())
    }

    /// The ways of the leaks' drips in a boot without a pump, by leak, then slope as in [`SLOPES`](super::water::SLOPES).
    pub fn drips(&self) -> &[DripTrack] {
        &self.drips
    }

    /// The ways of the drips with those in `aside` in the place of their own: what a spot's
    /// [`Drawn::drips`](super::Drawn::drips) makes of [`drips`](Self::drips).
    pub fn drips_with<'a>(&'a self, aside: &'a [DripTrack]) -> impl Iterator<Item = &'a DripTrack> {
        self.drips.iter().map(|track| {
            let own = |it: &&DripTrack| it.leak == track.leak && it.slope == track.slope;
            aside.iter().find(own).unwrap_or(track)
        })
    }

    /// Holes in the floor with floor all round, largest first.
    pub fn floor_gaps(&self) -> &[FloorGap] {
        &self.floor_gaps
    }

    pub(crate) fn waters(&self) -> Option<&Water> {
        self.water.as_deref()
    }

    /// Litres of the usable boot space and the luggage blocks that go in without a pump; none when
    /// it was not measured.
    pub fn luggage(&self) -> Option<(f64, usize)> {
        self.packing.as_ref().map(|packing| (self.boot_litres, packing.count()))
    }

    /// How the mover called `name` goes with what drives it; none when this car hasn't got it.
    pub fn course(&self, name: &str) -> Option<&Course> {
        self.ready_mover(name).map(|mover| &mover.course)
    }

    /// The space that the mover called `name` goes through over its whole travel, as closed surfaces that
    /// overlap, vehicle frame; to be drawn. Good to 0.5 mm; a meshed part stands at each place instead.
    /// None when this car hasn't got it. Cost: some hundred hulls, so not for every frame.
    pub fn swept(&self, name: &str) -> Option<Triangles> {
        /// How far an arc may bulge out of what is drawn, mm.
        const CLOSE_MM: f64 = 0.5;
        self.ready_mover(name).map(|mover| mover.course.swept(&mover.solids, CLOSE_MM))
    }

    fn ready_mover(&self, name: &str) -> Option<&BootMover> {
        self.movers.iter().find(|mover| self.layout.movers[mover.index].name == name)
    }

    /// A mover's solids at `travel` degrees or mm of its motion.
    pub fn mover_at(motion: &Motion, solids: &[Solid], travel: f64) -> Vec<Solid> {
        let pose = pose_at(motion, travel);
        solids.iter().map(|solid| solid.moved(&pose)).collect()
    }

    /// Replaces the spots, keeping everything that was worked out.
    pub fn set_spots(&mut self, spots: Vec<Spot>) {
        self.layout.spots = spots;
    }

    /// Whether an obstacle of the field is a body with a sharp edge.
    pub(crate) fn field_sharp(&self, solid: usize) -> bool {
        match self.field_owners[solid] {
            FieldOwner::Body(index) => self.layout.bodies[index].sharp,
            FieldOwner::Mover(_) => false,
        }
    }

    /// The trim that a sheet of the trim field belongs to.
    pub(crate) fn trim_name(&self, sheet: usize) -> &str {
        &self.layout.trims[self.trims[self.trim_owners[sheet]].index].name
    }

    /// Whether an obstacle of the field is a body, not what a mover sweeps.
    pub(crate) fn field_is_body(&self, solid: usize) -> bool {
        matches!(self.field_owners[solid], FieldOwner::Body(_))
    }

    pub(crate) fn field_name(&self, solid: usize) -> &str {
        match self.field_owners[solid] {
            FieldOwner::Body(index) => &self.layout.bodies[index].name,
            FieldOwner::Mover(index) => &self.layout.movers[index].name,
        }
    }
}

fn known_options(layout: &Layout, wanted: &[String]) -> Result<Vec<String>, PrepareError> {
    let known = || layout.options.iter().map(|option| &option.name);
    for name in wanted {
        if !known().any(|known| known == name) {
            let list: Vec<String> = known().map(|name| format!("`{name}`")).collect();
            let known = if list.is_empty() { "none".to_string() } else { list.join(", ") };
            return Err(PrepareError::Option { wanted: name.clone(), known });
        }
    }
    Ok(known().filter(|name| wanted.contains(name)).cloned().collect())
}

/// An error unless a reservoir's mesh encloses a volume and is small enough to be levelled in a drag.
fn closed_reservoir(file: &str, surface: &Triangles) -> Result<(), PrepareError> {
    let file = file.to_string();
    let found = edges(surface);
    if !found.closed() {
        let at =
            fault_at(surface).map_or([0; 3], |at| [at.x, at.y, at.z].map(|c| c.round() as i64));
        let (open, at_odds, crowded) = (found.open, found.at_odds, found.crowded);
        return Err(PrepareError::ReservoirOpen { file, open, at_odds, crowded, at });
    }
    let triangles = surface.indices.len();
    if triangles > MOST_RESERVOIR_TRIANGLES {
        return Err(PrepareError::ReservoirFine { file, triangles });
    }
    Ok(())
}

fn trim_triangles(trim: &Trim) -> Triangles {
    let mut all = Triangles::default();
    for face in &trim.faces {
        all.append(&Triangles::polygon(face));
    }
    all
}
