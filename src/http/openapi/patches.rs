//! The shape of merge patches: that of the record they change, each member optional, and null where it may be left out.

use super::super::extract::MERGE_PATCH;
use serde_json::{Map, Value, json};
use std::collections::{BTreeMap, BTreeSet};
use utoipa::openapi::schema::Schema;
use utoipa::openapi::{OpenApi, Ref, RefOr};

/// Gives every merge patch a shape of its own, `…Patch`, made from the shape of the record that its operation names, and so every
/// object in it.
pub(super) fn describe(document: &mut OpenApi) {
    let components = document.components.get_or_insert_default();
    let mut patches = Patches { schemas: &components.schemas, made: BTreeMap::new() };
    for item in document.paths.paths.values_mut() {
        let Some(RefOr::T(body)) = item.patch.as_mut().and_then(|o| o.request_body.as_mut()) else {
            continue;
        };
        let Some(RefOr::T(content)) = body.content.get_mut(MERGE_PATCH) else { continue };
        let Some(RefOr::Ref(record)) = &content.schema else { continue };
        if let Some(patch) = patches.named(last(&record.ref_location)) {
            content.schema = Some(Ref::from_schema_name(&patch).into());
        }
    }
    let made = patches
        .made
        .into_iter()
        .filter_map(|(name, patch)| Some((name, serde_json::from_value(patch).ok()?)));
    components.schemas.extend(made.collect::<Vec<_>>());
}

/// The name at the end of a reference.
fn last(at: &str) -> &str {
    at.rsplit('/').next().unwrap_or_default()
}

/// The shapes of the records, and the patches made of them.
struct Patches<'d> {
    schemas: &'d BTreeMap<String, RefOr<Schema>>,
    made: BTreeMap<String, Value>,
}

impl Patches<'_> {
    fn shape(&self, name: &str) -> Value {
        self.schemas.get(name).and_then(|shape| serde_json::to_value(shape).ok()).unwrap_or_default()
    }

    /// The name of the patch of a shape; none where that is no object, and is put in place of what is there as a whole.
    fn named(&mut self, name: &str) -> Option<String> {
        let shape = self.shape(name);
        let is_object = shape.get("properties").is_some() || shape.get("discriminator").is_some();
        let patch = format!("{}Patch", name.trim_end_matches("In"));
        if is_object && !self.made.contains_key(&patch) {
            // It is there before its members are looked at, so that a shape may hold itself.
            self.made.insert(patch.clone(), Value::Null);
            let made = if shape.get("discriminator").is_some() {
                self.any_of(name, &shape)
            } else {
                self.object(name, &shape)
            };
            self.made.insert(patch.clone(), made);
        }
        is_object.then_some(patch)
    }

    /// The patch of an object: its members, none of them needed.
    fn object(&mut self, name: &str, shape: &Value) -> Value {
        let needed = needed(shape);
        let members: Map<String, Value> = properties(shape)
            .map(|(member, property)| {
                (member.clone(), self.patched(property, needed.contains(member.as_str())))
            })
            .collect();
        let description = format!(
            "Members of `{name}`, each optional: what is sent replaces what is there, null deletes it, a list is replaced whole, an \
             object is patched in turn (RFC 7396)."
        );
        json!({"type": "object", "description": description, "properties": members, "additionalProperties": false})
    }

    /// The patch of one of several objects that are told apart by a word: members of any of them, so that what is there may also become
    /// another one, with null for what that has not.
    fn any_of(&mut self, name: &str, shape: &Value) -> Value {
        let by = shape["discriminator"]["propertyName"].as_str().unwrap_or_default().to_owned();
        let kinds: Vec<Value> = shape["oneOf"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|one| self.shape(last(one["$ref"].as_str().unwrap_or_default())))
            .collect();
        let words: Vec<&Value> = kinds
            .iter()
            .flat_map(|kind| kind["properties"][&by]["enum"].as_array().into_iter().flatten())
            .collect();
        let mut members = Map::new();
        for (member, property) in kinds.iter().flat_map(properties).filter(|(member, _)| **member != by) {
            let (about, bare) = apart(property);
            let has: &mut Value =
                members.entry(member.clone()).or_insert_with(|| json!({"anyOf": [], "description": ""}));
            if let Some(shapes) = has["anyOf"].as_array_mut().filter(|shapes| !shapes.contains(&bare)) {
                shapes.push(bare);
            }
            let told = has["description"].as_str().unwrap_or_default();
            if !told.contains(&about) {
                has["description"] = format!("{told} {about}").trim().into();
            }
        }
        for property in members.values_mut() {
            let (about, mut bare) = apart(property);
            if let Some([only]) = bare["anyOf"].as_array().map(Vec::as_slice) {
                bare = only.clone();
            }
            *property = with_text(&bare, &about);
            *property = self.patched(property, false);
        }
        members.insert(
            by.clone(),
            json!({"type": "string", "enum": words, "description": "Which of them it is, or becomes."}),
        );
        let description = format!(
            "Members of `{name}`, each optional, patched as an object is (RFC 7396). Where it becomes another one by its `{by}`, null \
             takes out what that has not."
        );
        json!({"type": "object", "description": description, "properties": members, "additionalProperties": false})
    }

    /// What may stand for a member in a patch.
    fn patched(&mut self, property: &Value, needed: bool) -> Value {
        let (mut about, mut bare) = apart(property);
        if let Some(record) = property.get("$ref").and_then(Value::as_str).map(last)
            && let Some(patch) = self.named(record)
        {
            about =
                format!("{about} Patched as `{record}`: each of its members is optional.").trim().to_owned();
            bare = json!({"$ref": format!("#/components/schemas/{patch}")});
        }
        if needed {
            with_text(&bare, &about)
        } else {
            json!({"oneOf": [bare, {"type": "null"}], "description": about})
        }
    }
}

fn properties(shape: &Value) -> impl Iterator<Item = (&String, &Value)> {
    shape["properties"].as_object().into_iter().flatten()
}

/// The members without which an object is none.
fn needed(shape: &Value) -> BTreeSet<&str> {
    shape["required"].as_array().into_iter().flatten().filter_map(Value::as_str).collect()
}

/// What is said of a member, and its shape without that.
fn apart(property: &Value) -> (String, Value) {
    let mut bare = property.clone();
    let about = bare.as_object_mut().and_then(|members| members.remove("description"));
    (about.as_ref().and_then(Value::as_str).unwrap_or_default().to_owned(), bare)
}

fn with_text(shape: &Value, about: &str) -> Value {
    let mut out = shape.clone();
    if let Some(members) = out.as_object_mut() {
        members.insert("description".to_owned(), about.into());
    }
    out
}
