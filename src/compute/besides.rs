//! What is wrong with a request besides its form, where its form is at fault as well: all is told at once.
//!
//! The notes are read twice, with far apart values standing for what cannot be read. What is wrong both times, and does not speak
//! of anything that could not be read, is wrong whatever was meant.

use super::drainage::shelf::RainShelf;
use super::ready;
use crate::domain::book::PriceBook;
use crate::domain::layout::named::Named;
use crate::domain::words::Task;
use crate::wire::faults::below;
use crate::wire::notes::SiteNotes;
use crate::wire::{At, Code, Extreme, Fault, Faults, Wire as _};
use serde_json::Value;

/// Faults of something that no run or line has, and the list in which it may be where that could not be read.
const OF_WHAT_IS_MISSING: [(&str, &str); 2] = [("no_pour", "pour_days"), ("unknown_leg", "legs")];

/// What has such lists.
const PARTS: [&str; 2] = ["runs", "drain_lines"];

/// The rain table that the notes of a request name.
pub fn rain_table(request: &Value) -> Option<Code> {
    request.pointer("/notes/storm/rain/table").and_then(Value::as_str).and_then(Code::new)
}

/// Adds what else is wrong with a request to the faults of its form.
pub fn besides_form(request: &Value, book: &PriceBook, rains: &RainShelf, form: &mut Faults) {
    bare_codes(request, book, form);
    let others = of_notes(request, book, rains, form);
    form.extend(others);
}

/// The codes that a request without notes names.
fn bare_codes(request: &Value, book: &PriceBook, faults: &mut Faults) {
    let code = |value: Option<&Value>| value.and_then(Value::as_str).and_then(Code::new);
    let root = At::ROOT;
    for (member, named) in
        [("channel_system", Named::System), ("concrete_way", Named::ConcreteWay), ("machine", Named::Machine)]
    {
        if let Some(code) = code(request.get(member)) {
            named.check(&code, book, &root.member(member), faults);
        }
    }
    let list = root.member("methods");
    for (i, choice) in request.get("methods").and_then(Value::as_array).into_iter().flatten().enumerate() {
        let task = choice.get("task").and_then(|t| Task::read(&t.into(), &At::ROOT, &mut Faults::new()));
        if let (Some(task), Some(method)) = (task, code(choice.get("method"))) {
            Named::Method(task).check(&method, book, &list.element(i).member("method"), faults);
        }
    }
}

fn of_notes(request: &Value, book: &PriceBook, rains: &RainShelf, form: &Faults) -> Vec<Fault> {
    let Some(sent) = request.get("notes") else { return Vec::new() };
    let sent = sent.into();
    let read = Extreme::BOTH.map(|extreme| {
        let notes = SiteNotes::read(&sent, &At::ROOT, &mut Faults::standing_in(extreme))?;
        Some(ready::faults(&notes, book, rains).under("notes"))
    });
    let [Some(least), Some(most)] = read else { return Vec::new() };
    let stands = |fault: &&Fault| {
        most.list().contains(fault)
            && !form.list().iter().any(|unread| may_hide(request, unread, fault))
            && !form.list().iter().any(|unread| touch(&fault.pointer, unread_at(unread)))
            && fault.pointer.strip_prefix('#').is_some_and(|path| leads_somewhere(request, path))
    };
    least.list().iter().filter(stands).cloned().collect()
}

/// Whether what a fault misses may be among what could not be read.
fn may_hide(request: &Value, unread: &Fault, fault: &Fault) -> bool {
    let Some((_, list)) = OF_WHAT_IS_MISSING.iter().find(|(code, _)| *code == fault.code) else {
        return false;
    };
    let path: Vec<&str> = unread.pointer.split('/').collect();
    // a member of another name may be meant for the one that is missing beside it
    if unread.code == "unknown_member" {
        let beside = path.split_last().and_then(|(_, parent)| request.pointer(parent.join("/").get(1..)?));
        let lacks = |name: &str| beside.is_some_and(|object| object.get(name).is_none());
        return match path.as_slice() {
            ["#", "notes", _] => PARTS.into_iter().any(lacks),
            ["#", "notes", part, _, _] if PARTS.contains(part) => lacks(list),
            _ => false,
        };
    }
    match path.as_slice() {
        ["#", "notes", part] | ["#", "notes", part, _] => PARTS.contains(part),
        ["#", "notes", part, _, member] => PARTS.contains(part) && member == list,
        ["#", "notes", part, _, "pour_days", _] => PARTS.contains(part) && *list == "pour_days",
        _ => false,
    }
}

/// Where something could not be read: of an object whose kind is not known nothing could.
fn unread_at(fault: &Fault) -> &str {
    fault.pointer.strip_suffix("/kind").unwrap_or(&fault.pointer)
}

/// Whether one of two pointers leads to a part of what the other leads to.
fn touch(one: &str, other: &str) -> bool {
    below(one, other).is_some() || below(other, one).is_some()
}

/// Whether a pointer leads to what was sent, or to a member that is missing there.
fn leads_somewhere(request: &Value, path: &str) -> bool {
    let parent = path.rsplit_once('/').and_then(|(parent, _)| request.pointer(parent));
    request.pointer(path).is_some() || parent.is_some_and(Value::is_object)
}
