use proptest::prelude::*;
use proptest::test_runner::RngSeed;

use super::*;

fn mm(text: &str, bare: LengthUnit) -> f64 {
    length(text, bare).unwrap().to_mm()
}

/// The part of the text that is pointed at, and the reason.
fn refused(text: &str) -> (String, String) {
    let refusal = length(text, LengthUnit::Inch).unwrap_err();
    (text[refusal.at].to_owned(), refusal.reason)
}

#[test]
#[expect(clippy::float_cmp, reason = "the nearest f64 is promised")]
fn every_form_of_the_file_format_is_read_to_the_nearest_f64() {
    for (text, bare, wanted) in [
        ("44 1/2", LengthUnit::Inch, 1130.3),
        ("44-1/2", LengthUnit::Inch, 1130.3),
        ("44 1/2\"", LengthUnit::Mm, 1130.3),
        ("44 1/2 in", LengthUnit::Mm, 1130.3),
        ("3' 8 1/2\"", LengthUnit::Mm, 1130.3),
        ("3'-8 1/2\"", LengthUnit::Mm, 1130.3),
        ("3'8.5\"", LengthUnit::Mm, 1130.3),
        ("3'", LengthUnit::Mm, 914.4),
        ("3 ft", LengthUnit::Mm, 914.4),
        ("1130 mm", LengthUnit::Inch, 1130.0),
        ("1130mm", LengthUnit::Inch, 1130.0),
        ("113 cm", LengthUnit::Inch, 1130.0),
        ("1.13 m", LengthUnit::Inch, 1130.0),
        ("44.5 in", LengthUnit::Mm, 1130.3),
        ("  44.5  ", LengthUnit::Inch, 1130.3),
        ("1 3/4", LengthUnit::Inch, 44.45),
        ("1/3 ft", LengthUnit::Mm, 101.6),
        ("5/4", LengthUnit::Inch, 31.75),
        ("0 1/2", LengthUnit::Inch, 12.7),
        ("0.1", LengthUnit::M, 100.0),
        (".5", LengthUnit::Mm, 0.5),
        ("5.", LengthUnit::Mm, 5.0),
        ("1e3", LengthUnit::Mm, 1000.0),
        ("1.5E-03 m", LengthUnit::Mm, 1.5),
        ("6.123233995736766e-17", LengthUnit::Mm, 6.123_233_995_736_766e-17),
        ("1e-400", LengthUnit::Inch, 0.0),
        ("0.1000000000000000055511151231257827021181583404541015625", LengthUnit::Mm, 0.1),
        ("-3 1/2", LengthUnit::Inch, -88.9),
        ("-3-1/2\"", LengthUnit::Inch, -88.9),
        ("-3' 6\"", LengthUnit::Mm, -1066.8),
        ("+2", LengthUnit::Mm, 2.0),
    ] {
        assert_eq!(mm(text, bare), wanted, "{text}");
    }
}

#[test]
fn minus_nothing_is_nothing() {
    for text in ["-0", "-0.0", "-0/4", "-1e-400", "-0'"] {
        assert!(mm(text, LengthUnit::Inch).is_sign_positive(), "{text}");
    }
    assert!(number("-0").unwrap().is_sign_positive());
}

#[test]
fn every_refusal_points_at_the_fault() {
    for (text, at, reason) in [
        ("", "", "empty"),
        ("   ", "", "empty"),
        ("3 5/4\"", "5/4", "below 1"),
        ("3 4/4\"", "4/4", "below 1"),
        ("7' 13\"", "13", "below 12"),
        ("7' 12\"", "12", "below 12"),
        ("7' 3 mm", "m", "need their mark"),
        ("7' 3", "", "need their mark"),
        ("1/0", "0", "0 below the line"),
        ("2 1/0", "0", "0 below the line"),
        ("1/", "", "below the line"),
        ("1/2/3", "/", "whole numbers"),
        ("1/2.5", ".", "whole numbers"),
        ("1.5/2", "1.5", "whole numbers"),
        ("1.5 1/2", "1/2", "not whole"),
        ("1 2", "2", "second figure"),
        ("1 - 2", "-", "middle"),
        ("44 -1/2", "-", "middle"),
        ("44--1/2", "-", "dash"),
        ("44-1", "-1", "dash"),
        ("nan", "nan", "not a number"),
        (".NaN", ".NaN", "not a number"),
        (".inf", ".inf", "infinity"),
        ("-Infinity", "Infinity", "infinity"),
        ("1e400", "1e400", "too long"),
        ("1e13 mm", "1e13 mm", "too long"),
        ("1e", "e", "exponent"),
        ("12 mm mm", "mm", "second unit"),
        ("3 ft 8 in", "8", "second figure"),
        ("12 in\"", "\"", "second unit"),
        ("12''", "''", "two marks"),
        ("1\" 2\"", "2", "second figure"),
        ("12 mm.", ".", "not part"),
        ("12 furlong", "furlong", "not a unit"),
        ("12 MM", "MM", "not a unit"),
        ("44,5", ",", "comma"),
        (",5", ",", "comma"),
        ("1,130 mm", ",", "comma"),
        ("0x1F", "0x1F", "decimal"),
        ("1_000", "_", "underscore"),
        ("007", "007", "octal"),
        ("00", "00", "octal"),
        ("- 3", "-", "sign"),
        ("--3", "-", "two signs"),
        ("90°", "°", "angles"),
        ("44½", "½", "misread"),
        ("½", "½", "misread"),
        ("8″", "″", "misread"),
        ("3′ 8″", "′", "misread"),
        ("abc", "abc", "expected"),
        ("'", "'", "expected"),
        ("1.5' 6\"", "1.5", "whole"),
        ("123456789012345/7", "123456789012345", "too many digits"),
        ("123456789012 1/999999999999", "123456789012 1/999999999999", "more digits"),
        (
            "1' 0.00000000000000000000000000000000000000001\"",
            "0.00000000000000000000000000000000000000001",
            "more digits",
        ),
    ] {
        let (found_at, found) = refused(text);
        assert_eq!(found_at, at, "{text}: {found}");
        assert!(found.contains(reason), "{text}: {found}");
    }
}

#[test]
fn a_decimal_comma_gets_a_hint() {
    let refusal = length("44,5", LengthUnit::Mm).unwrap_err();
    assert!(refusal.way_out.unwrap().contains("point"));
}

#[test]
#[expect(clippy::float_cmp, reason = "the nearest f64 is promised")]
fn numbers_are_plain_decimals() {
    assert_eq!(number("93.5"), Ok(93.5));
    assert_eq!(number(" -1e-3 "), Ok(-0.001));
    assert_eq!(number("1e-999999999999").unwrap(), 0.0);
    assert!(number("1e999").unwrap_err().reason.contains("large"));
    assert!(number("45 deg").is_err());
    assert!(number("45°").unwrap_err().way_out.is_some());
    assert!(number("1/2").is_err());
}

#[test]
#[expect(clippy::float_cmp, reason = "half a turn has one name, to the last bit")]
fn half_a_turn_is_180_and_nothing_lies_above() {
    for degrees in [180.0, -180.0, 540.0, -540.0, 179.999_999_999_999_9, -180.000_000_000_000_1] {
        assert_eq!(Angle::deg(degrees).wrapped().to_deg().max(180.0), 180.0, "{degrees}");
    }
    assert_eq!(Angle::deg(-180.0 + 1e-12).wrapped().to_deg(), 180.0);
    approx::assert_relative_eq!(Angle::deg(-180.0 + 1e-6).wrapped().to_deg(), -180.0 + 1e-6);
    approx::assert_relative_eq!(Angle::deg(725.0).wrapped().to_deg(), 5.0, epsilon = 1e-12);
}

#[test]
fn no_sum_of_half_turns_leaves_the_range() {
    let pi = core::f64::consts::PI;
    let bit = |value: f64, by: i64| f64::from_bits(value.to_bits().wrapping_add_signed(by));
    for turns in 0..20_000_i32 {
        for by in -3..=3 {
            let turn = bit(pi * f64::from(2 * turns + 1), by);
            for turn in [turn, -turn] {
                let wrapped = Angle::rad(turn).wrapped().to_rad();
                assert!(wrapped > -pi && wrapped <= pi, "{turn} is {wrapped}");
            }
        }
    }
}

#[test]
fn units_have_one_name_each() {
    for unit in LengthUnit::ALL {
        assert_eq!(LengthUnit::from_name(unit.name()), Some(unit));
        approx::assert_relative_eq!(Length::of(2.0, unit).to(unit), 2.0);
    }
    assert_eq!(LengthUnit::from_name("MM"), None);
}

/// The same cases in every run.
fn config() -> ProptestConfig {
    ProptestConfig { rng_seed: RngSeed::Fixed(4), failure_persistence: None, ..ProptestConfig::with_cases(1000) }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn any_text_is_read_or_refused_at_a_place_within_it(text in "[-+0-9./'\" ,eEminft½°]{0,14}|\\PC{0,8}") {
        for refusal in [length(&text, LengthUnit::Inch).err(), number(&text).err()].into_iter().flatten() {
            prop_assert!(text.get(refusal.at).is_some());
            prop_assert!(!refusal.reason.is_empty());
        }
    }

    #[test]
    fn shortest_decimals_come_back_as_they_were(value in -1e9..1e9_f64) {
        prop_assert_eq!(length(&format!("{value}"), LengthUnit::Mm), Ok(Length::mm(value)));
        prop_assert_eq!(length(&format!("{value:e} mm"), LengthUnit::Foot), Ok(Length::mm(value)));
        prop_assert_eq!(number(&format!("{value:?}")), Ok(value));
    }

    #[test]
    fn mixed_fractions_are_what_the_whole_ratio_says(whole in 0..100_000_i64, power in 1..8_u32, part in 0..128_i64) {
        let under = 1_i64 << power;
        let over = part % under;
        // 254 thousandths of 100 mm: exact in an f64, so the quotient is rounded once.
        let wanted = ((whole * under + over) * 254) as f64 / (under * 10) as f64;
        for text in [format!("{whole} {over}/{under}\""), format!("{whole}-{over}/{under} in"), format!("{}/{under}", whole * under + over)] {
            prop_assert_eq!(length(&text, LengthUnit::Inch), Ok(Length::mm(wanted)));
        }
        let (feet, inches) = (whole / 12, whole % 12);
        prop_assert_eq!(length(&format!("-{feet}' {inches} {over}/{under}\""), LengthUnit::Mm), Ok(Length::mm(0.0 - wanted)));
    }
}
