//! Numbers as people write them elsewhere: what is wrong with them, and what would be right.

use super::decimal_text::plain_decimal;
use rust_decimal::Decimal;

/// What a number is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Counts {
    /// Parts of a hundred.
    Percent,
    /// Parts of a hundred that may be less than nothing.
    Fall,
    /// Anything else.
    Other,
    /// Anything else that may be less than nothing.
    Signed,
}

impl Counts {
    fn is_percent(self) -> bool {
        matches!(self, Counts::Percent | Counts::Fall)
    }

    fn is_signed(self) -> bool {
        matches!(self, Counts::Fall | Counts::Signed)
    }
}

/// What is wrong with a text that is no plain decimal number, as it ends the sentence about the rule; nothing where it cannot be
/// told.
///
/// The right form is named where there is one reading only, `1,234` may be a thousand, and where it is accepted with at most
/// `places` decimals.
pub(crate) fn slip(text: &str, places: u32, counts: Counts) -> Option<String> {
    let text = text.trim();
    if let Some((rise, run)) = text.split_once(':') {
        return ratio(rise.trim(), run.trim()).filter(|_| counts.is_percent());
    }
    let (sign, size) = text.strip_prefix('-').map_or(("", text), |size| ("-", size));
    let bare = size.strip_suffix('%').map(str::trim_end);
    let number = bare.unwrap_or(size);
    if !number.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let mut wrong = Vec::new();
    let plain = match number.split_once(',') {
        None => number.to_owned(),
        Some((whole, decimals)) => {
            wrong.push("a point before decimals, no comma");
            let is_group = decimals.len() == 3 && !number.starts_with("0,");
            if is_group || whole.contains(['.', '\'']) || decimals.contains([',', '.']) {
                wrong.push("nothing between thousands");
            }
            number.replacen(',', ".", 1)
        }
    };
    if bare.is_some() {
        wrong.push("no sign % behind it");
    }
    let told = wrong.join(", ");
    if told.is_empty() {
        return None;
    }
    let one_reading = !wrong.contains(&"nothing between thousands")
        && (bare.is_none() || counts.is_percent())
        && (sign.is_empty() || counts.is_signed())
        && plain_decimal(&plain, places).is_some();
    Some(if one_reading { format!("{told}: \"{sign}{plain}\"") } else { told })
}

/// A fall written as rise to run.
fn ratio(rise: &str, run: &str) -> Option<String> {
    let number = |text: &str| plain_decimal(text, 6).map(|n| Decimal::new(n, 6).normalize());
    let (over, of) = (number(rise)?, number(run)?);
    let exact = over.checked_mul(Decimal::ONE_HUNDRED)?.checked_div(of)?;
    let percent = super::decimal::rounded(exact, 4).normalize();
    let about = if percent == exact { "" } else { "about " };
    Some(format!("in percent: {over}:{of} is {about}\"{percent}\""))
}

#[cfg(test)]
mod tests {
    use super::{Counts, slip};

    fn told(text: &str, counts: Counts) -> String {
        slip(text, 4, counts).unwrap_or_default()
    }

    #[test]
    fn what_is_meant_is_named() {
        let comma = "a point before decimals, no comma";
        for (text, counts, words) in [
            ("0,5", Counts::Percent, format!("{comma}: \"0.5\"")),
            ("-0,5", Counts::Fall, format!("{comma}: \"-0.5\"")),
            ("-16,80", Counts::Signed, format!("{comma}: \"-16.80\"")),
            ("16,80", Counts::Other, format!("{comma}: \"16.80\"")),
            ("0,125", Counts::Other, format!("{comma}: \"0.125\"")),
            ("1 %", Counts::Percent, "no sign % behind it: \"1\"".to_owned()),
            ("8,25%", Counts::Percent, format!("{comma}, no sign % behind it: \"8.25\"")),
            ("1:100", Counts::Percent, "in percent: 1:100 is \"1\"".to_owned()),
            ("1 : 80", Counts::Percent, "in percent: 1:80 is \"1.25\"".to_owned()),
            ("1:60", Counts::Percent, "in percent: 1:60 is about \"1.6667\"".to_owned()),
        ] {
            assert_eq!(told(text, counts), words, "{text}");
        }
    }

    #[test]
    fn nothing_is_guessed() {
        // a thousand or one; a factor of 10 % may be 0.1 or 1.1; a text that is no number
        assert_eq!(
            told("1,234", Counts::Other),
            "a point before decimals, no comma, nothing between thousands"
        );
        assert_eq!(
            told("1.234,50", Counts::Other),
            "a point before decimals, no comma, nothing between thousands"
        );
        assert_eq!(told("10 %", Counts::Other), "no sign % behind it");
        // what would be refused as well
        let comma = "a point before decimals, no comma";
        assert_eq!(
            (told("-0,5", Counts::Percent), told("0,12345", Counts::Fall)),
            (comma.into(), comma.into())
        );
        for text in ["steep", "1:0", "a:b", "", "50 boxes", "1:100:2"] {
            assert_eq!(told(text, Counts::Percent), "", "{text}");
        }
        assert_eq!(told("1:100", Counts::Other), "");
    }
}
