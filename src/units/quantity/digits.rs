//! Numbers in decimal digits and what stands beside them, without the formatter.

use std::borrow::Cow;

/// Most bytes of one text: two numbers, their signs, points and units.
const MOST: usize = 64;

/// A number in decimal digits on the stack, written from its end: answers hold hundreds of them, and the formatter would
/// cost more than the rest.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Digits {
    buffer: [u8; MOST],
    start: usize,
}

impl Digits {
    /// `mantissa / 10^places`, all places written.
    pub(crate) fn new(mantissa: i64, places: u32) -> Self {
        Self::none().and(mantissa, places)
    }

    /// Nothing yet.
    pub(crate) const fn none() -> Self {
        Digits { buffer: [b'0'; MOST], start: MOST }
    }

    /// `mantissa / 10^places`, all places written, before what stands there.
    pub(crate) fn and(mut self, mantissa: i64, places: u32) -> Self {
        let mut rest = mantissa.unsigned_abs();
        let places = places.min(18);
        for _ in 0..places {
            self.put(b'0' + (rest % 10) as u8);
            rest /= 10;
        }
        if places > 0 {
            self.put(b'.');
        }
        loop {
            self.put(b'0' + (rest % 10) as u8);
            rest /= 10;
            if rest == 0 {
                break;
            }
        }
        if mantissa < 0 {
            self.put(b'-');
        }
        self
    }

    /// A word before what stands there.
    pub(crate) fn word(mut self, word: &str) -> Self {
        for byte in word.bytes().rev() {
            self.put(byte);
        }
        self
    }

    fn put(&mut self, byte: u8) {
        // Two numbers of at most 20 digits, a point and a sign, and short words: the buffer never runs full.
        self.start = self.start.saturating_sub(1);
        if let Some(place) = self.buffer.get_mut(self.start) {
            *place = byte;
        }
    }

    /// The digits.
    pub(crate) fn as_str(&self) -> &str {
        self.buffer.get(self.start..).and_then(|b| std::str::from_utf8(b).ok()).unwrap_or("0")
    }
}

/// A number in decimal digits: whole and below a thousand, as most are, it is read off a table.
pub(crate) enum Figure {
    Read(&'static str),
    Written(Digits),
}

impl Figure {
    /// `mantissa / 10^places`, all places written.
    pub(crate) fn of(mantissa: i64, places: u32) -> Self {
        match small(mantissa).filter(|_| places == 0) {
            Some(digits) => Self::Read(digits),
            None => Self::Written(Digits::new(mantissa, places)),
        }
    }

    /// The digits as a text of their own.
    pub(crate) fn text(self) -> Cow<'static, str> {
        match self {
            Self::Read(digits) => Cow::Borrowed(digits),
            Self::Written(digits) => Cow::Owned(digits.as_str().to_owned()),
        }
    }

    /// The digits.
    pub(crate) fn as_str(&self) -> &str {
        match self {
            Self::Read(digits) => digits,
            Self::Written(digits) => digits.as_str(),
        }
    }
}

/// The digits of a whole number below a thousand; `None` of others.
fn small(number: i64) -> Option<&'static str> {
    let zeros = match number {
        0..10 => 2,
        10..100 => 1,
        100..1000 => 0,
        _ => return None,
    };
    let start = 3 * number as usize;
    THREES.get(start + zeros..start + 3)
}

/// All numbers below a thousand, three digits each.
const THREES: &str = match std::str::from_utf8(&DIGITS) {
    Ok(digits) => digits,
    Err(_) => "",
};

const DIGITS: [u8; 3000] = {
    let mut digits = [b'0'; 3000];
    let mut n = 0;
    while n < 1000 {
        digits[3 * n] += (n / 100) as u8;
        digits[3 * n + 1] += (n / 10 % 10) as u8;
        digits[3 * n + 2] += (n % 10) as u8;
        n += 1;
    }
    digits
};

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_written_in_full() {
        for (mantissa, places, text) in [
            (0, 0, "0"),
            (0, 2, "0.00"),
            (5, 2, "0.05"),
            (-5, 3, "-0.005"),
            (16_250, 3, "16.250"),
            (1625, 2, "16.25"),
            (-7, 0, "-7"),
        ] {
            assert_eq!(Digits::new(mantissa, places).as_str(), text);
            assert_eq!(Figure::of(mantissa, places).as_str(), text);
        }
        assert_eq!(Digits::new(i64::MIN, 6).as_str(), "-9223372036854.775808");
        assert_eq!(Digits::none().as_str(), "");
        for number in -1..=1000 {
            let told = (0..1000).contains(&number).then(|| number.to_string());
            assert_eq!(small(number).map(str::to_owned), told);
            assert_eq!(Figure::of(number, 0).as_str(), number.to_string());
        }
        assert_eq!(Digits::none().word(" in").and(16, 0).word("/").and(3, 0).as_str(), "3/16 in");
    }
}
