//! Plans made from layouts: hours shared without loss, pours that fit a day, books without any planning rules.

use rillcast::compute::job_plan::PlanAnswer;
use rillcast::compute::job_plan::report::Carried;
use rillcast::compute::pipeline;
use rillcast::domain::book::{BookRef, PriceBook};
use rillcast::domain::demo::{BOOK, NOTES};
use rillcast::domain::lines::Outcome;
use rillcast::wire::planning::PlanInputs;
use rillcast::wire::{Faults, read_value};
use serde_json::{Value, json};

fn book(change: impl Fn(&mut Value)) -> PriceBook {
    let mut book: Value = serde_json::from_str(BOOK).unwrap();
    change(&mut book);
    PriceBook::check(read_value(&book).unwrap()).unwrap()
}

fn notes(change: impl Fn(&mut Value)) -> Value {
    let mut notes: Value = serde_json::from_str(NOTES).unwrap();
    change(&mut notes);
    notes
}

fn plan(notes: &Value, inputs: &Value, book: &PriceBook) -> Result<PlanAnswer, Faults> {
    let inputs: PlanInputs = read_value(inputs).unwrap();
    let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
    pipeline::plan(
        &read_value(notes).unwrap(),
        &inputs,
        &Carried::default(),
        book,
        &used,
        &rillcast::domain::demo::rains().unwrap(),
    )
    .map(|(answer, _)| answer)
}

fn hours(plan: &PlanAnswer, wanted: impl Fn(&str) -> bool) -> f64 {
    let of = |q: rillcast::units::Quantity| q.value().to_string().parse::<f64>().unwrap();
    plan.tasks.iter().filter(|t| wanted(&t.id)).map(|t| of(t.crew_hours)).sum()
}

#[test]
fn a_pour_longer_than_a_day_is_poured_on_several_days_one_after_the_other() {
    let book = book(|_| ());
    // A long run: its concrete alone is more than a day of placing and finishing.
    let long = notes(|n| {
        n["runs"][0]["legs"] = json!([{"length": "700 ft"}]);
        n["runs"][0]["outlets"] = json!([{"kind": "bottom", "id": "drive-out", "at": "699 ft"}]);
    });
    let plan = plan(&long, &json!({"start": "2027-03-02"}), &book).unwrap();
    let pours: Vec<_> = plan.tasks.iter().filter(|t| t.id.starts_with("pour.")).collect();
    assert!(pours.len() >= 3, "{}", pours.len());
    for pour in &pours {
        assert_eq!(pour.start, pour.finish, "{} stands overnight", pour.id);
        assert!(hours(&plan, |id| id == pour.id) <= 8.0, "{}", pour.id);
    }
    let of_run: Vec<_> =
        pours.iter().filter(|p| p.part.as_deref().is_some_and(|p| p.contains("drive"))).collect();
    assert!(of_run.windows(2).all(|w| w[0].finish < w[1].start), "the same run on the same day");
    let told = ordered_as_one(&plan);
    assert_eq!(told.len(), 1, "{:?}", plan.cautions);
    assert!(told[0].starts_with("the concrete is ordered as one quantity, but the plan has"), "{}", told[0]);
}

/// What the cautions say of orders that are poured several times.
fn ordered_as_one(plan: &PlanAnswer) -> Vec<&String> {
    plan.cautions.iter().filter(|c| c.contains("ordered as one quantity")).collect()
}

#[test]
fn orders_are_counted_by_pour_day_and_dates_of_one_order_are_named() {
    let book = book(|_| ());
    let by_day = |length: &str| {
        let at = format!("{} ft", length.strip_suffix(" ft").unwrap().parse::<i64>().unwrap() - 1);
        let notes = notes(|n| {
            n["runs"][0]["legs"] = json!([{"length": length}]);
            n["runs"][0]["outlets"] = json!([{"kind": "bottom", "id": "drive-out", "at": at}]);
            n["runs"][0]["pour_days"] = json!([1]);
            n["runs"][1]["pour_days"] = json!([2]);
        });
        plan(&notes, &json!({"start": "2027-03-02"}), &book).unwrap()
    };
    // an order for each of the two pour days, each poured on one date
    let short = by_day("30 ft");
    let pours = short.tasks.iter().filter(|t| t.id.starts_with("pour.")).count();
    assert_eq!((pours, ordered_as_one(&short)), (2, vec![]));
    // the first is more than a day can place
    let long = by_day("700 ft");
    let mut dates: Vec<&str> = Vec::new();
    let of_drive = |t: &&rillcast::compute::job_plan::answer::TaskOut| {
        t.id.starts_with("pour.") && t.part.as_deref().is_some_and(|p| p.contains("drive"))
    };
    dates.extend(long.tasks.iter().filter(of_drive).map(|t| t.start.as_str()));
    let (last, before) = dates.split_last().unwrap();
    let told = ordered_as_one(&long);
    assert_eq!(told.len(), 1, "{:?}", long.cautions);
    let said = format!(
        "the concrete of pour day 1 is ordered as one quantity, but the plan has {} pours on {} and {last}: ",
        dates.len(),
        before.join(", ")
    );
    assert!(told[0].starts_with(&said), "{} against {said}", told[0]);
}

#[test]
fn bags_are_mixed_in_the_pour_they_go_into() {
    let book = book(|_| ());
    let bags = notes(|n| n["options"] = json!({"concrete_way": "bags-80"}));
    let plan = plan(&bags, &json!({"start": "2027-03-02"}), &book).unwrap();
    let pour = plan.tasks.iter().find(|t| t.id == "pour.1").unwrap();
    let words: Vec<&str> = pour.work_of.iter().map(|t| t.word()).collect();
    assert_eq!(words, ["mix_concrete", "pour", "finish"]);
    assert!(pour.machines.iter().any(|m| m.machine == "drum-mixer"));
    assert!(!plan.tasks.iter().any(|t| t.id.starts_with("mix")));
}

#[test]
fn a_book_without_planning_rules_plans_with_the_usual_values() {
    let bare = book(|b| {
        b.as_object_mut().unwrap().remove("plan_rules");
    });
    let plan = plan(&notes(|_| ()), &json!({"start": "2027-03-02"}), &bare).unwrap();
    assert_eq!(plan.calendar, "Monday to Friday, federal holidays of the United States observed");
    assert!(plan.tasks.iter().all(|t| t.kind.word() != "work" || t.crew.as_deref() == Some("crew")));
    // Three clear working days, five for the permit, one for the inspection: as in the demo book.
    assert_eq!(plan.finish, "2027-03-22");
}

/// Where the book names no crew, the crew has of each trade as many people as the rate that needs the most of them.
#[test]
fn a_crew_that_nobody_names_has_the_people_of_the_largest_task() {
    let bare = book(|b| {
        b.as_object_mut().unwrap().remove("plan_rules");
        let labor = b["labor"].as_array_mut().unwrap();
        for rate in labor.iter_mut().filter(|r| r["task"] == "pour") {
            rate["crew"][1]["count"] = json!(9);
        }
    });
    let made = plan(&notes(|_| ()), &json!({"start": "2027-03-02"}), &bare);
    assert!(made.is_ok(), "{:?}", made.err());
}

/// A finish wished for the day on which the plan ends is kept with nothing to spare.
#[test]
fn a_wish_for_the_very_day_is_kept() {
    let wished = |day: &str| {
        let made =
            plan(&notes(|_| ()), &json!({"start": "2027-03-02", "finish": day}), &book(|_| ())).unwrap();
        let check = made.checks.iter().find(|c| c.name == "finish_wished").unwrap();
        (check.outcome, check.reason.clone())
    };
    let (outcome, words) = wished("2027-03-22");
    assert_eq!(outcome, Outcome::Pass, "{words}");
    assert!(words.contains("; 0 working days to spare until 2027-03-22"), "{words}");
    let (outcome, words) = wished("2027-03-19");
    assert_eq!(outcome, Outcome::Warn, "{words}");
    assert!(words.contains(", 1 working day after the wished 2027-03-19"), "{words}");
}

/// What fills the working day to the minute is one pour, of one run or of all of them; a minute less of a day makes two of it.
#[test]
fn a_pour_may_fill_the_day_to_the_minute() {
    let pours = |day: Option<i64>, change: fn(&mut Value)| -> Vec<f64> {
        let bare = book(|b| {
            b.as_object_mut().unwrap().remove("plan_rules");
            if let Some(day) = day {
                b["labor_rules"]["day"] = json!(format!("{day} min"));
            }
        });
        let made = plan(&notes(change), &json!({"start": "2027-03-02"}), &bare).unwrap();
        let tasks = made.tasks.iter().filter(|t| t.id.starts_with("pour."));
        tasks.map(|t| hours(&made, |id| id == t.id) * 60.0).collect()
    };
    let one_run = |n: &mut Value| {
        n["runs"].as_array_mut().unwrap().truncate(1);
        for member in ["drain_lines", "catchments", "storm"] {
            n.as_object_mut().unwrap().remove(member);
        }
    };
    for change in [one_run as fn(&mut Value), |_| ()] {
        let [whole] = pours(None, change).try_into().unwrap();
        let minutes = whole.round() as i64;
        assert_eq!(pours(Some(minutes), change).len(), 1, "{minutes} min");
        assert_eq!(pours(Some(minutes - 1), change).len(), 2, "{minutes} min");
    }
}

#[test]
fn waits_are_settings() {
    let finish = |change: fn(&mut Value)| {
        let plan = plan(&notes(|_| ()), &json!({"start": "2027-03-02"}), &book(change)).unwrap();
        (plan.start.clone(), plan.finish.clone(), plan)
    };
    let (_, usual, _) = finish(|_| ());
    // 4,000 psi reach 3,000 psi after 8.28 days (ACI 209R-92, from memory): 9 days, from Friday the 12th to Sunday the 21st.
    let (_, by_strength, plan) =
        finish(|b| b["plan_rules"]["waits"]["strength"] = json!({"mix_psi": 4000, "wheels_psi": 3000}));
    let cure = plan.tasks.iter().find(|t| t.id == "cure.1").unwrap();
    assert_eq!(cure.finish, "2027-03-21");
    assert!(cure.basis.contains("3000 psi of 4000 psi"), "{}", cure.basis);
    assert_eq!((usual.as_str(), by_strength.as_str()), ("2027-03-22", "2027-03-22"), "the same Monday");
    let (_, sooner, plan) = finish(|b| b["plan_rules"]["waits"]["clear_up"] = json!("with_the_work"));
    let clear = plan.tasks.iter().find(|t| t.id == "clear_up").unwrap();
    assert!(clear.finish.as_str() < "2027-03-19", "{}", clear.finish);
    assert_eq!(sooner, "2027-03-19", "complete when wheels may cross");
    let (_, none, plan) = finish(|b| {
        b["plan_rules"]["waits"] =
            json!({"marks_working_days": 0, "permit_working_days": 0, "inspection_working_days": 0});
    });
    assert!(!plan.tasks.iter().any(|t| t.id == "permit" || t.id.starts_with("inspection")));
    assert!(none < usual);
}

#[test]
fn a_closure_moves_what_falls_into_it() {
    let closed = book(|b| {
        b["plan_rules"]["calendars"][0]["closed"] =
            json!([{"from": "2027-03-12", "to": "2027-03-16", "reason": "Crew at another site"}]);
    });
    let plan = plan(&notes(|_| ()), &json!({"start": "2027-03-02"}), &closed).unwrap();
    let pour = plan.tasks.iter().find(|t| t.id == "pour.1").unwrap();
    assert_eq!(pour.start, "2027-03-17");
    assert!(plan.crew_loading.iter().all(|l| !("2027-03-12"..="2027-03-16").contains(&l.on.as_str())));
    let closures = |plan: &PlanAnswer| -> Vec<String> {
        plan.cautions.iter().filter(|c| c.contains("closed")).cloned().collect()
    };
    assert_eq!(
        closures(&plan),
        [
            "Crews, Monday to Friday: closed 2027-03-12 to 2027-03-16, which moves what would fall on it: Crew at another site"
        ]
    );
    // while the concrete cures, on a weekend, and of the town's offices
    let told = |index: usize, from: &str, to: &str| {
        let closed = book(|b| {
            b["plan_rules"]["calendars"][index]["closed"] =
                json!([{"from": from, "to": to, "reason": "Away"}]);
        });
        closures(&self::plan(&notes(|_| ()), &json!({"start": "2027-03-02"}), &closed).unwrap())
    };
    assert_eq!(told(0, "2027-03-16", "2027-03-18"), Vec::<String>::new());
    assert_eq!(told(0, "2027-03-13", "2027-03-14"), Vec::<String>::new());
    assert_eq!(
        told(2, "2027-03-04", "2027-03-04"),
        ["Town offices: closed 2027-03-04, which moves what would fall on it: Away"]
    );
}

#[test]
fn marks_that_lapse_before_the_digging_are_told() {
    let lapsing = book(|b| b["plan_rules"]["waits"]["marks_good_for_days"] = json!(6));
    let plan = plan(&notes(|_| ()), &json!({"start": "2027-03-02"}), &lapsing).unwrap();
    assert!(plan.cautions.iter().any(|c| c.contains("call again before they lapse")), "{:?}", plan.cautions);
}

#[test]
fn the_call_for_marks_is_told_once() {
    let plan = plan(&notes(|_| ()), &json!({"start": "2027-03-02"}), &book(|_| ())).unwrap();
    let call = plan.hold_points.iter().find(|h| h.kind.word() == "call_before_digging").unwrap();
    assert!(
        call.text.starts_with("Call for utility marks on 2027-03-02, at the latest on "),
        "{}",
        call.text
    );
}

#[test]
fn names_of_any_length_make_ids_that_stay_apart() {
    let long = notes(|n| {
        for water in ["storm", "catchments", "inflows"] {
            n.as_object_mut().unwrap().remove(water);
        }
        let name = "d".repeat(63);
        n["runs"][0]["id"] = json!(format!("{name}a"));
        n["runs"][1]["id"] = json!(format!("{name}b"));
        n.as_object_mut().unwrap().remove("storm");
        n["catchments"] = json!([]);
    });
    let plan = plan(&long, &json!({"start": "2027-03-02"}), &book(|_| ())).unwrap();
    let ids: std::collections::BTreeSet<&str> = plan.tasks.iter().map(|t| t.id.as_str()).collect();
    assert_eq!(ids.len(), plan.tasks.len());
    assert!(ids.iter().all(|id| id.len() <= 64));
}

#[test]
fn the_call_goes_out_while_the_crews_are_away() {
    // the crews rest from 28 to 31 December, the town does not: permit on the 28th to the 31st and on 4 January
    let plan = plan(&notes(|_| ()), &json!({"start": "2026-12-28"}), &book(|_| ())).unwrap();
    let of = |id: &str| {
        let t = plan.tasks.iter().find(|t| t.id == id).unwrap();
        (t.start.as_str(), t.finish.as_str())
    };
    assert_eq!(of("call_for_marks"), ("2026-12-28", "2026-12-31"));
    assert_eq!(of("permit"), ("2026-12-28", "2027-01-04"));
    assert_eq!(of("mobilize").0, "2027-01-05");
    assert_eq!(plan.start, "2026-12-28");
}

#[test]
fn a_wait_slips_as_far_as_it_moves_nothing() {
    let plan = plan(&notes(|_| ()), &json!({"start": "2027-03-01"}), &book(|_| ())).unwrap();
    let of = |id: &str| {
        let t = plan.tasks.iter().find(|t| t.id == id).unwrap();
        (t.free_float.to_string(), t.total_float.to_string())
    };
    let same = |hours: &str| (hours.to_owned(), hours.to_owned());
    // called on Wednesday instead of Monday, the marks are there with the permit; a cure ends with its day
    assert_eq!(of("call_for_marks"), same("16 hr"));
    assert_eq!(of("cure.1"), same("5.7167 hr"));
    let permit = plan.tasks.iter().find(|t| t.id == "permit").unwrap();
    assert_eq!(permit.finish, "2027-03-05");
    assert!(permit.basis.ends_with("5 working days from 2027-03-01: through 2027-03-05"), "{}", permit.basis);
}

#[test]
fn what_can_slip_by_more_than_a_day_is_not_critical() {
    // cured on a weekend: the pour could be a day later and the crew would still be back on Monday
    let quick = book(|b| b["concrete_rules"]["cure_days_wheels"] = json!(3));
    let hours = |t: &rillcast::compute::job_plan::answer::TaskOut| -> f64 {
        t.total_float.value().to_string().parse().unwrap()
    };
    let mut slack_before_the_weekend = false;
    for day in 1..=14 {
        let start = format!("2027-03-{day:02}");
        let plan = plan(&notes(|_| ()), &json!({"start": start}), &quick).unwrap();
        for t in &plan.tasks {
            assert!(!t.critical || hours(t) <= 8.0, "{start}: {} is critical and slips {} h", t.id, hours(t));
            assert!(t.critical || hours(t) > 0.0, "{start}: {} cannot slip", t.id);
            assert_eq!(t.critical, plan.critical_path.contains(&t.id), "{start}: {}", t.id);
        }
        let of = |id: &str| plan.tasks.iter().find(|t| t.id == id).unwrap();
        assert!(of("clear_up").critical, "{start}");
        slack_before_the_weekend |= !of("pour.1").critical;
    }
    assert!(slack_before_the_weekend);
}

#[test]
fn wheels_are_named_for_parts_with_wheels_and_people_walk_on_the_rest_before() {
    // both are poured together: wheels cross the drive, people alone the path
    let plan = plan(&notes(|_| ()), &json!({"start": "2027-03-02"}), &book(|_| ())).unwrap();
    let of = |id: &str| plan.tasks.iter().find(|t| t.id == id).unwrap();
    assert_eq!(of("pour.1").part.as_deref(), Some("run drive, run path"));
    assert_eq!(of("pour.1").part_codes, ["drive", "path"]);
    assert!(of("mobilize").part.is_none() && of("mobilize").part_codes.is_empty());
    assert_eq!(
        (of("open.1").name.as_str(), of("open.1").start.as_str()),
        ("Open to wheels after this day: run drive", "2027-03-19")
    );
    assert_eq!(of("open.1.people").name, "Open to people after this day: run path");
    // poured on Friday the 12th; two days of cure for feet, seven for wheels
    assert_eq!(
        (of("cure.1.people").finish.as_str(), of("cure.1").finish.as_str()),
        ("2027-03-14", "2027-03-19")
    );
    let hold = |task: &str| plan.hold_points.iter().find(|h| h.task == task).unwrap();
    let (wheels, people) = (hold("open.1"), hold("open.1.people"));
    assert_eq!((wheels.kind.word(), wheels.then_from.as_str()), ("wheels_may_cross", "2027-03-20"));
    assert!(!wheels.text.contains("path"), "{}", wheels.text);
    assert_eq!((people.kind.word(), people.then_from.as_str()), ("people_may_cross", "2027-03-15"));
    assert_eq!(
        people.text,
        "Open to people after this day: run path: cure complete 2027-03-14; people may walk on it from 2027-03-15"
    );
}

#[test]
fn risk_carries_the_failed_checks_of_the_estimate() {
    let risk = |soil: &str| {
        let asked = json!({"notes": notes(|n| n["soil"] = json!(soil)), "draws": 100});
        let used = BookRef { version_id: "pbv_x".to_owned(), name: "Demo".to_owned(), number: 1 };
        let rains = rillcast::domain::demo::rains().unwrap();
        pipeline::risk(&read_value(&asked).unwrap(), &book(|_| ()), &used, &rains).unwrap()
    };
    let whole = risk("clay");
    assert_eq!(whole.checks, []);
    assert!(whole.basis.contains("hire and all else stay as estimated"), "{}", whole.basis);
    // the book has no rate for digging in rock
    let checks = risk("rock").checks;
    let told: Vec<(&str, &str)> = checks.iter().map(|c| (c.name, c.subject.as_str())).collect();
    assert!(told.contains(&("labor_rate", "dig_run")), "{told:?}");
    assert!(checks.iter().all(|c| c.outcome == rillcast::domain::lines::Outcome::Fail), "{checks:?}");
}

#[test]
fn a_rate_that_no_crew_can_man_is_told_in_words_of_the_book() {
    // As it may have been published before books were held against their crews.
    let mut large: Value = serde_json::from_str(BOOK).unwrap();
    for l in large["labor"].as_array_mut().unwrap().iter_mut().filter(|l| l["method"] == "breaker") {
        l["crew"] = json!([{"trade": "laborer", "count": 3}]);
    }
    let large = PriceBook::published(read_value(&large).unwrap());
    let told = |notes: &Value, inputs: &Value| -> (String, String) {
        let faults = plan(notes, inputs, &large).unwrap_err();
        assert_eq!(faults.list().len(), 1, "{faults:?}");
        (faults.list()[0].pointer.clone(), faults.list()[0].detail.clone())
    };
    let start = json!({"start": "2027-03-02"});
    let (pointer, detail) = told(&notes(|_| ()), &start);
    assert_eq!(pointer, "#", "the notes have no schedule");
    assert!(
        detail
            .starts_with("the labor of the price book needs 3 laborer at once for `break_out` by `breaker`"),
        "{detail}"
    );
    assert!(!detail.contains("tasks["), "{detail}");
    let dated = notes(|n| n["schedule"] = json!({"start": "2027-03-02"}));
    assert_eq!(told(&dated, &json!({})).0, "#/notes/schedule");
    let crewed = notes(|n| n["schedule"] = json!({"crews": ["crew-1"]}));
    assert_eq!(told(&crewed, &start).0, "#/notes/schedule/crews");
}

#[test]
fn the_second_visit_is_mobilized_when_the_crew_returns() {
    let with = |visits: i64, change: fn(&mut Value)| {
        let notes = notes(|n| n["options"] = json!({"visits": visits}));
        plan(&notes, &json!({"start": "2027-03-02"}), &book(change)).unwrap()
    };
    let mobilized = |plan: &PlanAnswer| -> Vec<(String, String)> {
        let all = plan.tasks.iter().filter(|t| t.id.starts_with("mobilize"));
        all.map(|t| (t.start.clone(), t.crew_hours.value().to_string())).collect()
    };
    let told = |plan: &PlanAnswer| plan.cautions.iter().any(|c| c.contains("visits"));
    let of = |plan: &PlanAnswer, id: &str| plan.tasks.iter().find(|t| t.id == id).unwrap().start.clone();
    let once = with(1, |_| ());
    let [(first, hours)] = mobilized(&once).try_into().unwrap();
    let twice = with(2, |_| ());
    // the way back on the day on which the site is cleared up, after the cure
    let back = of(&twice, "clear_up");
    assert_eq!(back, "2027-03-22");
    assert_eq!(mobilized(&twice), [(first.clone(), hours.clone()), (back.clone(), hours)]);
    assert!(!told(&twice), "{:?}", twice.cautions);
    // where the site is cleared up with the work, nothing sends the crew away
    let stays = with(2, |b| b["plan_rules"]["waits"]["clear_up"] = json!("with_the_work"));
    assert_eq!(mobilized(&stays).len(), 1);
    assert!(told(&stays), "{:?}", stays.cautions);
    let three = with(3, |_| ());
    assert_eq!(mobilized(&three).iter().map(|m| &m.0).collect::<Vec<_>>(), [&first, &back]);
    assert!(told(&three), "{:?}", three.cautions);
}
