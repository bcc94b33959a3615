//! A value of the model as RON text, laid out as a person would.
//!
//! The `ron` crate writes a whole file in one style; here a part of one is written, in the style of
//! the layouts by hand, and two values can be compared part by part.

use serde::ser::{
    Error as _, Serialize, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant,
    SerializeTuple, SerializeTupleStruct, SerializeTupleVariant, Serializer,
};

/// Columns that a line may take before it is broken.
const WIDE: usize = 100;

/// A value as text parts.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Node {
    /// A number, a quoted text, a word.
    Word(String),
    /// Named fields in brackets, with the variant's name before them if it has one.
    Record(Option<&'static str>, Vec<(&'static str, Node)>),
    /// Values in round brackets.
    Tuple(Option<&'static str>, Vec<Node>),
    /// Values in square brackets.
    List(Vec<Node>),
    /// A value left out.
    Nothing,
}

impl Node {
    /// The parts of a value; none when it holds a map, which no layout does.
    pub(super) fn of<T: Serialize>(value: &T) -> Option<Node> {
        value.serialize(Writer).ok()
    }

    /// The name of a thing in a list, quoted.
    pub(super) fn name(&self) -> Option<&str> {
        let Node::Record(_, fields) = self else { return None };
        fields.iter().find_map(|(field, value)| match value {
            Node::Word(word) if *field == "name" => Some(word.as_str()),
            _ => None,
        })
    }

    /// Without the fields that say nothing: what is left out reads back as the same.
    pub(super) fn sparse(&self) -> Node {
        match self {
            Node::Record(name, fields) => {
                let body = fields.iter().any(|(field, _)| *field == "shape");
                let kept = fields
                    .iter()
                    .filter(|(field, value)| !says_nothing(field, value, body))
                    .map(|(field, value)| (*field, value.sparse()))
                    .collect();
                Node::Record(*name, kept)
            }
            Node::Tuple(name, items) => {
                Node::Tuple(*name, items.iter().map(Node::sparse).collect())
            }
            Node::List(items) => Node::List(items.iter().map(Node::sparse).collect()),
            other => other.clone(),
        }
    }

    /// The text, for a place that is `indent` columns in.
    pub(super) fn text(&self, indent: usize) -> String {
        let flat = self.flat();
        if flat.chars().count() + indent <= WIDE {
            return flat;
        }
        let inner = indent + 4;
        let pad = " ".repeat(inner);
        match self {
            Node::Record(name, fields) => {
                let parts: Vec<String> = fields
                    .iter()
                    .map(|(field, value)| format!("{field}: {}", value.text(inner)))
                    .collect();
                format!("{}({})", name.unwrap_or_default(), parts.join(&format!(",\n{pad}")))
            }
            Node::List(items) => {
                let parts: String =
                    items.iter().map(|item| format!("\n{pad}{},", item.text(inner))).collect();
                format!("[{parts}\n{}]", " ".repeat(indent))
            }
            _ => flat,
        }
    }

    fn flat(&self) -> String {
        match self {
            Node::Word(word) => word.clone(),
            Node::Record(name, fields) => {
                let parts: Vec<String> = fields
                    .iter()
                    .map(|(field, value)| format!("{field}: {}", value.flat()))
                    .collect();
                format!("{}({})", name.unwrap_or_default(), parts.join(", "))
            }
            Node::Tuple(name, items) => {
                format!("{}({})", name.unwrap_or_default(), joined(items))
            }
            Node::List(items) => format!("[{}]", joined(items)),
            Node::Nothing => "None".to_string(),
        }
    }
}

fn joined(items: &[Node]) -> String {
    items.iter().map(Node::flat).collect::<Vec<_>>().join(", ")
}

/// Whether a field may be left out: nothing, an empty text or list, `false`, or a body's place when it
/// stands where it was measured.
fn says_nothing(field: &str, value: &Node, body: bool) -> bool {
    match value {
        Node::Nothing => true,
        Node::Word(word) => word == "\"\"" || word == "false",
        Node::List(items) => items.is_empty(),
        Node::Record(None, fields) if body && field == "place" => {
            fields.iter().all(|(_, part)| match part {
                Node::Tuple(None, items) => {
                    items.iter().all(|item| matches!(item, Node::Word(word) if word == "0"))
                }
                _ => false,
            })
        }
        Node::Record(None, fields) if field == "turn_deg" => fields.is_empty(),
        Node::Tuple(None, items) if field == "turn_deg" => {
            items.iter().all(|item| matches!(item, Node::Word(word) if word == "0"))
        }
        _ => false,
    }
}

/// A text in quotes, with what RON needs escaped.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            '\n' => out.push_str("\\n"),
            '\r' => out.push_str("\\r"),
            '\t' => out.push_str("\\t"),
            control if control.is_control() => {
                out.push_str(&format!("\\u{{{:x}}}", u32::from(control)));
            }
            other => out.push(other),
        }
    }
    out.push('"');
    out
}

/// Turns a value into its parts.
struct Writer;

/// The wrapped error says nothing: a value that can't be written is not written at all.
#[derive(Debug)]
struct Unwritten;

impl std::fmt::Display for Unwritten {
    fn fmt(&self, to: &mut std::fmt::Formatter) -> std::fmt::Result {
        to.write_str("a value that no layout holds")
    }
}

impl std::error::Error for Unwritten {}

impl serde::ser::Error for Unwritten {
    fn custom<T: std::fmt::Display>(_: T) -> Self {
        Unwritten
    }
}

/// The parts of a list, tuple or record while they come in.
struct Parts {
    variant: Option<&'static str>,
    list: bool,
    items: Vec<Node>,
    fields: Vec<(&'static str, Node)>,
}

impl Parts {
    fn new(variant: Option<&'static str>, list: bool) -> Parts {
        Parts { variant, list, items: Vec::new(), fields: Vec::new() }
    }

    fn take<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Unwritten> {
        self.items.push(value.serialize(Writer)?);
        Ok(())
    }

    fn take_field<T: Serialize + ?Sized>(
        &mut self,
        field: &'static str,
        value: &T,
    ) -> Result<(), Unwritten> {
        self.fields.push((field, value.serialize(Writer)?));
        Ok(())
    }

    fn items(self) -> Node {
        if self.list { Node::List(self.items) } else { Node::Tuple(self.variant, self.items) }
    }

    fn fields(self) -> Node {
        Node::Record(self.variant, self.fields)
    }
}

macro_rules! words {
    ($($method:ident: $kind:ty),* $(,)?) => {
        $(fn $method(self, value: $kind) -> Result<Node, Unwritten> {
            Ok(Node::Word(value.to_string()))
        })*
    };
}

impl Serializer for Writer {
    type Ok = Node;
    type Error = Unwritten;
    type SerializeSeq = Parts;
    type SerializeTuple = Parts;
    type SerializeTupleStruct = Parts;
    type SerializeTupleVariant = Parts;
    type SerializeMap = NoMap;
    type SerializeStruct = Parts;
    type SerializeStructVariant = Parts;

    words! {
        serialize_bool: bool, serialize_i8: i8, serialize_i16: i16, serialize_i32: i32,
        serialize_i64: i64, serialize_u8: u8, serialize_u16: u16, serialize_u32: u32,
        serialize_u64: u64,
    }

    fn serialize_f32(self, value: f32) -> Result<Node, Unwritten> {
        self.serialize_f64(f64::from(value))
    }

    /// The shortest text that reads back as the same number.
    fn serialize_f64(self, value: f64) -> Result<Node, Unwritten> {
        Ok(Node::Word(format!("{}", value + 0.0)))
    }

    fn serialize_char(self, value: char) -> Result<Node, Unwritten> {
        Ok(Node::Word(format!("{value:?}")))
    }

    fn serialize_str(self, value: &str) -> Result<Node, Unwritten> {
        Ok(Node::Word(quoted(value)))
    }

    fn serialize_bytes(self, _: &[u8]) -> Result<Node, Unwritten> {
        Err(Unwritten::custom(""))
    }

    fn serialize_none(self) -> Result<Node, Unwritten> {
        Ok(Node::Nothing)
    }

    fn serialize_some<T: Serialize + ?Sized>(self, value: &T) -> Result<Node, Unwritten> {
        value.serialize(self)
    }

    fn serialize_unit(self) -> Result<Node, Unwritten> {
        Ok(Node::Tuple(None, Vec::new()))
    }

    fn serialize_unit_struct(self, _: &'static str) -> Result<Node, Unwritten> {
        self.serialize_unit()
    }

    fn serialize_unit_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
    ) -> Result<Node, Unwritten> {
        Ok(Node::Word(variant.to_string()))
    }

    fn serialize_newtype_struct<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        value: &T,
    ) -> Result<Node, Unwritten> {
        value.serialize(self)
    }

    /// Written without a second pair of brackets, as `UNWRAP_VARIANT_NEWTYPES` reads it.
    fn serialize_newtype_variant<T: Serialize + ?Sized>(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        value: &T,
    ) -> Result<Node, Unwritten> {
        Ok(match value.serialize(self)? {
            Node::Record(None, fields) => Node::Record(Some(variant), fields),
            other => Node::Tuple(Some(variant), vec![other]),
        })
    }

    fn serialize_seq(self, _: Option<usize>) -> Result<Parts, Unwritten> {
        Ok(Parts::new(None, true))
    }

    fn serialize_tuple(self, _: usize) -> Result<Parts, Unwritten> {
        Ok(Parts::new(None, false))
    }

    fn serialize_tuple_struct(self, _: &'static str, _: usize) -> Result<Parts, Unwritten> {
        Ok(Parts::new(None, false))
    }

    fn serialize_tuple_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Parts, Unwritten> {
        Ok(Parts::new(Some(variant), false))
    }

    fn serialize_map(self, _: Option<usize>) -> Result<NoMap, Unwritten> {
        Err(Unwritten)
    }

    fn serialize_struct(self, _: &'static str, _: usize) -> Result<Parts, Unwritten> {
        Ok(Parts::new(None, false))
    }

    fn serialize_struct_variant(
        self,
        _: &'static str,
        _: u32,
        variant: &'static str,
        _: usize,
    ) -> Result<Parts, Unwritten> {
        Ok(Parts::new(Some(variant), false))
    }
}

macro_rules! takes_items {
    ($($kind:ident: $method:ident),* $(,)?) => {
        $(impl $kind for Parts {
            type Ok = Node;
            type Error = Unwritten;

            fn $method<T: Serialize + ?Sized>(&mut self, value: &T) -> Result<(), Unwritten> {
                self.take(value)
            }

            fn end(self) -> Result<Node, Unwritten> {
                Ok(self.items())
            }
        })*
    };
}

takes_items! {
    SerializeSeq: serialize_element,
    SerializeTuple: serialize_element,
    SerializeTupleStruct: serialize_field,
    SerializeTupleVariant: serialize_field,
}

macro_rules! takes_fields {
    ($($kind:ident),*) => {
        $(impl $kind for Parts {
            type Ok = Node;
            type Error = Unwritten;

            fn serialize_field<T: Serialize + ?Sized>(
                &mut self,
                field: &'static str,
                value: &T,
            ) -> Result<(), Unwritten> {
                self.take_field(field, value)
            }

            fn end(self) -> Result<Node, Unwritten> {
                Ok(self.fields())
            }
        })*
    };
}

takes_fields!(SerializeStruct, SerializeStructVariant);

/// No layout holds a map.
enum NoMap {}

impl SerializeMap for NoMap {
    type Ok = Node;
    type Error = Unwritten;

    fn serialize_key<T: Serialize + ?Sized>(&mut self, _: &T) -> Result<(), Unwritten> {
        Err(Unwritten)
    }

    fn serialize_value<T: Serialize + ?Sized>(&mut self, _: &T) -> Result<(), Unwritten> {
        Err(Unwritten)
    }

    fn end(self) -> Result<Node, Unwritten> {
        Err(Unwritten)
    }
}
