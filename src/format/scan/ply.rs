//! PLY, read by ply-rs-bw: text, binary of either byte order.

use ply_rs_bw::parser::{ParseError, Parser, Reader};
use ply_rs_bw::ply::{
    ElementDef, Encoding, Header, PropertyAccess, PropertyAccessResult, PropertyType, ScalarType,
};

use super::input::{Input, MOST_CORNERS, MOST_TRIANGLES, said};
use super::polygons::{MOST_SIDES, add_face};
use crate::format::error::FileError;
use crate::geometry::Triangles;

/// Every face of a PLY file, in its own coordinates.
pub(super) fn read(input: &mut Input) -> Result<Triangles, FileError> {
    let mut reader = Reader::new(&mut *input);
    let header = Parser::<Other>::new().read_header(&mut reader);
    let header = match header {
        Ok(header) => header,
        Err(error) => return failed(input, &error, "a PLY header from `ply` to `end_header`"),
    };
    known(input, &header)?;
    let mut reader = Reader::new(&mut *input);
    let mut vertices = Vec::new();
    let mut faces = Vec::new();
    let mut problem = None;
    for (name, element) in &header.elements {
        let read = match name.as_str() {
            "vertex" => Parser::<Vertex>::new()
                .read_payload_for_element(&mut reader, element, &header)
                .map(|read| vertices = read),
            "face" => Parser::<Face>::new()
                .read_payload_for_element(&mut reader, element, &header)
                .map(|read| faces = read),
            _ => Parser::<Other>::new()
                .read_payload_for_element(&mut reader, element, &header)
                .map(drop),
        };
        if let Err(error) = read {
            problem = Some(error);
            break;
        }
    }
    if let Some(error) = problem {
        return failed(input, &error, "as many elements as the header promises, as it says");
    }
    assemble(input, vertices, faces)
}

fn assemble(
    input: &Input,
    vertices: Vec<Vertex>,
    faces: Vec<Face>,
) -> Result<Triangles, FileError> {
    let mut found = Triangles {
        vertices: Vec::with_capacity(vertices.len()),
        indices: Vec::with_capacity(faces.len()),
    };
    for vertex in vertices {
        found.vertices.push(input.corner(vertex.0)?);
    }
    for face in faces {
        if let Some(&outside) =
            face.corners().iter().find(|&&corner| corner as usize >= found.vertices.len())
        {
            return input.fail(
                format!("a face with corner {outside} of {}", found.vertices.len()),
                "corner numbers within the list; export it again",
            );
        }
        if face.corners().len() > MOST_SIDES {
            return input.fail(
                format!("a face of {} corners", face.corners().len()),
                format!("at most {MOST_SIDES}; export as triangles"),
            );
        }
        add_face(&mut found, face.corners());
        input.not_too_many(found.indices.len())?;
    }
    input.sized(found)
}

fn failed<T>(input: &Input, error: &ParseError, expected: &str) -> Result<T, FileError> {
    // The lines of binary data are none.
    input.fail(format!("a PLY file that can't be read ({})", said(&error.to_string())), expected)
}

/// Refuses a header that can't be a mesh, or that promises more than the file can hold.
fn known(input: &Input, header: &Header) -> Result<(), FileError> {
    let Some(vertex) = header.elements.get("vertex") else {
        return input.fail("no vertices", "`element vertex` in the header");
    };
    for name in ["x", "y", "z"] {
        let scalar = vertex
            .properties
            .get(name)
            .is_some_and(|property| matches!(property.data_type, PropertyType::Scalar(_)));
        if !scalar {
            return input.fail(format!("vertices without `{name}`"), "x, y and z for each");
        }
    }
    if !header.elements.contains_key("face") {
        let expected = if header.elements.contains_key("tristrips") {
            "`element face`; export as triangles, not as strips"
        } else {
            "`element face`: a surface, not only points; export it as a mesh"
        };
        return input.fail("no faces", expected);
    }
    for (name, element) in &header.elements {
        let least = least_size(element, header.encoding);
        let most = if name == "face" { MOST_TRIANGLES } else { MOST_CORNERS };
        let count = element.count;
        if count > most {
            let name: String = name.chars().take(60).collect();
            return input.fail(
                format!("a header that promises {count} of `{name}`"),
                format!("at most {most}; reduce the mesh before export"),
            );
        }
        if (count as u64).saturating_mul(least) > input.size {
            let name: String = name.chars().take(60).collect();
            return input.fail(
                format!("a header that promises {count} of `{name}` in {} bytes", input.size),
                "the whole file; it was cut short, copy or export it again",
            );
        }
    }
    Ok(())
}

/// Fewest bytes that an element can take: at least one, so that a header can't promise nothing many
/// times over.
fn least_size(element: &ElementDef, encoding: Encoding) -> u64 {
    let size = |scalar: &ScalarType| match scalar {
        ScalarType::Char | ScalarType::UChar => 1,
        ScalarType::Short | ScalarType::UShort => 2,
        ScalarType::Int | ScalarType::UInt | ScalarType::Float => 4,
        ScalarType::Double => 8,
    };
    let properties = element.properties.iter().map(|(_, property)| match &property.data_type {
        _ if encoding == Encoding::Ascii => 1,
        PropertyType::Scalar(scalar) | PropertyType::List(scalar, _) => size(scalar),
    });
    properties.sum::<u64>().max(1)
}

/// A corner: 24 bytes.
struct Vertex([f64; 3]);

impl Vertex {
    fn set(&mut self, name: &str, value: f64) -> PropertyAccessResult {
        match name {
            "x" => self.0[0] = value,
            "y" => self.0[1] = value,
            "z" => self.0[2] = value,
            _ => return PropertyAccessResult::Ignored,
        }
        PropertyAccessResult::Set
    }
}

impl PropertyAccess for Vertex {
    fn new() -> Vertex {
        Vertex([f64::NAN; 3])
    }

    fn set_char(&mut self, name: &str, value: i8) -> PropertyAccessResult {
        self.set(name, f64::from(value))
    }

    fn set_uchar(&mut self, name: &str, value: u8) -> PropertyAccessResult {
        self.set(name, f64::from(value))
    }

    fn set_short(&mut self, name: &str, value: i16) -> PropertyAccessResult {
        self.set(name, f64::from(value))
    }

    fn set_ushort(&mut self, name: &str, value: u16) -> PropertyAccessResult {
        self.set(name, f64::from(value))
    }

    fn set_int(&mut self, name: &str, value: i32) -> PropertyAccessResult {
        self.set(name, f64::from(value))
    }

    fn set_uint(&mut self, name: &str, value: u32) -> PropertyAccessResult {
        self.set(name, f64::from(value))
    }

    fn set_float(&mut self, name: &str, value: f32) -> PropertyAccessResult {
        self.set(name, f64::from(value))
    }

    fn set_double(&mut self, name: &str, value: f64) -> PropertyAccessResult {
        self.set(name, value)
    }
}

/// A face's corners: 16 bytes for a triangle, and a list of their own for more.
enum Face {
    Triangle([u32; 3]),
    Polygon(Box<[u32]>),
}

impl Face {
    fn corners(&self) -> &[u32] {
        match self {
            Face::Triangle(corners) => corners,
            Face::Polygon(corners) => corners,
        }
    }

    fn set<T: Copy>(
        &mut self,
        name: &str,
        list: Vec<T>,
        number: impl Fn(T) -> Option<u32>,
    ) -> PropertyAccessResult {
        if name != "vertex_indices" && name != "vertex_index" {
            return PropertyAccessResult::Ignored;
        }
        // A negative number is no corner; it is refused as one that isn't there.
        let number = |value: &T| number(*value).unwrap_or(u32::MAX);
        *self = match list.as_slice() {
            [a, b, c] => Face::Triangle([number(a), number(b), number(c)]),
            all => Face::Polygon(all.iter().map(number).collect()),
        };
        PropertyAccessResult::Set
    }
}

impl PropertyAccess for Face {
    fn new() -> Face {
        Face::Polygon(Box::default())
    }

    fn set_list_char(&mut self, name: &str, list: Vec<i8>) -> PropertyAccessResult {
        self.set(name, list, |value| u32::try_from(value).ok())
    }

    fn set_list_uchar(&mut self, name: &str, list: Vec<u8>) -> PropertyAccessResult {
        self.set(name, list, |value| Some(u32::from(value)))
    }

    fn set_list_short(&mut self, name: &str, list: Vec<i16>) -> PropertyAccessResult {
        self.set(name, list, |value| u32::try_from(value).ok())
    }

    fn set_list_ushort(&mut self, name: &str, list: Vec<u16>) -> PropertyAccessResult {
        self.set(name, list, |value| Some(u32::from(value)))
    }

    fn set_list_int(&mut self, name: &str, list: Vec<i32>) -> PropertyAccessResult {
        self.set(name, list, |value| u32::try_from(value).ok())
    }

    fn set_list_uint(&mut self, name: &str, list: Vec<u32>) -> PropertyAccessResult {
        self.set(name, list, Some)
    }
}

/// An element that is read past.
struct Other;

impl PropertyAccess for Other {
    fn new() -> Other {
        Other
    }
}
