//! What `validate_only` answers: what the write would answer, without what only writing gives.

use super::super::reply::{LISTED, UNWRITTEN};
use utoipa::openapi::path::{Operation, Parameter};
use utoipa::openapi::schema::{ArrayItems, Object, Schema};
use utoipa::openapi::{Content, OpenApi, Ref, RefOr, Response, ResponseBuilder};

type Schemas = std::collections::BTreeMap<String, RefOr<Schema>>;

/// Describes the answer to `validate_only=true` of every operation that takes it. What would be made has a shape of its own,
/// `…Unwritten`: that of what is made, without what nothing has that is not there.
pub(super) fn describe(document: &mut OpenApi) {
    let mut made = Schemas::new();
    let components = document.components.get_or_insert_default();
    for item in document.paths.paths.values_mut() {
        let operations = [&mut item.post, &mut item.patch, &mut item.delete, &mut item.put];
        for operation in operations.into_iter().flatten().filter(|o| validates(o)) {
            describe_of(operation, &components.schemas, &mut made);
        }
    }
    components.schemas.extend(made);
}

fn validates(operation: &Operation) -> bool {
    let named = |p: &RefOr<Parameter>| matches!(p, RefOr::T(p) if p.name == "validate_only");
    operation.parameters.iter().flatten().any(named)
}

fn describe_of(operation: &mut Operation, schemas: &Schemas, made: &mut Schemas) {
    let responses = &mut operation.responses.responses;
    let created = match responses.get("201") {
        Some(RefOr::T(created)) => Some(created.clone()),
        _ => None,
    };
    match (created, responses.get_mut("200")) {
        (Some(created), None) => {
            responses.insert("200".to_owned(), RefOr::T(would_be(&created, schemas, made)));
        }
        (created, Some(RefOr::T(there))) => {
            if created.is_some() && !there.description.contains("validate_only") {
                there
                    .description
                    .push_str(" With `validate_only=true` also what would be made: nothing was written.");
            }
            if let Some(RefOr::T(tag)) = there.headers.get_mut("ETag") {
                let text = tag.description.get_or_insert_default();
                if !text.contains("validate_only") {
                    let end = text.trim_end_matches('.').len();
                    text.truncate(end);
                    text.push_str("; absent with `validate_only`.");
                }
            }
        }
        _ => {}
    }
}

/// The answer in place of this one where nothing is written.
fn would_be(created: &Response, schemas: &Schemas, made: &mut Schemas) -> Response {
    let json = match created.content.get("application/json") {
        Some(RefOr::T(content)) => content.schema.clone(),
        _ => None,
    };
    let schema = json.map(|schema| {
        let name = match &schema {
            RefOr::Ref(at) => named(at).to_owned(),
            RefOr::T(_) => return schema,
        };
        let Some(bare) = unwritten(&schema, schemas) else { return schema };
        let own = format!("{}Unwritten", name.trim_end_matches("Out"));
        made.insert(own.clone(), RefOr::T(bare));
        Ref::from_schema_name(own).into()
    });
    ResponseBuilder::new()
        .description(
            "With `validate_only=true`: what would be made. Nothing was written, so it has no `id` (records in a list have no \
             `number` either), and the answer has no ETag and no Location.",
        )
        .content("application/json", Content::new(schema))
        .build()
}

fn named(at: &Ref) -> &str {
    at.ref_location.rsplit('/').next().unwrap_or_default()
}

/// A shape without the id of a record, and without those of the records listed in it; none where it has nothing of that.
fn unwritten(shape: &RefOr<Schema>, schemas: &Schemas) -> Option<Schema> {
    match shape {
        RefOr::Ref(at) => unwritten(schemas.get(named(at))?, schemas),
        RefOr::T(Schema::Object(object)) => {
            let mut object = object.clone();
            let mut changed = drop_from(&mut object, &["id"]);
            for list in LISTED {
                changed |=
                    object.properties.get_mut(*list).is_some_and(|property| bare_list(property, schemas));
            }
            changed.then_some(Schema::Object(object))
        }
        RefOr::T(Schema::AllOf(all)) => {
            let mut all = all.clone();
            let mut changed = false;
            for part in &mut all.items {
                if let Some(bare) = unwritten(part, schemas) {
                    *part = RefOr::T(bare);
                    changed = true;
                }
            }
            changed.then_some(Schema::AllOf(all))
        }
        RefOr::T(_) => None,
    }
}

/// Takes members out of an object; whether any was there.
fn drop_from(object: &mut Object, members: &[&str]) -> bool {
    object.required.retain(|r| !members.contains(&r.as_str()));
    let before = object.properties.len();
    for member in members {
        object.properties.remove(*member);
    }
    object.properties.len() < before
}

/// Takes out of the records of a list what only writing gives them; whether there was such a thing.
fn bare_list(property: &mut RefOr<Schema>, schemas: &Schemas) -> bool {
    let RefOr::T(Schema::Array(list)) = property else { return false };
    let ArrayItems::RefOrSchema(items) = &mut list.items else { return false };
    let record = match &**items {
        RefOr::Ref(at) => schemas.get(named(at)).cloned(),
        own => Some(own.clone()),
    };
    let Some(RefOr::T(Schema::Object(mut object))) = record else { return false };
    let changed = drop_from(&mut object, UNWRITTEN);
    **items = RefOr::T(Schema::Object(object));
    changed
}
