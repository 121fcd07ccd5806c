//! Text that a spreadsheet took for another encoding.

use encoding_rs::WINDOWS_1252;

/// What a text was meant to be, if it is UTF-8 that was read as windows-1252: what spreadsheets make of letters beyond ASCII when a
/// UTF-8 list without a byte order mark is opened by a double click.
///
/// # Source
/// WHATWG Encoding Standard, index windows-1252, and the definition of UTF-8 (RFC 3629): bytes beyond ASCII that happen to be
/// well-formed UTF-8 do not come of words.
pub(super) fn meant(text: &str) -> Option<String> {
    if text.is_ascii() {
        return None;
    }
    let (bytes, _, without_a_byte) = WINDOWS_1252.encode(text);
    if without_a_byte { None } else { String::from_utf8(bytes.into_owned()).ok() }
}

#[cfg(test)]
mod tests {
    use super::meant;

    #[test]
    fn utf8_read_as_windows_1252_is_told_and_words_are_not() {
        for (read, right) in
            [("TÃ¼r", "Tür"), ("90Â° bend", "90° bend"), ("DÃ©cor â€“ 3Â½", "Décor – 3½"), ("10 â‚¬", "10 €")]
        {
            assert_eq!(meant(read).as_deref(), Some(right));
        }
        for word in
            ["Tür", "90° bend", "SÃO", "Ångström", "Décor – 3½", "水路", "Kanał", "plain", "½ Ø µ £ ©"]
        {
            assert_eq!(meant(word), None, "{word}");
        }
    }
}
