//! Reading and writing: layouts and pumps as RON, meshes as GLB, scans as they come. All file errors live here.

mod atomic;
mod blank;
mod demo;
mod error;
mod glb;
mod glb_out;
mod glb_scene;
mod journal;
mod layout_file;
mod library;
mod nodes;
mod read;
mod ron_text;
pub mod scan;
mod settings;
mod splice;
mod upgrade;
mod written;

pub use demo::{DEMOS, Demo};
pub use error::{FileError, FileProblem};
pub use glb::triangles_from_glb;
pub use glb_out::{as_glb_holds, glb_from_triangles};
pub use glb_scene::{GlbNode, GlbSurface, glb_from_nodes};
pub use journal::{Journal, Unsaved};
use layout_file::Beside;
pub use layout_file::LayoutFile;
pub use library::{Found, LibraryEntry, Unread, Wanted, search_library};
pub use read::{layout_from_text, pump_from_text, scan_plan_from_text};
pub use settings::{job_from_text, open_job, open_workshop, workshop_from_text, write_file};
pub use upgrade::upgraded_text;

use std::path::Path;

use crate::checks::{BOOT_SPACE, Boot, Meshes, PrepareError, RESERVOIR};
use crate::model::{Layout, Pump, ScanPlan, Shape, Step};

/// A layout with everything that it names, read and sound.
#[derive(Debug, Clone)]
pub struct Opened {
    /// The layout.
    pub layout: Layout,
    /// Its pump.
    pub pump: Pump,
    /// The triangles of the mesh files that it names.
    pub meshes: Meshes,
    /// The file it came from.
    pub file: LayoutFile,
    pump_name: String,
    pump_text: String,
}

impl Opened {
    /// Makes it ready with the options in `fitted`.
    ///
    /// # Errors
    /// When a shape can't be made ready or an option isn't listed.
    pub fn boot(&self, fitted: &[String]) -> Result<Boot, FileError> {
        Boot::prepare(self.layout.clone(), self.pump.clone(), &self.meshes, fitted).map_err(
            |error| match &error {
                // Nobody gives it up: nothing watches it.
                PrepareError::GivenUp => FileError::one(
                    self.file.name(),
                    error.to_string(),
                    "the boot to be made ready to the end",
                ),
                PrepareError::Option { .. } => FileError::one(
                    self.file.name(),
                    error.to_string(),
                    "an option that the layout lists",
                ),
                PrepareError::Shape { name, .. } => self.unusable_shape(name, &error.to_string()),
                PrepareError::ReservoirOpen { .. } => self.unusable_reservoir(
                    &error.to_string(),
                    "a mesh without a hole; close it and export it again, or give the inside as a Box, \
                     Cylinder, Prism or Hull",
                ),
                PrepareError::ReservoirFine { .. } => self.unusable_reservoir(
                    &error.to_string(),
                    "a coarser mesh: half a millimetre of deviation is plenty for a reservoir",
                ),
            },
        )
    }

    fn unusable_reservoir(&self, said: &str, advice: &str) -> FileError {
        let inside = [Step::Field("reservoir"), Step::Field("inside")];
        FileError::one(&self.pump_name, said, advice.to_string()).at(&self.pump_text, &inside)
    }

    /// The error of a shape that is well written and yet can't be computed with, laid at the body,
    /// mover or pump solid that has it.
    fn unusable_shape(&self, name: &str, said: &str) -> FileError {
        let advice =
            "a shape with a volume; correct its corners, or export the mesh again".to_string();
        let layout = &self.layout;
        let body = layout.bodies.iter().position(|body| body.name == name);
        let mover = layout.movers.iter().position(|mover| mover.name == name);
        let (list, index) = match (body, mover) {
            (Some(index), _) => ("bodies", index),
            (None, Some(index)) => ("movers", index),
            (None, None) if name == BOOT_SPACE => {
                return FileError::one(self.file.name(), said, advice)
                    .at(self.file.text(), &[Step::Field("boot_space")]);
            }
            (None, None) if name == RESERVOIR => return self.unusable_reservoir(said, &advice),
            (None, None) => return FileError::one(&self.pump_name, said, advice),
        };
        FileError::one(self.file.name(), said, advice)
            .at(self.file.text(), &[Step::Field(list), Step::Index(index)])
    }
}

/// Reads a layout, its pump and its meshes.
///
/// # Errors
/// When any of the files can't be read or holds something that can't be used; all the problems of
/// one file are listed.
pub fn open(path: &Path) -> Result<Opened, FileError> {
    let file = LayoutFile::read(path)?;
    assemble(file)
}

/// Opens one of the demo layouts built into the program; the first when `name` is none.
///
/// # Errors
/// When there is no demo of that name.
pub fn open_demo(name: Option<&str>) -> Result<Opened, FileError> {
    let demo = demo::find(name)?;
    assemble(LayoutFile::of_demo(demo))
}

/// Opens a layout that was just begun with [`LayoutFile::create`].
///
/// # Errors
/// As for [`open`].
pub fn open_file(file: LayoutFile) -> Result<Opened, FileError> {
    assemble(file)
}

/// Writes the plan for a scan, as RON.
///
/// # Errors
/// When it can't be written.
pub fn write_scan_plan(path: &Path, plan: &ScanPlan) -> Result<(), FileError> {
    let text = written::Node::of(plan).map(|node| node.sparse().text(0)).unwrap_or_default();
    atomic::write_atomically(path, format!("{text}\n").as_bytes())
}

/// Reads the meshes that a layout names, beside its file.
///
/// # Errors
/// When one of them can't be read.
pub fn meshes_of(file: &LayoutFile, layout: &Layout) -> Result<Meshes, FileError> {
    let mut meshes = Meshes::new();
    for (wanted, path) in mesh_files(layout) {
        if !meshes.contains_key(wanted) {
            let found = file.beside(wanted, &["glb"], &path)?;
            meshes.insert(wanted.to_string(), triangles_from_glb(&found.name, &found.bytes)?);
        }
    }
    Ok(meshes)
}

fn assemble(file: LayoutFile) -> Result<Opened, FileError> {
    let layout = layout_from_text(&file.name(), file.text())?;
    let (pump_file, pump_text, pump) = pump_of(&file, &layout)?;
    read::nothing_wrong(&file.name(), file.text(), &layout.problems_with(&pump))?;
    let mut meshes = meshes_of(&file, &layout)?;
    if let Shape::Mesh { file: wanted } = &pump.reservoir.inside {
        let path = ["reservoir", "inside", "file"].map(Step::Field);
        let found = file.named_by(wanted, &["glb"], (&pump_file.name, &pump_text, &path))?;
        meshes.insert(wanted.to_string(), triangles_from_glb(&found.name, &found.bytes)?);
    }
    Ok(Opened { layout, pump, meshes, file, pump_name: pump_file.name, pump_text })
}

/// The pump that a layout names, its file, and that file's text.
fn pump_of(file: &LayoutFile, layout: &Layout) -> Result<(Beside, String, Pump), FileError> {
    let found = file.beside(&layout.pump, &["ron"], &[Step::Field("pump")])?;
    let text = found.text()?;
    let pump = pump_from_text(&found.name, &text)?;
    Ok((found, text, pump))
}

/// The mesh files that a layout names, and where it does.
fn mesh_files(layout: &Layout) -> impl Iterator<Item = (&str, Vec<Step>)> {
    use Step::{Field, Index};
    let bodies = layout.bodies.iter().enumerate().map(|(index, body)| {
        (&body.shape, vec![Field("bodies"), Index(index), Field("shape"), Field("file")])
    });
    let movers = layout.movers.iter().enumerate().flat_map(|(index, mover)| {
        mover.shapes.iter().enumerate().map(move |(shape_index, shape)| {
            let list = [Field("movers"), Index(index), Field("shapes"), Index(shape_index)];
            (shape, [&list[..], &[Field("file")]].concat())
        })
    });
    bodies.chain(movers).filter_map(|(shape, path)| match shape {
        Shape::Mesh { file } => Some((file.as_str(), path)),
        _ => None,
    })
}
