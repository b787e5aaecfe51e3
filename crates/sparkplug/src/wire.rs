//! The protobuf messages of a Sparkplug B payload (Sparkplug 3.0, 6.4), as far as they are read here. Fields that are
//! left out are skipped by the decoder, as protobuf has it.

use prost::{Message, Oneof};

/// What every message but a host's state carries.
#[derive(Clone, PartialEq, Message)]
pub struct Payload {
    /// When it was sent, ms since 1970 (UTC).
    #[prost(uint64, optional, tag = "1")]
    pub timestamp: Option<u64>,
    /// Its metrics.
    #[prost(message, repeated, tag = "2")]
    pub metrics: Vec<Metric>,
    /// 0 to 255, one more with each message of the node; absent in a node's death.
    #[prost(uint64, optional, tag = "3")]
    pub seq: Option<u64>,
}

/// One metric: a value, or what a birth says of it.
#[derive(Clone, PartialEq, Message)]
pub struct Metric {
    /// Its name; may be absent where the alias stands for it.
    #[prost(string, optional, tag = "1")]
    pub name: Option<String>,
    /// The number that stands for the name until the next birth.
    #[prost(uint64, optional, tag = "2")]
    pub alias: Option<u64>,
    /// When it was measured, ms since 1970 (UTC).
    #[prost(uint64, optional, tag = "3")]
    pub timestamp: Option<u64>,
    /// See [`DataType`](crate::value::DataType); always there in a birth.
    #[prost(uint32, optional, tag = "4")]
    pub datatype: Option<u32>,
    /// It tells what was, not what is.
    #[prost(bool, optional, tag = "5")]
    pub is_historical: Option<bool>,
    /// It has no value at present.
    #[prost(bool, optional, tag = "7")]
    pub is_null: Option<bool>,
    /// More about it; its quality for example.
    #[prost(message, optional, tag = "9")]
    pub properties: Option<PropertySet>,
    /// The value.
    #[prost(oneof = "Value", tags = "10, 11, 12, 13, 14, 15, 16, 17, 18")]
    pub value: Option<Value>,
}

/// A value in the form in which it travels. What it means, the datatype says.
#[derive(Clone, PartialEq, Oneof)]
pub enum Value {
    /// Integers up to 32 bits; negative ones as their two's complement.
    #[prost(uint32, tag = "10")]
    Int(u32),
    /// Integers of 64 bits, and times in ms since 1970.
    #[prost(uint64, tag = "11")]
    Long(u64),
    /// A number.
    #[prost(float, tag = "12")]
    Float(f32),
    /// A number.
    #[prost(double, tag = "13")]
    Double(f64),
    /// Yes or no.
    #[prost(bool, tag = "14")]
    Boolean(bool),
    /// A text.
    #[prost(string, tag = "15")]
    Text(String),
    /// Bytes, files and arrays: no measured value.
    #[prost(bytes = "vec", tag = "16")]
    Bytes(Vec<u8>),
    /// A table: no measured value, not read.
    #[prost(message, tag = "17")]
    DataSet(Unread),
    /// A structure: no measured value, not read.
    #[prost(message, tag = "18")]
    Template(Unread),
}

/// A message whose content is skipped.
#[derive(Clone, PartialEq, Message)]
pub struct Unread {}

/// Properties by their names: two lists of equal length.
#[derive(Clone, PartialEq, Message)]
pub struct PropertySet {
    /// The names.
    #[prost(string, repeated, tag = "1")]
    pub keys: Vec<String>,
    /// Their values.
    #[prost(message, repeated, tag = "2")]
    pub values: Vec<PropertyValue>,
}

/// The value of a property, as far as one is read here.
#[derive(Clone, PartialEq, Message)]
pub struct PropertyValue {
    /// An integer up to 32 bits.
    #[prost(uint32, optional, tag = "3")]
    pub int_value: Option<u32>,
}
