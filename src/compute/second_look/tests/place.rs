//! Holidays of another country.

use super::{silent, told};
use serde_json::json;

#[test]
fn holidays_of_another_country_are_told() {
    told(&[(
        |b| {
            b["currency"] = json!("EUR");
            b["plan_rules"]["calendars"] = json!([]);
            b["plan_rules"].as_object_mut().unwrap().remove("notice_calendar");
        },
        "#/plan_rules/calendars",
        "federal holidays of the United States",
    )]);
    told(&[(
        |b| {
            b["unit_system"] = json!("metric");
            b.as_object_mut().unwrap().remove("plan_rules");
        },
        "#/plan_rules",
        "the office measures in metres and no calendar is given",
    )]);
    silent(&[
        |b| b["currency"] = json!("EUR"),
        |b| b["unit_system"] = json!("metric"),
        |b| {
            b.as_object_mut().unwrap().remove("plan_rules");
        },
    ]);
}
