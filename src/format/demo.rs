//! The demo layouts and assets, built into the program so that it runs from anywhere.

use std::path::{Path, PathBuf};

use super::error::FileError;
use super::layout_file::write_atomically;

/// A demo layout built into the program. The cars are invented.
#[derive(Debug, PartialEq, Eq)]
pub struct Demo {
    /// Its name on the command line.
    pub name: &'static str,
    pub(super) layout: &'static str,
}

/// The demo layouts, the one that opens by itself first.
pub static DEMOS: [Demo; 2] = [
    Demo {
        name: "wrenfield-drop-top",
        layout: include_str!("../../layouts/wrenfield-drop-top.ron"),
    },
    Demo {
        name: "sandlark-cabriolet",
        layout: include_str!("../../layouts/sandlark-cabriolet.ron"),
    },
];

/// Assets by the relative path that layouts name them with.
static ASSETS: [(&str, &[u8]); 2] = [
    ("pumps/two-line-unit.ron", include_bytes!("../../assets/pumps/two-line-unit.ron")),
    ("meshes/wheel-arch.glb", include_bytes!("../../assets/meshes/wheel-arch.glb")),
];

pub(super) fn find(name: Option<&str>) -> Result<&'static Demo, FileError> {
    let Some(name) = name else { return Ok(&DEMOS[0]) };
    DEMOS.iter().find(|demo| demo.name == name).ok_or_else(|| {
        let known: Vec<&str> = DEMOS.iter().map(|demo| demo.name).collect();
        FileError::one(
            format!("demo {name}"),
            "no demo of that name",
            format!("one of {}", known.join(", ")),
        )
    })
}

pub(super) fn asset(path: &str) -> Option<&'static [u8]> {
    ASSETS.iter().find(|(name, _)| *name == path).map(|(_, bytes)| *bytes)
}

impl Demo {
    /// Writes this demo and every asset under `folder`, leaving files that are there already, and
    /// gives the path of the layout.
    ///
    /// # Errors
    /// When a file can't be written, or the layout there differs from the one built in.
    pub fn unpack(&self, folder: &Path) -> Result<PathBuf, FileError> {
        let layout = folder.join("layouts").join(format!("{}.ron", self.name));
        for (path, bytes) in ASSETS {
            write_new(&folder.join("assets").join(path), bytes)?;
        }
        write_new(&layout, self.layout.as_bytes())?;
        Ok(layout)
    }
}

fn write_new(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    if path.exists() {
        return Ok(());
    }
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(|error| {
            FileError::one(
                folder.display().to_string(),
                format!("a folder that can't be made ({error})"),
                "a place that may be written to",
            )
        })?;
    }
    write_atomically(path, bytes)
}
