//! Which form of an answer the `Accept` header asks for (RFC 9110 section 12.5.1).

use super::problem::{self, Problem};
use axum::http::{HeaderMap, header};

/// A form in which a paper is served.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// `application/json`
    Json,
    /// `text/csv` with a header line
    Csv,
}

impl Form {
    /// Type, subtype and the parameters of what is served.
    const fn media(self) -> (&'static str, &'static str, &'static [(&'static str, &'static str)]) {
        match self {
            Form::Json => ("application", "json", &[("charset", "utf-8")]),
            Form::Csv => ("text", "csv", &[("charset", "utf-8"), ("header", "present")]),
        }
    }
}

/// Forms in the order in which equal wishes are met.
const FORMS: [Form; 2] = [Form::Json, Form::Csv];

/// One media range of the header with its weight in thousandths.
struct Range {
    kind: String,
    sub: String,
    parameters: Vec<(String, String)>,
    weight: u16,
}

/// The form to answer in; JSON when the header is absent or leaves both equal.
///
/// # Errors
/// `400` for a header that is no list of media ranges, `406` when it accepts neither form.
pub fn json_or_csv(headers: &HeaderMap) -> Result<Form, Problem> {
    let mut ranges = Vec::new();
    for value in headers.get_all(header::ACCEPT) {
        let text = value.to_str().map_err(|_| unreadable("only visible ASCII is accepted"))?;
        for part in split(text, ',').into_iter().filter(|p| !p.is_empty()) {
            ranges.push(range(&part)?);
        }
    }
    if ranges.is_empty() {
        return Ok(Form::Json);
    }
    let mut best: Option<(u16, Form)> = None;
    for form in FORMS {
        let weight = weight(form, &ranges);
        if weight > best.map_or(0, |(w, _)| w) {
            best = Some((weight, form));
        }
    }
    best.map(|(_, form)| form).ok_or_else(|| {
        Problem::new(
            problem::NOT_ACCEPTABLE,
            "this is served as application/json and as text/csv (charset=utf-8; header=present); \
             the `Accept` header takes neither",
        )
    })
}

fn unreadable(rule: &str) -> Problem {
    Problem::bad_header("Accept", format!("a list such as `text/csv, application/json;q=0.5`: {rule}"))
}

/// Splits at a mark outside quotes, and trims.
fn split(text: &str, mark: char) -> Vec<String> {
    let mut parts = vec![String::new()];
    let (mut quoted, mut escaped) = (false, false);
    for c in text.chars() {
        match c {
            _ if escaped => escaped = false,
            '\\' if quoted => escaped = true,
            '"' => quoted = !quoted,
            _ => {}
        }
        if c == mark && !quoted {
            parts.push(String::new());
        } else if let Some(last) = parts.last_mut() {
            last.push(c);
        }
    }
    parts.into_iter().map(|p| p.trim_matches([' ', '\t']).to_owned()).collect()
}

fn range(text: &str) -> Result<Range, Problem> {
    let mut parts = split(text, ';').into_iter();
    let media = parts.next().unwrap_or_default().to_ascii_lowercase();
    let Some((kind, sub)) = media.split_once('/').filter(|(k, s)| !k.is_empty() && !s.is_empty()) else {
        return Err(unreadable("each range is `type/subtype`, `type/*` or `*/*`"));
    };
    if kind == "*" && sub != "*" {
        return Err(unreadable("`*` stands for a type only with `*` for the subtype"));
    }
    let (mut parameters, mut weight) = (Vec::new(), 1_000);
    for parameter in parts.filter(|p| !p.is_empty()) {
        let Some((name, value)) = parameter.split_once('=') else {
            return Err(unreadable("a parameter is `name=value`"));
        };
        let value = value.trim_matches('"').to_ascii_lowercase();
        match name.trim().to_ascii_lowercase().as_str() {
            "q" => {
                weight = thousandths(&value).ok_or_else(|| {
                    unreadable("a weight is `q=` and a number from 0 to 1 with at most three decimals")
                })?;
            }
            name => parameters.push((name.to_owned(), value)),
        }
    }
    Ok(Range { kind: kind.to_owned(), sub: sub.to_owned(), parameters, weight })
}

/// A weight of at most three decimals, in thousandths.
fn thousandths(text: &str) -> Option<u16> {
    let (whole, rest) = text.split_once('.').unwrap_or((text, ""));
    if !["0", "1"].contains(&whole) || rest.len() > 3 || !rest.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let value = whole.parse::<u16>().ok()? * 1_000 + format!("{rest:0<3}").parse::<u16>().ok()?;
    (value <= 1_000).then_some(value)
}

/// The weight of a form: that of the most specific range it lies in; 0 where it lies in none.
fn weight(form: Form, ranges: &[Range]) -> u16 {
    let (kind, sub, own) = form.media();
    let fits = |r: &&Range| {
        (r.kind == "*" || r.kind == kind)
            && (r.sub == "*" || r.sub == sub)
            && r.parameters.iter().all(|(n, v)| own.iter().any(|(on, ov)| n == on && v == ov))
    };
    let specific = |r: &Range| (r.kind != "*", r.sub != "*", r.parameters.len());
    // Of equally specific ranges the first stands.
    ranges
        .iter()
        .filter(fits)
        .fold(None::<&Range>, |best, r| match best {
            Some(b) if specific(b) >= specific(r) => Some(b),
            _ => Some(r),
        })
        .map_or(0, |r| r.weight)
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::http::HeaderValue;

    fn of(lines: &[&'static str]) -> Result<Form, u16> {
        let mut headers = HeaderMap::new();
        for line in lines {
            headers.append(header::ACCEPT, HeaderValue::from_static(line));
        }
        json_or_csv(&headers).map_err(|p| p.kind().status)
    }

    #[test]
    fn the_most_specific_range_gives_the_weight() {
        assert_eq!(of(&[]), Ok(Form::Json));
        assert_eq!(of(&["*/*"]), Ok(Form::Json));
        assert_eq!(of(&["text/csv"]), Ok(Form::Csv));
        assert_eq!(of(&["TEXT/CSV; Charset=UTF-8; header=\"present\""]), Ok(Form::Csv));
        assert_eq!(of(&["text/*"]), Ok(Form::Csv));
        assert_eq!(of(&["text/csv;q=0.5, application/json"]), Ok(Form::Json));
        assert_eq!(of(&["text/csv", "application/json;q=0.999"]), Ok(Form::Csv));
        assert_eq!(of(&["text/csv, application/json"]), Ok(Form::Json));
        assert_eq!(of(&["application/json;q=0, */*;q=0.1"]), Ok(Form::Csv));
        assert_eq!(of(&["text/html, application/xhtml+xml, */*;q=0.8"]), Ok(Form::Json));
        // As RFC 9110 section 12.5.1 has it (read): a range with a parameter goes before one without.
        assert_eq!(of(&["text/csv;header=absent, text/csv;q=0.2, application/json;q=0.1"]), Ok(Form::Csv));
    }

    #[test]
    fn what_cannot_be_served_is_refused() {
        for line in ["application/pdf", "text/csv;header=absent", "text/csv;q=0", "image/*"] {
            assert_eq!(of(&[line]), Err(406), "{line}");
        }
        for line in ["csv", "*/csv", "text/csv;q=2", "text/csv;q=0.1234", "text/csv;q=x", "text/csv;q"] {
            assert_eq!(of(&[line]), Err(400), "{line}");
        }
    }
}
