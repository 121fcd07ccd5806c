//! The shape of merge patches: that of the record they change, each member also null.

use super::super::extract::MERGE_PATCH;
use serde_json::{Value, json};
use utoipa::openapi::schema::Schema;
use utoipa::openapi::{OpenApi, Ref, RefOr};

/// Gives every merge patch a shape of its own, `…Patch`, made from the shape of the record that its operation names.
pub(super) fn describe(document: &mut OpenApi) {
    let mut made = Vec::new();
    let components = document.components.get_or_insert_default();
    for item in document.paths.paths.values_mut() {
        let Some(RefOr::T(body)) = item.patch.as_mut().and_then(|o| o.request_body.as_mut()) else {
            continue;
        };
        let Some(RefOr::T(content)) = body.content.get_mut(MERGE_PATCH) else { continue };
        let Some(RefOr::Ref(record)) = &content.schema else { continue };
        let name = record.ref_location.rsplit('/').next().unwrap_or_default().to_owned();
        let Some(shape) = components.schemas.get(&name) else { continue };
        let Some(patch) = patch_of(&name, shape, &components.schemas) else { continue };
        let patch_name = format!("{}Patch", name.trim_end_matches("In"));
        content.schema = Some(Ref::from_schema_name(&patch_name).into());
        made.push((patch_name, patch));
    }
    components.schemas.extend(made);
}

type Schemas = std::collections::BTreeMap<String, RefOr<Schema>>;

/// A member of the record as it is, or null; what is an object there is patched member by member.
fn patch_of(name: &str, shape: &RefOr<Schema>, schemas: &Schemas) -> Option<RefOr<Schema>> {
    let shape = serde_json::to_value(shape).ok()?;
    let members: serde_json::Map<String, Value> = shape
        .get("properties")?
        .as_object()?
        .iter()
        .map(|(member, property)| (member.clone(), patched(property, schemas)))
        .collect();
    let description = format!(
        "Members of `{name}`, each optional: what is sent replaces what is there, null deletes it, a list is replaced whole, an \
         object is patched in turn (RFC 7396)."
    );
    let patch = json!({"type": "object", "description": description, "properties": members, "additionalProperties": false});
    serde_json::from_value(patch).ok()
}

fn patched(property: &Value, schemas: &Schemas) -> Value {
    let description = property.get("description").cloned().unwrap_or_default();
    let named = property.get("$ref").and_then(Value::as_str).and_then(|at| at.rsplit('/').next());
    let is_object = |name: &&str| {
        let shape = schemas.get(*name).and_then(|s| serde_json::to_value(s).ok()).unwrap_or_default();
        shape.get("properties").is_some()
    };
    match named.filter(is_object) {
        Some(name) => {
            let text = description.as_str().unwrap_or_default();
            let text =
                format!("{text} Patched as `{name}`: each of its members is optional, and null deletes it.");
            json!({"type": ["object", "null"], "description": text.trim(), "additionalProperties": true})
        }
        None => {
            let mut bare = property.clone();
            if let Some(members) = bare.as_object_mut() {
                members.remove("description");
            }
            json!({"oneOf": [bare, {"type": "null"}], "description": description})
        }
    }
}
