//! Fields of a computing core, such as `legs[north].length`, at their places in a request.

use crate::wire::{Fault, Faults};

/// Adds a fault of a field; `place` finds the number of a named entry in a list of the request. Where the request has no such
/// entry the fault is of the list.
pub(super) fn add(
    faults: &mut Faults,
    field: &str,
    value: Option<String>,
    rule: &str,
    place: impl Fn(&str, &str) -> Option<usize>,
) {
    let pointer = match field.split_once('[').and_then(|(list, rest)| Some((list, rest.split_once(']')?))) {
        Some((list, (name, member))) => match place(list, name) {
            Some(i) => ["#/", list, "/", &i.to_string(), &member.replace('.', "/")].concat(),
            None => ["#/", list].concat(),
        },
        None => ["#/", &field.replace('.', "/")].concat(),
    };
    let detail = format!("outside what is allowed: {rule}");
    faults.push(Fault { pointer, code: "out_of_range", detail, value, allowed: Vec::new() });
}
