//! What a metric's value is, by its datatype (Sparkplug 3.0, 6.4.16).

use reading::Quality;

use crate::wire;

/// What a metric says.
#[derive(Debug, Clone, PartialEq)]
pub enum Said {
    /// A number; 1 and 0 for yes and no.
    Number(f64),
    /// A text.
    Text(String),
    /// That it has no value at present.
    Nothing,
}

/// The datatypes that decide how an integer is read. The other values speak for themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DataType {
    /// Two's complement in 8 bits.
    Int8,
    /// Two's complement in 16 bits.
    Int16,
    /// Two's complement in 32 bits.
    Int32,
    /// Two's complement in 64 bits.
    Int64,
    /// Any other: unsigned where it is an integer.
    Other,
}

impl DataType {
    /// The datatype with this number; `None` for "unknown" and for numbers that the standard does not have.
    #[must_use]
    pub fn from_number(number: u32) -> Option<Self> {
        Some(match number {
            1 => Self::Int8,
            2 => Self::Int16,
            3 => Self::Int32,
            4 => Self::Int64,
            5..=34 => Self::Other,
            _ => return None,
        })
    }
}

/// Reads the value of a metric.
///
/// # Errors
/// Why there is none that can be used, in words.
pub fn of(metric: &wire::Metric, datatype: Option<DataType>) -> Result<Said, String> {
    if metric.is_null == Some(true) {
        return Ok(Said::Nothing);
    }
    let number = match metric.value.as_ref().ok_or("it has neither a value nor the mark that it has none")? {
        wire::Value::Int(bits) => match datatype.ok_or("an integer without a datatype, here and in the birth")? {
            // Some write a small negative number in as many bits as it needs, some in 32: both end the same.
            DataType::Int8 => f64::from(*bits as i8),
            DataType::Int16 => f64::from(*bits as i16),
            DataType::Int32 => f64::from(*bits as i32),
            DataType::Int64 | DataType::Other => f64::from(*bits),
        },
        wire::Value::Long(bits) => match datatype.ok_or("an integer without a datatype, here and in the birth")? {
            DataType::Int8 | DataType::Int16 | DataType::Int32 | DataType::Int64 => *bits as i64 as f64,
            DataType::Other => *bits as f64,
        },
        wire::Value::Float(number) => shortest(*number),
        wire::Value::Double(number) => *number,
        wire::Value::Boolean(yes) => f64::from(u8::from(*yes)),
        wire::Value::Text(text) => return Ok(Said::Text(text.clone())),
        wire::Value::Bytes(_) | wire::Value::DataSet(_) | wire::Value::Template(_) => {
            return Err("bytes, arrays, data sets and templates are no measured value".into());
        }
    };
    if number.is_finite() { Ok(Said::Number(number)) } else { Err(format!("{number} is not a number")) }
}

/// A double with the fewest decimals that are this float again: a sensor's 72.4 stays 72.4, and does not become
/// 72.4000015258789 on its way into a store of doubles.
fn shortest(number: f32) -> f64 {
    number.to_string().parse().unwrap_or(f64::from(number))
}

/// What the node says of the metric's value: the property `Quality`, 192 good, 0 bad, 500 stale; good without one.
#[must_use]
pub fn quality(metric: &wire::Metric) -> Quality {
    let Some(properties) = &metric.properties else { return Quality::Good };
    let place = properties.keys.iter().position(|key| key.eq_ignore_ascii_case("quality"));
    match place.and_then(|place| properties.values.get(place)?.int_value) {
        None => Quality::Good,
        Some(code) => u8::try_from(code).map_or(Quality::Bad, Quality::from_code),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn metric(value: wire::Value) -> wire::Metric {
        wire::Metric { value: Some(value), ..wire::Metric::default() }
    }

    #[test]
    fn a_negative_integer_is_read_in_as_many_bits_as_its_datatype_has() {
        let read = |value, datatype| of(&metric(value), DataType::from_number(datatype));
        assert_eq!(read(wire::Value::Int(216), 1), Ok(Said::Number(-40.0)));
        assert_eq!(read(wire::Value::Int(65_496), 2), Ok(Said::Number(-40.0)));
        assert_eq!(read(wire::Value::Int(4_294_967_256), 1), Ok(Said::Number(-40.0)), "in 32 bits all the same");
        assert_eq!(read(wire::Value::Int(4_294_967_256), 3), Ok(Said::Number(-40.0)));
        assert_eq!(read(wire::Value::Int(4_294_967_256), 7), Ok(Said::Number(4_294_967_256.0)));
        assert_eq!(read(wire::Value::Long(u64::MAX), 4), Ok(Said::Number(-1.0)));
        assert_eq!(read(wire::Value::Long(1_800_000_000_000), 13), Ok(Said::Number(1.8e12)));
        assert!(read(wire::Value::Int(1), 0).is_err_and(|why| why.contains("without a datatype")));
    }

    #[test]
    fn a_float_keeps_the_decimals_that_it_was_sent_with() {
        assert_eq!(of(&metric(wire::Value::Float(72.4)), None), Ok(Said::Number(72.4)));
        assert!(of(&metric(wire::Value::Float(f32::NAN)), None).is_err());
    }

    #[test]
    fn null_is_nothing_and_a_missing_value_is_a_fault() {
        let null = wire::Metric { is_null: Some(true), ..wire::Metric::default() };
        assert_eq!(of(&null, None), Ok(Said::Nothing));
        assert!(of(&wire::Metric::default(), None).is_err());
        assert!(of(&metric(wire::Value::Bytes(vec![1])), None).is_err());
        assert_eq!(of(&metric(wire::Value::Boolean(true)), None), Ok(Said::Number(1.0)));
    }

    #[test]
    fn quality_is_a_property() {
        let with = |code| wire::Metric {
            properties: Some(wire::PropertySet {
                keys: vec!["engUnit".into(), "Quality".into()],
                values: vec![wire::PropertyValue::default(), wire::PropertyValue { int_value: Some(code) }],
            }),
            ..wire::Metric::default()
        };
        assert_eq!(quality(&wire::Metric::default()), Quality::Good);
        assert_eq!([192, 0, 500].map(|code| quality(&with(code))), [Quality::Good, Quality::Bad, Quality::Bad]);
    }
}
