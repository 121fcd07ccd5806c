//! What is wrong with a cell that should be a number.

/// Why a text is no plain decimal number.
pub(super) fn number_fault(plain: &str) -> (&'static str, &'static str) {
    const FORM: &str = "digits with a decimal point and up to six decimals, as 1234.50";
    let digits = plain.chars().filter(char::is_ascii_digit).count();
    let signs = ['$', '€', '£', '¥'];
    if plain.contains(signs) || plain.chars().filter(|c| c.is_ascii_alphabetic()).count() > 1 && digits > 0 {
        return ("currency_sign", "the number only, without a currency; the column `currency` may name it");
    }
    if digits > 0 && plain.contains([' ', '\u{a0}', '\u{202f}', '\'', '_']) {
        return ("thousands_separator", "no thousands separator: 1234.50");
    }
    if let Some((whole, rest)) = plain.split_once(',') {
        let last = plain.rsplit(',').next().unwrap_or_default();
        let grouped = plain.matches(',').count() > 1
            || rest.contains('.')
            || (last.len() == 3 && !whole.is_empty() && whole != "0");
        if whole.contains('.') {
            return ("thousands_separator", "no thousands separator, and a decimal point: 1234.50");
        }
        return if grouped {
            ("thousands_separator", "no thousands separator: 1234.50")
        } else {
            ("decimal_comma", "a decimal point, no comma: 1234.50")
        };
    }
    if plain.matches('.').count() > 1 {
        return ("thousands_separator", "no thousands separator, and one decimal point: 1234.50");
    }
    if plain.starts_with('-') {
        return ("out_of_range", "a price or step is not below nothing");
    }
    ("decimal", FORM)
}
