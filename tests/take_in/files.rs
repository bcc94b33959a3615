//! Scan files made to measure, and a folder to run the program in.

use std::fs;
use std::path::PathBuf;

use dryberth::format::triangles_from_glb;
use dryberth::geometry::Triangles;
use dryberth::model::Point;
use serde_json::Value;

use crate::support::run::{MOST_KIB, Run, run_in};
use crate::support::sheet::sheet;

/// A folder to take scans in.
pub(crate) struct Bench {
    folder: tempfile::TempDir,
}

impl Bench {
    pub(crate) fn new() -> Bench {
        Bench { folder: tempfile::tempdir().expect("a temporary folder") }
    }

    pub(crate) fn path(&self, file: &str) -> PathBuf {
        self.folder.path().join(file)
    }

    pub(crate) fn write(&self, file: &str, bytes: impl AsRef<[u8]>) {
        fs::write(self.path(file), bytes).expect("a file that can be written");
    }

    /// Runs `dryberth take-in` in the folder.
    pub(crate) fn run(&self, arguments: &[&str]) -> Run {
        self.run_within(MOST_KIB, arguments)
    }

    /// The same with no more than so many KiB of address space, where the system can hold it to that.
    pub(crate) fn run_within(&self, most_kib: u64, arguments: &[&str]) -> Run {
        run_in(self.folder.path(), most_kib, &[&["take-in"], arguments].concat())
    }

    /// Takes a scan in that must do, and gives the report and the body read back.
    #[track_caller]
    pub(crate) fn taken(&self, scan: &str, arguments: &[&str]) -> (Value, Triangles) {
        let run = self.run(&[&[scan, "-o", "body.glb", "--json"], arguments].concat());
        assert_eq!(run.status, Some(0), "{scan}: {}", run.err);
        let report: Value = serde_json::from_str(&run.out).expect("a JSON report");
        let bytes = fs::read(self.path("body.glb")).expect("the body");
        let body = triangles_from_glb("body.glb", &bytes).expect("a body that can be read");
        assert_eq!(report["written"]["triangles"], body.indices.len());
        assert_eq!(report["written"]["corners"], body.vertices.len());
        (report, body)
    }
}

pub(crate) fn f(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

pub(crate) fn area(surface: &Triangles) -> f64 {
    surface.each().map(|[a, b, c]| (b - a).cross(&(c - a)).norm() / 2.0).sum()
}

/// Corners and faces, as a format takes them.
pub(crate) struct Faces {
    pub(crate) corners: Vec<[f64; 3]>,
    pub(crate) faces: Vec<Vec<u32>>,
}

impl Faces {
    /// A box of six four-sided faces between two corners.
    pub(crate) fn cuboid(low: [f64; 3], high: [f64; 3]) -> Faces {
        let corner = |index: usize| {
            [0, 1, 2].map(|axis| if index >> axis & 1 == 1 { high[axis] } else { low[axis] })
        };
        let faces =
            [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
        Faces {
            corners: (0..8).map(corner).collect(),
            faces: faces.map(|face| face.to_vec()).to_vec(),
        }
    }

    /// A sheet of `n` × `n` squares, each cut in two.
    pub(crate) fn sheet(n: u32, corner: impl FnMut(u32, u32) -> [f64; 3]) -> Faces {
        let (corners, faces) = sheet(n, corner);
        Faces { corners, faces }
    }

    pub(crate) fn triangulated(&self) -> Faces {
        let fan = |face: &Vec<u32>| {
            let pairs: Vec<Vec<u32>> =
                face[1..].windows(2).map(|pair| vec![face[0], pair[0], pair[1]]).collect();
            pairs
        };
        Faces { corners: self.corners.clone(), faces: self.faces.iter().flat_map(fan).collect() }
    }

    pub(crate) fn obj(&self) -> String {
        let mut text = String::from("# a box\nmtllib missing.mtl\no thing\n");
        for [x, y, z] in &self.corners {
            text.push_str(&format!("v {x} {y} {z}\n"));
        }
        text.push_str("vn 0 0 1\n");
        for (index, face) in self.faces.iter().enumerate() {
            text.push('f');
            for corner in face {
                // As many ways of writing a corner as there are.
                let back = *corner as i64 - self.corners.len() as i64;
                text.push_str(&match index % 3 {
                    0 => format!(" {}", corner + 1),
                    1 => format!(" {}//1", corner + 1),
                    _ => format!(" {back}"),
                });
            }
            text.push('\n');
        }
        text
    }

    fn three(&self, face: &[u32]) -> [[f64; 3]; 3] {
        [0, 1, 2].map(|corner| self.corners[face[corner] as usize])
    }

    pub(crate) fn stl_text(&self) -> String {
        let mut text = String::from("solid\n");
        for face in &self.triangulated().faces {
            text.push_str("  facet normal 0 0 0\n    outer loop\n");
            for [x, y, z] in self.three(face) {
                text.push_str(&format!("      vertex {x:e} {y} {z}\n"));
            }
            text.push_str("    endloop\n  endfacet\n");
        }
        text + "endsolid\n"
    }

    pub(crate) fn stl_binary(&self) -> Vec<u8> {
        let faces = self.triangulated().faces;
        // The start that misleads many readers.
        let mut bytes = b"solid but binary".to_vec();
        bytes.resize(80, b' ');
        bytes.extend((faces.len() as u32).to_le_bytes());
        for face in &faces {
            bytes.extend([0; 12]);
            for value in self.three(face).iter().flatten() {
                bytes.extend((*value as f32).to_le_bytes());
            }
            bytes.extend([0; 2]);
        }
        bytes
    }

    fn ply_header(&self, format: &str) -> Vec<u8> {
        format!(
            "ply\nformat {format} 1.0\ncomment a box\nelement vertex {}\nproperty float x\n\
             property float y\nproperty float z\nproperty uchar red\nelement face {}\n\
             property list uchar int vertex_indices\nend_header\n",
            self.corners.len(),
            self.faces.len()
        )
        .into_bytes()
    }

    pub(crate) fn ply_text(&self) -> Vec<u8> {
        let mut bytes = self.ply_header("ascii");
        for [x, y, z] in &self.corners {
            bytes.extend(format!("{x} {y} {z} 200\n").into_bytes());
        }
        for face in &self.faces {
            let corners: Vec<String> = face.iter().map(u32::to_string).collect();
            bytes.extend(format!("{} {}\n", face.len(), corners.join(" ")).into_bytes());
        }
        bytes
    }

    pub(crate) fn ply_binary(&self, big: bool) -> Vec<u8> {
        let mut bytes =
            self.ply_header(if big { "binary_big_endian" } else { "binary_little_endian" });
        let word = |bytes: &mut Vec<u8>, value: u32| {
            bytes.extend(if big { value.to_be_bytes() } else { value.to_le_bytes() });
        };
        for corner in &self.corners {
            corner.iter().for_each(|value| word(&mut bytes, (*value as f32).to_bits()));
            bytes.push(200);
        }
        for face in &self.faces {
            bytes.push(face.len() as u8);
            face.iter().for_each(|corner| word(&mut bytes, *corner));
        }
        bytes
    }

    /// A GLB in the file's own frame: the corners are written as they are, as metres, Y up.
    pub(crate) fn glb(&self) -> Vec<u8> {
        let surface = Triangles {
            // Whoever writes our frame turns it; turn it back first.
            vertices: self.corners.iter().map(|&[x, y, z]| Point::new(z, x, y) * 1000.0).collect(),
            indices: self.triangulated().faces.iter().map(|f| [f[0], f[1], f[2]]).collect(),
        };
        dryberth::format::glb_from_triangles("scan.glb", "scan", &surface).expect("a GLB")
    }

    /// The same faces in every format, by file name.
    pub(crate) fn every_format(&self) -> Vec<(&'static str, Vec<u8>)> {
        vec![
            ("scan.obj", self.obj().into_bytes()),
            ("text.stl", self.stl_text().into_bytes()),
            ("scan.STL", self.stl_binary()),
            ("text.ply", self.ply_text()),
            ("little.ply", self.ply_binary(false)),
            ("big.ply", self.ply_binary(true)),
            ("scan.glb", self.glb()),
        ]
    }
}
