//! The demo layouts and assets, built into the program so that it runs from anywhere.

use std::path::{Path, PathBuf};

use super::atomic::write_atomically;
use super::error::FileError;

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
    /// `dryberth-demo`, or the first of `dryberth-demo-2`, `-3` … in which this demo's layout is not
    /// there yet or has not been changed.
    pub(super) fn free_folder(&self) -> PathBuf {
        self.free_folder_in(Path::new(""))
    }

    fn free_folder_in(&self, base: &Path) -> PathBuf {
        let untouched = |folder: &PathBuf| {
            std::fs::read(self.layout_in(folder)).map_or_else(
                |error| error.kind() == std::io::ErrorKind::NotFound,
                |bytes| bytes == self.layout.as_bytes(),
            )
        };
        let first = base.join("dryberth-demo");
        let numbered = (2..1000).map(|number| base.join(format!("dryberth-demo-{number}")));
        std::iter::once(first.clone()).chain(numbered).find(untouched).unwrap_or(first)
    }

    /// Where its layout lies under `folder`.
    pub fn layout_in(&self, folder: &Path) -> PathBuf {
        folder.join("layouts").join(format!("{}.ron", self.name))
    }

    /// Writes this demo and every asset under `folder`, leaving files that are there already, and
    /// gives the path of the layout.
    ///
    /// # Errors
    /// When a file can't be written.
    pub fn unpack(&self, folder: &Path) -> Result<PathBuf, FileError> {
        let layout = self.layout_in(folder);
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_demo_that_was_changed_is_left_alone() {
        let base = tempfile::tempdir().unwrap();
        let demo = &DEMOS[0];
        let first = demo.free_folder_in(base.path());
        assert!(first.ends_with("dryberth-demo"));
        let layout = demo.unpack(&first).unwrap();
        assert_eq!(demo.free_folder_in(base.path()), first, "unchanged, it may be saved to");
        std::fs::write(&layout, "changed").unwrap();
        assert!(demo.free_folder_in(base.path()).ends_with("dryberth-demo-2"));
        assert_eq!(demo.unpack(&first).unwrap(), layout);
        assert_eq!(std::fs::read_to_string(&layout).unwrap(), "changed");
    }
}
