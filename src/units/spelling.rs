//! Spellings of units in text, and what is written instead of those that are not read.

use super::decimal_text::plain_decimal;
use super::grammar::Refusal;
use super::unit::{Dimension, Unit};
use rust_decimal::Decimal;

/// The sign of a degree, and the raised letter that is typed for it.
const DEGREES: [char; 2] = ['\u{b0}', '\u{ba}'];

/// How many bytes of a unit stand in front: a word, two of them with a stroke between, or a letter behind the sign of a degree.
pub(super) fn length(text: &str) -> usize {
    let word = |t: &str| t.bytes().position(|b| !(b.is_ascii_alphanumeric() || b == b'_')).unwrap_or(t.len());
    if text.starts_with(['\'', '"']) {
        return 1;
    }
    if let Some(behind) = text.strip_prefix(DEGREES) {
        let letter = behind.trim_start_matches(' ');
        return text.len() - letter.len() + word(letter);
    }
    let first = word(text);
    match text.get(first..).and_then(|rest| rest.strip_prefix('/')) {
        Some(rest) if first > 0 && rest.starts_with(|c: char| c.is_ascii_alphabetic()) => {
            first + 1 + word(rest)
        }
        _ => first,
    }
}

/// The unit of a spelling: its word, a stroke for `_per_`, `h` for `hr`, `°C` and `C` for `deg_c`.
///
/// # Errors
/// `ton` alone, and what is no unit.
pub(super) fn unit(word: &str) -> Result<Unit, Refusal> {
    if let Some(letter) = word.strip_prefix(DEGREES) {
        return match letter.trim_start_matches(' ') {
            "C" | "c" => Ok(Unit::DegC),
            "F" | "f" => Ok(Unit::DegF),
            _ => Err(Refusal::UnknownUnit),
        };
    }
    match word {
        "'" => Some(Unit::Ft),
        "\"" => Some(Unit::In),
        "h" => Some(Unit::Hr),
        "C" => Some(Unit::DegC),
        "F" => Some(Unit::DegF),
        "ton" | "tons" => return Err(Refusal::AmbiguousTon),
        other => match other.split_once('/') {
            None => Unit::from_word(other),
            Some((of, per)) => {
                let per = if per == "h" { "hr" } else { per };
                Unit::from_word(&[of, "_per_", per].concat())
            }
        },
    }
    .ok_or(Refusal::UnknownUnit)
}

/// What is written for a text that was refused, where that can be told.
pub(super) fn instead(sent: &str, dimension: Dimension, refusal: Refusal) -> Option<String> {
    match (dimension, refusal) {
        (Dimension::RainIntensity, _) if letters(sent) == "lsha" => Some(of_a_hectare(sent)),
        (Dimension::Time, Refusal::Number) => Some(match minutes(sent) {
            Some(minutes) => format!("one number with one unit: \"{minutes} min\""),
            None => "one number with one unit".to_owned(),
        }),
        (_, Refusal::UnknownUnit) => {
            let words = sent.split(|c: char| !c.is_alphabetic()).filter(|w| !w.is_empty());
            let mut known = words.filter_map(|word| {
                full_word(&word.to_lowercase())
                    .filter(|u| u.dimension() == dimension)
                    .map(|unit| (word, unit))
            });
            let (word, unit) = known.next()?;
            Some(format!("`{word}` is written `{unit}`"))
        }
        _ => None,
    }
}

fn letters(text: &str) -> String {
    text.chars().filter(|c| c.is_alphabetic()).collect::<String>().to_lowercase()
}

/// A flow from a hectare as rain: a litre on a square metre is a millimetre, and a hectare has 10 000 of these.
fn of_a_hectare(sent: &str) -> String {
    let number = sent.trim().split(|c: char| !(c.is_ascii_digit() || c == '.')).next().unwrap_or_default();
    let rain = plain_decimal(number, 6).and_then(|n| Decimal::new(n, 6).checked_mul(Decimal::new(36, 2)));
    let rain = rain.map_or_else(String::new, |rain| format!(": \"{} mm/h\"", rain.normalize()));
    format!("a litre a second from a hectare is 0.36 mm an hour{rain}")
}

/// Hours and minutes one beside the other, in minutes.
fn minutes(sent: &str) -> Option<Decimal> {
    let words: Vec<&str> = sent.split_whitespace().collect();
    let [hours, "hr" | "h", minutes, "min"] = words.as_slice() else { return None };
    let number = |text: &str| plain_decimal(text, 6).map(|n| Decimal::new(n, 6));
    let hours = number(hours)?.checked_mul(Decimal::from(60))?;
    Some(hours.checked_add(number(minutes)?)?.normalize())
}

/// The unit of a word written in full, or shortened otherwise, in small letters.
fn full_word(word: &str) -> Option<Unit> {
    Some(match word {
        "inch" | "inches" => Unit::In,
        "foot" | "feet" => Unit::Ft,
        "yard" | "yards" => Unit::Yd,
        "mile" | "miles" => Unit::Mi,
        "millimeter" | "millimeters" | "millimetre" | "millimetres" => Unit::Mm,
        "centimeter" | "centimeters" | "centimetre" | "centimetres" => Unit::Cm,
        "meter" | "meters" | "metre" | "metres" => Unit::M,
        "kilometer" | "kilometers" | "kilometre" | "kilometres" => Unit::Km,
        "sqft" => Unit::Ft2,
        "sqm" | "qm" => Unit::M2,
        "cy" => Unit::Yd3,
        "cbm" => Unit::M3,
        "liter" | "liters" | "litre" | "litres" => Unit::L,
        "pound" | "pounds" | "lbs" => Unit::Lb,
        "kilo" | "kilos" | "kilogram" | "kilograms" | "kgs" => Unit::Kg,
        "tonne" | "tonnes" => Unit::T,
        "minute" | "minutes" | "mins" => Unit::Min,
        "hour" | "hours" | "hrs" => Unit::Hr,
        "days" => Unit::Day,
        "gpm" => Unit::GalUsPerMin,
        "mph" => Unit::MiPerHr,
        "kmh" | "kph" => Unit::KmPerHr,
        "celsius" => Unit::DegC,
        "fahrenheit" => Unit::DegF,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::grammar::parse;

    #[test]
    fn strokes_hours_and_degrees_are_other_spellings_of_units() {
        for (text, like, dimension) in [
            ("108 mm/h", "108 mm_per_hr", Dimension::RainIntensity),
            ("4.2 in/hr", "4.2 in_per_hr", Dimension::RainIntensity),
            ("4.2in/h", "4.2 in_per_hr", Dimension::RainIntensity),
            ("10 km/h", "10 km_per_hr", Dimension::Speed),
            ("10 mi/h", "10 mi_per_hr", Dimension::Speed),
            ("4.5 m/s", "4.5 m_per_s", Dimension::Speed),
            ("0.8 l/s", "0.8 l_per_s", Dimension::Flow),
            ("3 \u{b0}C", "3 deg_c", Dimension::Temperature),
            ("3\u{b0} C", "3 deg_c", Dimension::Temperature),
            ("3 \u{ba}c", "3 deg_c", Dimension::Temperature),
            ("12 C", "12 deg_c", Dimension::Temperature),
            ("85\u{b0}F", "85 deg_f", Dimension::Temperature),
            ("85 F", "85 deg_f", Dimension::Temperature),
            ("7.5 h", "7.5 hr", Dimension::Time),
        ] {
            let read = parse(text, dimension);
            assert!(read.is_ok(), "{text}: {read:?}");
            assert_eq!(read, parse(like, dimension), "{text}");
        }
        for (text, dimension, refusal) in [
            ("3 \u{b0}", Dimension::Temperature, Refusal::UnknownUnit),
            ("3 \u{b0}K", Dimension::Temperature, Refusal::UnknownUnit),
            ("45\u{b0}", Dimension::Length, Refusal::UnknownUnit),
            ("3 c", Dimension::Temperature, Refusal::UnknownUnit),
            ("3 \u{b0}C", Dimension::Length, Refusal::Dimension),
            ("108 mm/h", Dimension::Speed, Refusal::Dimension),
            ("3 m/h", Dimension::Speed, Refusal::UnknownUnit),
            ("3 \u{b0}C 4", Dimension::Temperature, Refusal::NoUnit),
        ] {
            assert_eq!(parse(text, dimension), Err(refusal), "{text}");
        }
    }

    #[test]
    fn what_is_written_instead_is_told() {
        for (text, dimension, words) in [
            ("4.80 Meter", Dimension::Length, "`Meter` is written `m`"),
            ("5 feet 3 in", Dimension::Length, "`feet` is written `ft`"),
            ("80 lbs", Dimension::Mass, "`lbs` is written `lb`"),
            ("85 qm", Dimension::Area, "`qm` is written `m2`"),
            ("8 hr 30 min", Dimension::Time, "one number with one unit: \"510 min\""),
            ("1 h 15 min", Dimension::Time, "one number with one unit: \"75 min\""),
            ("2 day 4 hr", Dimension::Time, "one number with one unit"),
            ("300 l/s/ha", Dimension::RainIntensity, "0.36 mm an hour: \"108 mm/h\""),
            ("250 l/(s ha)", Dimension::RainIntensity, "0.36 mm an hour: \"90 mm/h\""),
        ] {
            let refusal = parse(text, dimension).err();
            let told = refusal.and_then(|refusal| instead(text, dimension, refusal)).unwrap_or_default();
            assert!(told.ends_with(words), "{text}: {refusal:?} {told}");
        }
        // no unit of the kind that is asked for
        assert_eq!(instead("3 Meter", Dimension::Mass, Refusal::UnknownUnit), None);
        assert_eq!(instead("3 furlong", Dimension::Length, Refusal::UnknownUnit), None);
        assert_eq!(instead("", Dimension::Length, Refusal::UnknownUnit), None);
    }
}
