//! OBJ, read by tobj. Colours, normals and material files are left alone.

use super::input::{Input, MOST_CORNERS};
use super::polygons::{MOST_SIDES, add_face};
use crate::format::error::FileError;
use crate::geometry::Triangles;

/// Every face of an OBJ file, in its own coordinates.
pub(super) fn read(input: &mut Input) -> Result<Triangles, FileError> {
    let options = tobj::LoadOptions {
        triangulate: false,
        ignore_points: true,
        ignore_lines: true,
        ..tobj::LoadOptions::default()
    };
    // Nothing but the file itself is opened.
    let no_materials = |_: &std::path::Path| Err(tobj::LoadError::OpenFileFailed);
    let (models, _) = match tobj::load_obj_buf(input, &options, no_materials) {
        Ok(read) => read,
        Err(error) => {
            return input.fail_here(
                format!("a line of an OBJ file that can't be read ({error})"),
                "`v x y z` with numbers and `f` with corners listed before it",
            );
        }
    };
    let mut found = Triangles::default();
    for model in models {
        let mesh = model.mesh;
        let first = found.vertices.len();
        if first + mesh.positions.len() / 3 > MOST_CORNERS {
            return input.fail(
                format!("more than {MOST_CORNERS} corners"),
                "a simpler mesh; reduce it before export",
            );
        }
        for at in mesh.positions.chunks_exact(3) {
            found.vertices.push(input.corner([at[0], at[1], at[2]])?);
        }
        let numbers: Vec<u32> = mesh.indices.iter().map(|&corner| corner + first as u32).collect();
        if let Some(outside) = numbers.iter().find(|&&one| one as usize >= found.vertices.len()) {
            return input.fail(format!("corner {outside}"), "corners that the file lists");
        }
        if mesh.face_arities.is_empty() {
            input.not_too_many(found.indices.len() + numbers.len() / 3)?;
            found
                .indices
                .extend(numbers.chunks_exact(3).map(|three| [three[0], three[1], three[2]]));
            continue;
        }
        let mut rest = numbers.as_slice();
        for sides in mesh.face_arities {
            let sides = sides as usize;
            if sides > MOST_SIDES {
                return input.fail(
                    format!("a face of {sides} corners"),
                    format!("at most {MOST_SIDES}; export as triangles"),
                );
            }
            let (face, after) = rest.split_at(sides.min(rest.len()));
            add_face(&mut found, face);
            rest = after;
            input.not_too_many(found.indices.len())?;
        }
    }
    input.sized(found)
}
