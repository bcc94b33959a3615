//! A value of the model taken apart into the nodes of its text.

use serde::ser::{
    Error as _, Serialize, SerializeMap, SerializeSeq, SerializeStruct, SerializeStructVariant,
    SerializeTuple, SerializeTupleStruct, SerializeTupleVariant, Serializer,
};

use super::written::Node;

/// The nodes of a value; none when it holds a map, which no layout does.
pub(super) fn nodes_of<T: Serialize>(value: &T) -> Option<Node> {
    value.serialize(Writer).ok()
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
