//! Reading and writing: layouts and pumps as RON, meshes as GLB. All file errors live here.

mod demo;
mod error;
mod glb;
mod layout_file;
mod read;
mod ron_text;

pub use demo::{DEMOS, Demo};
pub use error::{FileError, FileProblem};
pub use glb::triangles_from_glb;
pub use layout_file::LayoutFile;
pub use read::{layout_from_text, pump_from_text};

use std::path::Path;

use crate::checks::{Boot, Meshes, PrepareError};
use crate::model::{Layout, Pump, Shape};

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
}

impl Opened {
    /// Makes it ready with the options in `fitted`.
    ///
    /// # Errors
    /// When a shape can't be made ready or an option isn't listed.
    pub fn boot(&self, fitted: &[String]) -> Result<Boot, FileError> {
        Boot::prepare(self.layout.clone(), self.pump.clone(), &self.meshes, fitted).map_err(
            |error| {
                let expected = match &error {
                    PrepareError::Option { .. } => "an option that the layout lists",
                    PrepareError::Shape { .. } => {
                        "a shape with a volume; correct its corners, or export the mesh again"
                    }
                };
                FileError::one(self.file.name(), error.to_string(), expected)
            },
        )
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

fn assemble(file: LayoutFile) -> Result<Opened, FileError> {
    let layout = layout_from_text(&file.name(), file.text())?;
    let pump_file = file.beside(&layout.pump, &["ron"])?;
    let pump_text = pump_file.text()?;
    let pump = pump_from_text(&pump_file.name, &pump_text)?;
    read::nothing_wrong(&file.name(), file.text(), &layout.problems_with(&pump))?;
    let mut meshes = Meshes::new();
    for wanted in mesh_files(&layout) {
        if !meshes.contains_key(wanted) {
            let found = file.beside(wanted, &["glb"])?;
            meshes.insert(wanted.to_string(), triangles_from_glb(&found.name, &found.bytes)?);
        }
    }
    Ok(Opened { layout, pump, meshes, file })
}

fn mesh_files(layout: &Layout) -> impl Iterator<Item = &str> {
    let bodies = layout.bodies.iter().map(|body| &body.shape);
    let movers = layout.movers.iter().flat_map(|mover| &mover.shapes);
    bodies.chain(movers).filter_map(|shape| match shape {
        Shape::Mesh { file } => Some(file.as_str()),
        _ => None,
    })
}
