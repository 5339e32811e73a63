//! Shapes as text, with figures that are read back as the very same `f64`.
//!
//! A length in millimetres has the shortest decimal that names it. In other units the millimetre figure over the unit has
//! no end, so digits are added until the text, read exactly and rounded once, is that figure again.

use core::fmt::Write;

use super::shape::{ShapeFile, ShapeFormat};
use super::table;
use crate::centreline::NodeId;
use crate::units::{self, Angle, Length, LengthUnit};

/// A bend of more than 175 degrees has no corner, so the shape cannot be written as nodes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "node {0} lies at a bend of more than 175 degrees, which has no corner point: such a shape can be given by rows only"
)]
pub struct NoCorner(pub NodeId);

/// The nodes of a shape as a file.
///
/// # Errors
///
/// [`NoCorner`] where a bend has no corner point.
pub fn write_nodes(shape: &ShapeFile, format: ShapeFormat, units: LengthUnit) -> Result<String, NoCorner> {
    let mut out = match format {
        ShapeFormat::Yaml => head(shape, "nodes", units),
        ShapeFormat::Csv => {
            let unit = units.name();
            format!("node,x_{unit},y_{unit},z_{unit}\n")
        }
    };
    for (place, (name, node)) in shape.names.iter().zip(&shape.centreline.nodes).enumerate() {
        let node = node.ok_or(NoCorner(NodeId(place)))?;
        let [x, y, z] = [node.x, node.y, node.z].map(|mm| length(Length::mm(mm), units));
        let _ = match format {
            ShapeFormat::Yaml => writeln!(out, "  {}: [{x}, {y}, {z}]", word(name)),
            ShapeFormat::Csv => writeln!(out, "{},{x},{y},{z}", table::written(name)),
        };
    }
    Ok(out)
}

/// The rows of a shape as a file. Nodes that are passed straight through have no row.
#[must_use]
pub fn write_rows(shape: &ShapeFile, format: ShapeFormat, units: LengthUnit) -> String {
    let mut out = match format {
        ShapeFormat::Yaml => head(shape, "rows", units),
        ShapeFormat::Csv => format!("length_{},rotation_deg,bend_deg\n", units.name()),
    };
    for (number, row) in shape.centreline.rows.bends.iter().enumerate() {
        let (straight, bend) = (length(row.length, units), degrees(row.angle));
        let turn = (number > 0).then(|| degrees(row.rotation));
        let _ = match (format, turn) {
            (ShapeFormat::Yaml, None) => writeln!(out, "  - {{ length: {straight}, bend: {bend} }}"),
            (ShapeFormat::Yaml, Some(turn)) => {
                writeln!(out, "  - {{ length: {straight}, rotation: {turn}, bend: {bend} }}")
            }
            (ShapeFormat::Csv, turn) => writeln!(out, "{straight},{},{bend}", turn.unwrap_or_default()),
        };
    }
    let last = length(shape.centreline.rows.last, units);
    let _ = match format {
        ShapeFormat::Yaml => writeln!(out, "  - {{ length: {last} }}"),
        ShapeFormat::Csv => writeln!(out, "{last},,"),
    };
    out
}

fn head(shape: &ShapeFile, kind: &str, units: LengthUnit) -> String {
    let mut out = format!("kind: {kind}\nunits: {}\n", units.name());
    if let Some(clr) = shape.clr {
        let _ = writeln!(out, "clr: {}", length(clr, units));
    }
    let _ = writeln!(out, "{kind}:");
    out
}

/// A name as YAML: plain where nothing else could be meant, else in double quotes.
#[must_use]
pub(super) fn word(name: &str) -> String {
    let plain = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '-' | '_' | ' ');
    let first = name.starts_with(|letter: char| letter.is_ascii_alphabetic());
    let taken = ["true", "false", "null", "yes", "no", "on", "off", "y", "n"];
    if first && name.chars().all(plain) && name.trim() == name && !taken.contains(&name.to_ascii_lowercase().as_str()) {
        return name.to_owned();
    }
    format!("\"{}\"", name.replace('\\', "\\\\").replace('"', "\\\""))
}

/// A length in a unit, as the shortest decimal that is read back as the same millimetres.
#[must_use]
pub(super) fn length(length: Length, unit: LengthUnit) -> String {
    let mm = length.to_mm() + 0.0;
    if unit == LengthUnit::Mm {
        return format!("{mm}");
    }
    // 40 decimals of a unit are far below the rounding of any length that is taken.
    let exact = divided(&format!("{:.60}", mm.abs()), unit.tenths_of_mm());
    let sign = if mm < 0.0 { "-" } else { "" };
    let same = |text: &String| units::length(text, unit).is_ok_and(|read| read.to_mm().to_bits() == mm.to_bits());
    let found = (0..=40).map(|decimals| format!("{sign}{}", rounded(&exact, decimals))).find(same);
    found.unwrap_or_else(|| format!("{}", length.to(unit)))
}

/// An angle in degrees, as the shortest decimal that is read back as the same radians, where there is one.
#[must_use]
pub(super) fn degrees(angle: Angle) -> String {
    let value = angle.to_deg() + 0.0;
    let same = |degrees: f64| Angle::deg(degrees).to_rad().to_bits() == (angle.to_rad() + 0.0).to_bits();
    let mut short = (0..=12).map(|decimals| format!("{value:.decimals$}"));
    if let Some(text) = short.find(|text| text.parse().is_ok_and(same)) {
        return if text == "-0" { "0".to_owned() } else { text };
    }
    let near = [value, value.next_up(), value.next_down(), value.next_up().next_up(), value.next_down().next_down()];
    format!("{}", near.into_iter().find(|degrees| same(*degrees)).unwrap_or(value))
}

/// Digits of a decimal, times ten and over a whole number: 50 decimals, cut off.
fn divided(decimal: &str, by: u32) -> String {
    let (whole, part) = decimal.split_once('.').unwrap_or((decimal, ""));
    // Times ten: the point moves on by one digit.
    let digits = whole.bytes().chain(part.bytes()).chain(core::iter::repeat(b'0'));
    let point = whole.len() + 1;
    let mut out = String::new();
    let mut left = 0;
    for (place, digit) in digits.take(point + 50).enumerate() {
        if place == point {
            out.push('.');
        }
        left = left * 10 + u32::from(digit - b'0');
        out.push(char::from(b'0' + (left / by) as u8));
        left %= by;
    }
    out.trim_start_matches('0').to_owned()
}

/// A decimal without sign to so many decimals, halves up.
fn rounded(decimal: &str, decimals: usize) -> String {
    let (whole, part) = decimal.split_once('.').unwrap_or((decimal, ""));
    let mut digits: Vec<u8> = whole.bytes().chain(part.bytes().take(decimals)).collect();
    if part.as_bytes().get(decimals).is_some_and(|digit| *digit >= b'5') {
        let mut place = digits.len();
        loop {
            if place == 0 {
                digits.insert(0, b'1');
                break;
            }
            place -= 1;
            if digits[place] != b'9' {
                digits[place] += 1;
                break;
            }
            digits[place] = b'0';
        }
    }
    let text: String = digits.into_iter().map(char::from).collect();
    let point = text.len() - decimals.min(part.len());
    let (whole, part) = text.split_at(point);
    let whole = if whole.is_empty() { "0" } else { whole };
    let part = part.trim_end_matches('0');
    if part.is_empty() { whole.to_owned() } else { format!("{whole}.{part}") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_read_back_to_the_last_bit() {
        let mut seed = 1_u64;
        for _ in 0..2000 {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let mm = Length::mm((seed >> 11) as f64 / (1_u64 << 40) as f64 - 4000.0);
            for unit in LengthUnit::ALL {
                let text = length(mm, unit);
                assert_eq!(
                    units::length(&text, unit).map(|read| read.to_mm().to_bits()),
                    Ok(mm.to_mm().to_bits()),
                    "{text}"
                );
            }
        }
    }

    #[test]
    fn round_figures_stay_round() {
        assert_eq!(length(Length::mm(44.45), LengthUnit::Inch), "1.75");
        assert_eq!(length(Length::mm(-1130.3), LengthUnit::Inch), "-44.5");
        assert_eq!(length(Length::mm(304.8), LengthUnit::Foot), "1");
        assert_eq!(length(Length::mm(-0.0), LengthUnit::Mm), "0");
        assert_eq!(length(Length::ZERO, LengthUnit::M), "0");
        assert_eq!(length(Length::mm(25.3999), LengthUnit::Cm), "2.53999");
        assert_eq!(degrees(Angle::deg(22.5)), "22.5");
        assert_eq!(degrees(Angle::deg(-90.0)), "-90");
        assert_eq!(degrees(Angle::rad(core::f64::consts::PI)), "180");
    }

    #[test]
    fn angles_are_read_back_to_the_last_bit_or_within_it() {
        let mut seed = 7_u64;
        for _ in 0..2000 {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let angle = Angle::rad((seed >> 11) as f64 / (1_u64 << 53) as f64 * 6.2 - 3.1);
            let read = Angle::deg(units::number(&degrees(angle)).unwrap());
            assert!((read.to_rad() - angle.to_rad()).abs() <= angle.to_rad().abs() * 3e-16);
        }
    }

    #[test]
    fn names_are_quoted_where_yaml_would_read_them_otherwise() {
        assert_eq!(word("knee-left"), "knee-left");
        assert_eq!(word("upper arm"), "upper arm");
        for (name, wanted) in
            [("7", "\"7\""), ("true", "\"true\""), ("a: b", "\"a: b\""), ("say \"ah\\\"", "\"say \\\"ah\\\\\\\"\"")]
        {
            assert_eq!(word(name), wanted);
        }
    }
}
