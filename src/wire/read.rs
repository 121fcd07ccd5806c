//! Reading JSON into checked types, every fault at once.
//!
//! [`Wire`] is implemented by everything that can stand in a request or in a stored document: it reads itself from a
//! JSON value into a type that is valid by construction, writes itself back, and describes itself for the OpenAPI
//! document. [`crate::wire_object!`], [`crate::wire_enum!`] and [`crate::wire_union!`] make all three from one declaration, so that parser,
//! writer and document cannot drift apart.

use super::faults::{At, Fault, Faults};
use super::value::{Object, Value};
use serde::Serialize;
use utoipa::openapi::schema::{Array, ArrayBuilder};
use utoipa::openapi::{RefOr, Schema};
use utoipa::{PartialSchema, ToSchema};

/// Which of two far apart values stands for something that cannot be read.
///
/// What follows for both does not hang on what could not be read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extreme {
    /// The least, the first; nothing where nothing need be there.
    Least,
    /// The most, the last; something where something may be there.
    Most,
}

impl Extreme {
    /// Both of them.
    pub const BOTH: [Self; 2] = [Self::Least, Self::Most];

    /// One of two.
    pub fn of<T>(self, least: T, most: T) -> T {
        match self {
            Self::Least => least,
            Self::Most => most,
        }
    }
}

/// A type that reads itself from JSON, collecting faults.
pub trait Wire: Sized + Serialize {
    /// Reads `value`; notes every fault and gives `None` when there was one, unless the collector lets something stand for what
    /// cannot be read.
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self>;

    /// What stands for a member that was not sent; `None` makes the member required.
    fn when_absent() -> Option<Self> {
        None
    }

    /// What may stand for one that cannot be read; `None` where nothing does, and then what it is part of cannot be read either.
    fn stand_in(_: Extreme) -> Option<Self> {
        Self::when_absent()
    }

    /// What is sent for a member that is required, where its name alone does not say it.
    fn what_to_send() -> Option<&'static str> {
        None
    }

    /// Whether the member is left out when written.
    fn is_absent(&self) -> bool {
        false
    }

    /// How a member of this type is described: a reference for named shapes, inline for others.
    fn member_schema() -> RefOr<Schema>;

    /// Puts the named shapes this type needs into `into`.
    fn register(into: &mut Vec<(String, RefOr<Schema>)>);
}

/// Registers a named shape and, once, what it is made of.
pub fn register_named<T: ToSchema>(into: &mut Vec<(String, RefOr<Schema>)>) {
    let name = T::name().into_owned();
    if !into.iter().any(|(have, _)| *have == name) {
        into.push((name, T::schema()));
        T::schemas(into);
    }
}

/// A reference to a named shape.
pub fn reference_to<T: ToSchema>() -> RefOr<Schema> {
    RefOr::Ref(utoipa::openapi::schema::Ref::from_schema_name(T::name()))
}

impl<T: Wire> Wire for Option<T> {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        T::read(value, at, faults).map(Some)
    }

    fn when_absent() -> Option<Self> {
        Some(None)
    }

    fn stand_in(extreme: Extreme) -> Option<Self> {
        extreme.of(Some(None), T::stand_in(extreme).map(Some))
    }

    fn is_absent(&self) -> bool {
        self.is_none()
    }

    fn member_schema() -> RefOr<Schema> {
        T::member_schema()
    }

    fn register(into: &mut Vec<(String, RefOr<Schema>)>) {
        T::register(into);
    }
}

impl<T: Wire> Wire for Box<T> {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        T::read(value, at, faults).map(Box::new)
    }

    fn stand_in(extreme: Extreme) -> Option<Self> {
        T::stand_in(extreme).map(Box::new)
    }

    fn member_schema() -> RefOr<Schema> {
        T::member_schema()
    }

    fn register(into: &mut Vec<(String, RefOr<Schema>)>) {
        T::register(into);
    }
}

/// A list of `MIN` to `MAX` elements. With `MIN` 0 the member may be left out and reads as empty.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(transparent)]
pub struct List<T, const MIN: usize, const MAX: usize>(Vec<T>);

impl<T, const MIN: usize, const MAX: usize> List<T, MIN, MAX> {
    /// The list, when its length is within the bounds.
    pub fn new(elements: Vec<T>) -> Option<Self> {
        (MIN..=MAX).contains(&elements.len()).then_some(Self(elements))
    }

    /// The elements, owned.
    pub fn into_vec(self) -> Vec<T> {
        self.0
    }
}

impl<T, const MAX: usize> List<T, 0, MAX> {
    /// No elements.
    pub const EMPTY: Self = Self(Vec::new());
}

impl<T, const MAX: usize> Default for List<T, 0, MAX> {
    fn default() -> Self {
        Self::EMPTY
    }
}

impl<T, const MIN: usize, const MAX: usize> std::ops::Deref for List<T, MIN, MAX> {
    type Target = [T];
    fn deref(&self) -> &[T] {
        &self.0
    }
}

impl<'a, T, const MIN: usize, const MAX: usize> IntoIterator for &'a List<T, MIN, MAX> {
    type Item = &'a T;
    type IntoIter = std::slice::Iter<'a, T>;
    fn into_iter(self) -> Self::IntoIter {
        self.0.iter()
    }
}

impl<T: Wire, const MIN: usize, const MAX: usize> PartialSchema for List<T, MIN, MAX> {
    fn schema() -> RefOr<Schema> {
        let array: Array = ArrayBuilder::new()
            .items(T::member_schema())
            .min_items((MIN > 0).then_some(MIN))
            .max_items(Some(MAX))
            .build();
        RefOr::T(Schema::Array(array))
    }
}

impl<T: Wire, const MIN: usize, const MAX: usize> ToSchema for List<T, MIN, MAX> {}

impl<T: Wire, const MIN: usize, const MAX: usize> Wire for List<T, MIN, MAX> {
    fn read(value: &Value<'_>, at: &At<'_>, faults: &mut Faults) -> Option<Self> {
        let Value::Array(elements) = value else {
            wrong_kind(value, "a list", at, faults);
            return None;
        };
        if !(MIN..=MAX).contains(&elements.len()) {
            faults.value(
                at,
                "list_length",
                &elements.len().to_string(),
                format!("this list holds {MIN} to {MAX} elements, {} were sent", elements.len()),
            );
            if elements.len() > MAX {
                return None;
            }
        }
        let before = faults.len();
        let mut out = Vec::with_capacity(elements.len());
        for (index, element) in elements.iter().enumerate() {
            let read = T::read(element, &at.element(index), faults);
            out.extend(read.or_else(|| faults.stand_in()));
        }
        let sound = faults.len() == before || faults.stands_in();
        (sound && out.len() == elements.len() && elements.len() >= MIN).then_some(Self(out))
    }

    /// Never empty, so that what is looked for in it may be there.
    fn stand_in(extreme: Extreme) -> Option<Self> {
        let length = extreme.of(1, 2).clamp(MIN, MAX);
        (0..length).map(|_| T::stand_in(extreme)).collect::<Option<_>>().map(Self)
    }

    fn when_absent() -> Option<Self> {
        (MIN == 0).then(|| Self(Vec::new()))
    }

    fn is_absent(&self) -> bool {
        MIN == 0 && self.0.is_empty()
    }

    fn member_schema() -> RefOr<Schema> {
        Self::schema()
    }

    fn register(into: &mut Vec<(String, RefOr<Schema>)>) {
        T::register(into);
    }
}

/// Notes that a value is of the wrong JSON kind.
#[cold]
pub fn wrong_kind(value: &Value<'_>, expected: &str, at: &At<'_>, faults: &mut Faults) {
    wrong_type(value, expected, at, faults);
}

/// Notes that a value is of the wrong JSON kind; gives the fault, to add what is allowed.
#[cold]
pub(super) fn wrong_type<'f>(
    value: &Value<'_>,
    expected: &str,
    at: &At<'_>,
    faults: &'f mut Faults,
) -> &'f mut Fault {
    let got = match value {
        Value::Null => "null (leave the member out instead)",
        Value::Bool(_) => "true or false",
        Value::Number(_) => "a bare number",
        Value::String(_) => "text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    };
    faults.add(at, "wrong_type", format!("expected {expected}, found {got}"))
}

/// So many members of an object are named in a sentence; the list of what is allowed has all of them.
const MOST_NAMED: usize = 3;

/// An object with these members, in words.
fn object_with(known: &[&str]) -> String {
    let named: Vec<String> = known.iter().take(MOST_NAMED).map(|name| format!("`{name}`")).collect();
    match known.len() {
        0 => "an object".to_owned(),
        1..=MOST_NAMED => format!("an object with {}", named.join(", ")),
        _ => format!("an object with members such as {}", named.join(", ")),
    }
}

/// Reads the members of one object, remembering which were asked for so that the rest can be refused.
#[derive(Debug)]
pub struct Members<'v, 't> {
    object: &'v Object<'t>,
    known: &'static [&'static str],
    /// Whether there are members that are not known: one that is not found may be meant by them.
    strangers: bool,
}

impl<'v, 't> Members<'v, 't> {
    /// Opens `value` as an object and refuses members that are not `known`.
    pub fn open(
        value: &'v Value<'t>,
        known: &'static [&'static str],
        at: &At<'_>,
        faults: &mut Faults,
    ) -> Option<Self> {
        let Value::Object(object) = value else {
            // There may be tens of thousands: what nobody will read is not put into words.
            if faults.truncated() {
                wrong_kind(value, "an object", at, faults);
            } else {
                wrong_type(value, &object_with(known), at, faults).allow(known.iter().copied());
            }
            return None;
        };
        let is_known = |name: &str| known.contains(&name);
        let strangers = !object.names().all(|name| is_known(name));
        if strangers {
            let names = object.names().map(AsRef::as_ref).filter(|name| !is_known(name));
            refuse(names.collect(), known, at, faults);
        }
        Some(Self { object, known, strangers })
    }

    /// Reads one member; a missing one takes its default or is a fault.
    pub fn take<T: Wire>(&self, name: &'static str, at: &At<'_>, faults: &mut Faults) -> Option<T> {
        debug_assert!(self.known.contains(&name));
        let here = at.member(name);
        match self.object.get(name) {
            Some(value) => T::read(value, &here, faults).or_else(|| faults.stand_in()),
            None => {
                let default = T::when_absent();
                if default.is_none() {
                    missing(name, T::what_to_send(), &here, faults);
                }
                let meant = || faults.stand_in().filter(|_| self.strangers || default.is_none());
                meant().or(default)
            }
        }
    }
}

/// Refuses members that are not known, in the order of their names.
#[cold]
fn refuse(mut names: Vec<&str>, known: &'static [&'static str], at: &At<'_>, faults: &mut Faults) {
    names.sort_unstable();
    for name in names {
        // There may be tens of thousands: what nobody will read is not put into words.
        if faults.truncated() {
            break;
        }
        let near = nearest(name, known).map(|n| format!("; did you mean `{n}`?")).unwrap_or_default();
        faults
            .add(
                &at.member(name),
                "unknown_member",
                format!("there is no member `{}` here{near}", clip(name)),
            )
            .allow(known.iter().copied());
    }
}

#[cold]
fn missing(name: &str, what: Option<&str>, at: &At<'_>, faults: &mut Faults) {
    let more = what.map_or_else(String::new, |what| format!(": {what}"));
    faults.add(at, "required", format!("the member `{name}` is required{more}"));
}

fn clip(name: &str) -> String {
    name.chars().take(60).collect()
}

/// The known name that a misspelt one most likely meant.
pub fn nearest<'k>(name: &str, known: &[&'k str]) -> Option<&'k str> {
    known
        .iter()
        .map(|candidate| (edits(name, candidate), *candidate))
        .filter(|(distance, candidate)| {
            *distance <= 2.max(candidate.len() / 4) && *distance < candidate.len()
        })
        .min()
        .map(|(_, candidate)| candidate)
}

/// Levenshtein distance, capped by the caller's use to short names.
fn edits(a: &str, b: &str) -> usize {
    if a.len() > 64 {
        return usize::MAX;
    }
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, cb) in b.iter().enumerate() {
            let substitute = diagonal + usize::from(ca != *cb);
            diagonal = row[j + 1];
            row[j + 1] = substitute.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}
