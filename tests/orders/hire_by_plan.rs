//! The hire of a job with dates: what is shown, what is charged, and whether a machine is held through a gap.

use crate::estimate::{book, estimate, number};
use rust_decimal::Decimal;
use serde_json::{Value, json};

fn list<'v>(estimate: &'v Value, name: &str) -> &'v Vec<Value> {
    estimate[name].as_array().unwrap()
}

/// What the lines of a machine charge, or those of all machines.
fn charged(estimate: &Value, machine: Option<&str>) -> Decimal {
    let of = |l: &&Value| l["category"] == "hire" && machine.is_none_or(|m| l["code"] == m);
    list(estimate, "cost_lines").iter().filter(of).map(|l| number(&l["cost"])).sum()
}

fn shown(estimate: &Value) -> Decimal {
    list(estimate, "hires").iter().map(|h| number(&h["total"])).sum()
}

#[test]
fn two_of_a_machine_at_once_are_shown_as_they_are_charged() {
    let book = book(|b| {
        b["plan_rules"]["machines"] =
            json!([{"machine": "mini-excavator", "count": 2}, {"machine": "plate-compactor", "count": 2}]);
        b["plan_rules"]["keep_machine_idle_days"] = json!(0);
    });
    let estimate = estimate(&book, |n| {
        let notes = n.as_object_mut().unwrap();
        notes.remove("storm");
        notes.remove("catchments");
        let runs = notes["runs"].as_array_mut().unwrap();
        for k in 0..3 {
            runs.push(json!({"id": format!("x{k}"), "legs": [{"length": "40 ft"}], "channel_system": "channel-4-light",
                "crossing": "feet", "outlets": [{"kind": "end", "id": format!("xo{k}"), "at": "finish"}]}));
        }
        n["options"]["methods"] = json!([{"task": "dig_run", "method": "mini-excavator"}]);
        n["schedule"] = json!({"start": "2027-03-02", "crews": ["crew-1", "crew-2"], "pours": "each_run"});
    });
    let twice: Vec<&Value> = list(&estimate, "hires").iter().filter(|h| h["units"] == 2).collect();
    assert!(!twice.is_empty());
    for hire in twice {
        assert_eq!(number(&hire["total"]), number(&hire["per_unit"]) * Decimal::TWO);
        let basis = hire["basis"].as_str().unwrap();
        assert!(basis.ends_with(&format!("; 2 of them = {}", hire["total"].as_str().unwrap())), "{basis}");
    }
    assert_eq!(shown(&estimate), charged(&estimate, None));
}

#[test]
fn a_machine_is_held_through_a_gap_where_fetching_it_again_costs_more() {
    let with = |transport: &str| {
        let book = book(|b| {
            b["plan_rules"]["keep_machine_idle_days"] = json!(0);
            for m in
                b["equipment"].as_array_mut().unwrap().iter_mut().filter(|m| m["code"] == "mini-excavator")
            {
                m["transport"] = json!(transport);
            }
            for l in b["labor"].as_array_mut().unwrap().iter_mut().filter(|l| l["task"] == "strip_and_clean")
            {
                l["equipment"] = json!(["mini-excavator"]);
            }
        });
        estimate(&book, |n| n["schedule"] = json!({"start": "2027-03-02"}))
    };
    let hire = |estimate: &Value| {
        let of: Vec<&Value> =
            list(estimate, "hires").iter().filter(|h| h["machine"] == "mini-excavator").collect();
        assert_eq!(of.len(), 1, "{of:?}");
        of[0].clone()
    };
    // The plan needs it on two days a week apart: a week at 990.00 and one transport, or twice a day at 295.00 with its own.
    let held = with("500.00");
    let windows: Vec<&Value> =
        list(&held["plan"], "machines").iter().filter(|m| m["machine"] == "mini-excavator").collect();
    assert_eq!(windows.len(), 2);
    let one = hire(&held);
    assert_eq!(one["total"], "1490.00");
    assert_eq!(one["stays"].as_array().unwrap().len(), 1);
    let days: i64 = windows.iter().map(|w| w["used_days"].as_i64().unwrap()).sum();
    let stay = &one["stays"][0];
    let length = stay["last"].as_i64().unwrap() - stay["first"].as_i64().unwrap() + 1;
    assert_eq!(stay["idle"].as_i64(), Some(length - days));
    assert_eq!(charged(&held, Some("mini-excavator")), number(&one["total"]));
    assert_eq!(shown(&held), charged(&held, None));
    let date = |window: &Value, end: &str| window[end].as_str().unwrap().to_owned();
    let whole = format!("from {} to {}: 7 days on site: ", date(windows[0], "from"), date(windows[1], "to"));
    assert!(one["basis"].as_str().unwrap().starts_with(&whole), "{}", one["basis"]);
    let said = list(&held, "cost_lines").iter().any(|l| {
        l["code"] == "mini-excavator" && l["basis"].as_str().unwrap().contains("kept through 5 calendar days")
    });
    assert!(said);

    let returned = with("85.00");
    let twice = hire(&returned);
    let stays = twice["stays"].as_array().unwrap();
    assert_eq!(stays.len(), 2);
    // counted from the first day of the job
    let start: jiff::civil::Date = returned["plan"]["start"].as_str().unwrap().parse().unwrap();
    for (stay, window) in stays.iter().zip(&windows) {
        let on: jiff::civil::Date = window["from"].as_str().unwrap().parse().unwrap();
        assert_eq!(stay["first"].as_i64(), Some((on - start).get_days().into()));
        let told = format!("on {on}: 1 day on site: ");
        assert!(twice["basis"].as_str().unwrap().contains(&told), "{}", twice["basis"]);
    }
    assert_eq!(charged(&returned, Some("mini-excavator")), number(&twice["total"]));
}
