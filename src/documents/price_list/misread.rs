//! Text that a spreadsheet took for another encoding.

use encoding_rs::WINDOWS_1252;

/// What is wrong with a text that was read by another encoding than it was written in; nothing where it was not.
pub(super) fn misread(text: &str) -> Option<String> {
    const SAVED: &str = "open the list as UTF-8 (an export with `byte_order_mark=true` is opened so by itself), and save it as CSV in UTF-8";
    if text.contains(char::REPLACEMENT_CHARACTER) {
        return Some(format!("a letter was lost where the list was opened by the wrong encoding: {SAVED}"));
    }
    meant(text).map(|right| format!("`{right}`, read by the wrong encoding: {SAVED}"))
}

/// What a text was meant to be, if it is UTF-8 that was read as windows-1252 or as ISO 8859-1: what spreadsheets make of letters
/// beyond ASCII when a UTF-8 list without a byte order mark is opened by a double click.
///
/// # Source
/// WHATWG Encoding Standard, index windows-1252, and the definition of UTF-8 (RFC 3629): bytes beyond ASCII that happen to be
/// well-formed UTF-8 do not come of words.
fn meant(text: &str) -> Option<String> {
    if text.is_ascii() {
        return None;
    }
    let (bytes, _, without_a_byte) = WINDOWS_1252.encode(text);
    let latin = || text.chars().map(|c| u8::try_from(u32::from(c)).ok()).collect::<Option<Vec<u8>>>();
    let bytes = if without_a_byte { latin()? } else { bytes.into_owned() };
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::{meant, misread};

    #[test]
    fn utf8_read_as_windows_1252_is_told_and_words_are_not() {
        for (read, right) in
            [("TÃ¼r", "Tür"), ("90Â° bend", "90° bend"), ("DÃ©cor â€“ 3Â½", "Décor – 3½"), ("10 â‚¬", "10 €")]
        {
            assert_eq!(meant(read).as_deref(), Some(right));
        }
        // as ISO 8859-1, which has controls where windows-1252 has signs
        assert_eq!(meant("3 \u{e2}\u{80}\u{93} 4").as_deref(), Some("3 – 4"));
        assert!(misread("Rohr f\u{fffd}r").is_some_and(|told| told.starts_with("a letter was lost")));
        for word in
            ["Tür", "90° bend", "SÃO", "Ångström", "Décor – 3½", "水路", "Kanał", "plain", "½ Ø µ £ ©"]
        {
            assert_eq!(meant(word), None, "{word}");
        }
    }
}
