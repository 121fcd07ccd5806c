//! Every task and every measure of work has its hours, or a check fails.

use super::super::hours_of;
use super::*;
use crate::domain::work::{may_hold, measures_of};

/// A measure, its unit and the hours of one.
type Counted<'a> = (&'a str, &'a str, &'a str);

/// The demo book with other rates of a task.
fn rated(book: &mut Value, task: &str, rates: &[Counted<'_>]) {
    let labor = book["labor"].as_array_mut().unwrap();
    for rate in labor.iter_mut().filter(|r| r["task"] == task) {
        let rates = rates.iter().map(|(m, unit, hours)| json!({"measure": m, "unit": unit, "hours": hours}));
        rate["rates"] = rates.collect();
    }
}

fn by(rates: &[(&str, &[Counted<'_>])]) -> PriceBook {
    book_with(|b| rates.iter().for_each(|(task, rates)| rated(b, task, rates)))
}

fn tasks(answer: &LaborHours) -> Vec<Task> {
    answer.tasks.iter().map(|t| t.task).collect()
}

fn reasons(answer: &LaborHours) -> Vec<&str> {
    answer.checks.iter().filter(|c| c.outcome == Outcome::Fail).map(|c| c.reason.as_str()).collect()
}

fn feet(n: i64) -> i128 {
    Length::feet(n).nm().into()
}

/// What a task is called for by may be what another is rated by: each has its hours all the same.
#[test]
fn a_task_by_an_unusual_measure_keeps_its_hours_and_setup() {
    let book = by(&[("clear_up", &[("visits", "each", "2")])]);
    let visited = measured(&[(Measure::RunLength, feet(33)), (Measure::Visits, 1)]);
    let answer = worked(&visited, &normal(Soil::Clay), &book);
    assert!(failed(&answer).is_empty());
    assert_eq!(tasks(&answer), [Task::Mobilize, Task::MarkAndProtect, Task::ClearUp]);
    assert!(answer.tasks[2].basis.starts_with("setup 1 h + 1 visit x 2 h = 3 "), "{}", answer.tasks[2].basis);
    let conditions = normal(Soil::Clay);
    let show = Show(UnitSystem::Us);
    assert!(hours_of(Task::ClearUp, &visited, &conditions, &book, None, show).is_some());
    // Those who hang the channel count its hangers, and yet they are cleaned.
    let book = by(&[("strip_and_clean", &[("run_length", "ft", "0.05")])]);
    let hung = measured(&[(Measure::RunLength, feet(20)), (Measure::Hangers, 4)]);
    let answer = worked(&hung, &conditions, &book);
    let strip = answer.tasks.iter().find(|t| t.task == Task::StripAndClean);
    assert!(strip.is_some_and(|t| t.basis.contains("20 ft run_length x 0.05 h")), "{:?}", answer.tasks);
}

/// Work of several tasks is not done because one of them is.
#[test]
fn what_another_task_counts_for_itself_is_missing_all_the_same() {
    for (task, rates, parts, missing) in [
        ("clear_up", ("line_length", "ft", "0.01"), (Measure::RunLength, feet(20)), "run_length"),
        ("strip_and_clean", ("form_area", "ft2", "0.03"), (Measure::Hangers, 4), "hangers"),
        ("mark_and_protect", ("haul_loads", "each", "1"), (Measure::RunLength, feet(20)), "run_length"),
    ] {
        let answer = worked(&measured(&[parts]), &normal(Soil::Clay), &by(&[(task, &[rates])]));
        assert_eq!(failed(&answer), [("labor_rate", task.to_owned())]);
        let reason = reasons(&answer)[0];
        assert!(reason.ends_with(&format!(" counts {missing}: its hours are missing")), "{reason}");
    }
}

/// Fill around the pipe is missing beside native backfill as it is alone, and hangers beside bars as they are alone.
#[test]
fn one_kind_of_work_says_nothing_of_another() {
    let fill = [(Measure::PipeLength, feet(10)), (Measure::ZoneFill, hundredths_of_yard(40))];
    let filled = [fill[0], fill[1], (Measure::Backfill, hundredths_of_yard(10))];
    let hung = [(Measure::RunLength, feet(20)), (Measure::Hangers, 4)];
    let barred = [hung[0], hung[1], (Measure::BarLength, feet(40))];
    let lost = |task: &str, rates: &[Counted<'_>], parts: &[(Measure, i128)]| {
        let answer = worked(&measured(parts), &normal(Soil::Clay), &by(&[(task, rates)]));
        reasons(&answer)
            .iter()
            .map(|r| r.split(": ").next().unwrap_or_default().to_owned())
            .collect::<Vec<_>>()
    };
    let native = ("backfill", "yd3", "0.55");
    let zone = ["no rate of `plate-compactor` counts zone_fill"];
    for rates in [&[native][..], &[native, ("visits", "each", "0.5")]] {
        assert_eq!(lost("backfill", rates, &fill), zone);
        assert_eq!(lost("backfill", rates, &filled), zone);
    }
    let bars = ("bar_length", "ft", "0.05");
    for parts in [&hung[..], &barred] {
        assert_eq!(lost("hang_and_brace", &[bars], parts), ["no rate of `hand` counts hangers"]);
        // what else the office rates it by holds the hangers too
        assert!(lost("hang_and_brace", &[bars, ("run_length", "ft", "0.1")], parts).is_empty());
    }
    // by other measures alone it holds everything
    assert!(
        lost("backfill", &[("visits", "each", "3")], &[filled[1], filled[2], (Measure::Visits, 1)])
            .is_empty()
    );
    // fittings say nothing of the pipe between them
    let piped = [(Measure::PipeLength, feet(20)), (Measure::PipeFittings, 2)];
    let found = lost("lay_pipe", &[("pipe_fittings", "each", "0.15")], &piped);
    assert_eq!(found, ["no rate of `hand` counts pipe_length"]);
}

/// One measure of a kind of work counts it whole, whoever's rate it is: what comes with it is not missing.
#[test]
fn a_kind_that_another_task_counts_is_counted_whole() {
    let answer = |rates: &[(&str, &[Counted<'_>])], parts: &[(Measure, i128)]| {
        worked(&measured(parts), &normal(Soil::Clay), &by(rates))
    };
    let channel = &[("channel_length", "ft", "0.03"), ("grates", "each", "0.08")][..];
    let grated = [(Measure::ChannelLength, feet(20)), (Measure::Grates, 10), (Measure::GrateScrews, 40)];
    for cuts in [0, 2] {
        let parts = [&grated[..], &[(Measure::GrateCuts, cuts)]].concat();
        let found = answer(
            &[("assemble_channel", channel), ("fit_grates", &[("grate_cuts", "each", "0.2")])],
            &parts,
        );
        assert!(failed(&found).is_empty(), "{cuts}: {:?}", found.checks);
    }
    let piped = [
        (Measure::Connections, 1),
        (Measure::PipeLength, feet(20)),
        (Measure::PipeJoints, 3),
        (Measure::Bedding, hundredths_of_yard(40)),
    ];
    let connect = &[("connections", "each", "0.6"), ("pipe_length", "ft", "0.035")][..];
    let found = answer(&[("connect", connect), ("lay_pipe", &[("bedding", "yd3", "0.7")])], &piped);
    assert!(failed(&found).is_empty(), "{:?}", found.checks);
}

/// Who pours finishes as well: a book without a rate for finishing has its hours in pouring, and no task of its own.
#[test]
fn a_task_without_a_rate_is_done_by_who_counts_it() {
    let book = book_with(|b| {
        b["labor"].as_array_mut().unwrap().retain(|r| r["task"] != "finish");
        rated(b, "pour", &[("concrete_ordered", "yd3", "0.95"), ("finish_area", "ft2", "0.022")]);
    });
    let poured = measured(&[
        (Measure::ConcreteOrdered, hundredths_of_yard(175)),
        (Measure::FinishArea, (Length::FOOT * Length::feet(50)).nm2()),
    ]);
    let answer = worked(&poured, &normal(Soil::Clay), &book);
    assert!(failed(&answer).is_empty(), "{:?}", answer.checks);
    assert_eq!(tasks(&answer), [Task::Pour]);
    assert!(answer.tasks[0].basis.contains("50 ft2 finish_area x 0.022 h"), "{}", answer.tasks[0].basis);
}

/// A book that may be published without a rate for a task has its hours, and one that may not lacks them: the check before
/// publishing and the hours of a job go by one rule.
#[test]
fn a_book_lacks_a_rate_exactly_where_a_job_lacks_hours() {
    let mut published = Vec::new();
    for task in Task::ALL.iter().copied() {
        let own = measures_of(task);
        let Some(by) = [Task::Restore, Task::Pour].into_iter().find(|by| *by != task && may_hold(*by, task))
        else {
            continue;
        };
        for left_out in std::iter::once(None).chain(own.iter().copied().map(Some)) {
            let counted = own.iter().copied().filter(|m| Some(*m) != left_out);
            let mut book: Value = serde_json::from_str(BOOK).unwrap();
            let labor = book["labor"].as_array_mut().unwrap();
            labor.retain(|r| r["task"] != task.word());
            for rate in labor.iter_mut() {
                let counts = rate["task"] == by.word();
                let rates = rate["rates"].as_array_mut().unwrap();
                rates.retain(|r| own.iter().all(|m| r["measure"] != m.word()));
                let unit = |m: Measure| Unit::of(m.dimension()).next().unwrap().word();
                let row = |m: Measure| json!({"measure": m.word(), "unit": unit(m), "hours": "0.1"});
                rates.extend(counted.clone().filter(|_| counts).map(row));
            }
            labor.retain(|r| r["rates"].as_array().is_some_and(|rates| !rates.is_empty()));
            let doc: crate::wire::book::BookDoc = crate::wire::read_value(&book).unwrap();
            let faults = crate::domain::book::check::faults(&doc);
            let of_task = format!("no rate for `{task}`");
            let is_lacking = faults.list().iter().any(|f| f.detail.starts_with(&of_task));
            let mut job = measured(&[(measures_of(by)[0], hundredths_of_yard(100))]);
            own.iter().for_each(|m| job.set_base(*m, hundredths_of_yard(100)));
            let answer = worked(&job, &normal(Soil::Clay), &PriceBook::published(doc));
            let has_failed = failed(&answer).contains(&("labor_rate", task.word().to_owned()));
            assert_eq!(is_lacking, has_failed, "{task} by {by} without {left_out:?}: {faults}");
            assert!(!tasks(&answer).contains(&task));
            published.extend((!is_lacking).then_some(task));
        }
    }
    assert!(published.contains(&Task::MixConcrete) && published.contains(&Task::LayPipe), "{published:?}");
}

/// Quantities given by hand are counted as those of a layout are: a saw cut by its face is not missing by its length.
#[test]
fn what_is_given_by_hand_goes_with_what_is_counted() {
    let book = book_with(|_| ());
    let is_missing = |parts: &[(Measure, i128)]| {
        let measures = measured(parts);
        let said = worked(&measures, &normal(Soil::Clay), &book).checks;
        let found = super::super::uncounted(&measures, &normal(Soil::Clay), &book, &said);
        said.iter().chain(&found).any(|c| c.outcome == Outcome::Fail)
    };
    let face = (Measure::SawCutFace, (Length::FOOT * Length::feet(10)).nm2());
    let length = (Measure::SawCutLength, feet(30));
    assert_eq!(
        [is_missing(&[face]), is_missing(&[face, length]), is_missing(&[length])],
        [false, false, true]
    );
    // a strip only adds to the grates it is set beside
    let (grates, strip) = ((Measure::Grates, 10), (Measure::RecessStrip, feet(20)));
    assert_eq!(
        [is_missing(&[grates]), is_missing(&[grates, strip]), is_missing(&[strip])],
        [false, false, true]
    );
}

/// What has no pour day of its own is done on the first day on which the task is.
#[test]
fn a_task_that_begins_on_a_later_pour_day_keeps_what_has_no_day() {
    let book = by(&[("mix_concrete", &[("bags_mixed", "each", "0.06"), ("visits", "each", "1.5")])]);
    let mut bags = measured(&[(Measure::BagsMixed, 8), (Measure::Visits, 1)]);
    let day = |day, bags| Poured { day, volume: Volume::ZERO, bags };
    bags.set_pours(vec![day(1, 0), day(2, 8)]);
    let answer = worked(&bags, &normal(Soil::Clay), &book);
    let mixed = answer.tasks.iter().find(|t| t.task == Task::MixConcrete).unwrap();
    let sum = "pour day 2: setup 0.5 h + 8 bags_mixed x 0.06 h + 1 visit x 1.5 h = 2.48 person-hours";
    assert!(mixed.basis.starts_with(sum), "{}", mixed.basis);
}

#[test]
fn what_is_lifted_and_no_rate_counts_fails_aloud() {
    // As it may have been published before books were held against what their details need.
    let without = |measure: &str| {
        let mut book: Value = serde_json::from_str(BOOK).unwrap();
        for rate in book["labor"].as_array_mut().unwrap() {
            rate["rates"].as_array_mut().unwrap().retain(|r| r["measure"] != measure);
        }
        PriceBook::published(crate::wire::read_value(&book).unwrap())
    };
    let yard = hundredths_of_yard(100);
    let both = [(Measure::SlabRemoved, yard), (Measure::AsphaltRemoved, yard)];
    let answer = worked(&measured(&both), &normal(Soil::Clay), &without("asphalt_removed"));
    assert_eq!(failed(&answer), [("labor_rate", "break_out".to_owned())]);
    let reason = &answer.checks.iter().find(|c| c.outcome == Outcome::Fail).unwrap().reason;
    assert_eq!(reason, "no rate of `breaker` counts asphalt_removed: its hours are missing");
    // Alone it is said once.
    let answer = worked(&measured(&both[1..]), &normal(Soil::Clay), &without("asphalt_removed"));
    assert_eq!(failed(&answer), [("labor_rate", "break_out".to_owned())]);
    // Another task on hand counts it.
    let elsewhere = book_with(|b| {
        for rate in b["labor"].as_array_mut().unwrap() {
            let hauls = rate["task"] == "haul";
            let rates = rate["rates"].as_array_mut().unwrap();
            rates.retain(|r| r["measure"] != "asphalt_removed");
            if hauls {
                rates.push(json!({"measure": "asphalt_removed", "unit": "yd3", "hours": "1"}));
            }
        }
    });
    let hauled = [both[0], both[1], (Measure::HaulLoads, 2)];
    assert!(failed(&worked(&measured(&hauled), &normal(Soil::Clay), &elsewhere)).is_empty());
    let bars = [(Measure::Hangers, 4), (Measure::BarLength, Length::feet(40).nm().into())];
    let answer = worked(&measured(&bars), &normal(Soil::Clay), &without("bar_length"));
    assert_eq!(failed(&answer), [("labor_rate", "hang_and_brace".to_owned())]);
    // One measure stands for another of the same work.
    let alike = [
        (Measure::SawCutLength, Length::feet(9).nm().into()),
        (Measure::SawCutFace, 1_000_000_000_000_000_000),
        (Measure::FormArea, 1_000_000_000_000_000_000),
        (Measure::FormBoards, 3),
        (Measure::HaulLoads, 2),
        (Measure::ExportLoose, yard),
        (Measure::ChannelLength, Length::feet(9).nm().into()),
        (Measure::RunEnds, 2),
    ];
    assert!(failed(&worked(&measured(&alike), &normal(Soil::Clay), &without("export_loose"))).is_empty());
}

#[test]
fn a_quantity_nobody_counts_fails_aloud() {
    let book = book_with(|_| ());
    let unknown = Code::new("vacuum").unwrap();
    let methods = [(Task::DigRun, &unknown)];
    let dug = measured(&[(Measure::RunExcavation, hundredths_of_yard(500))]);
    let answer = worked(&dug, &Conditions { methods: &methods, ..normal(Soil::Clay) }, &book);
    assert_eq!(failed(&answer), [("labor_rate", "dig_run".to_owned())]);

    let length_only = measured(&[(Measure::SawCutLength, 300_000_000_000)]);
    let answer = worked(&length_only, &normal(Soil::Clay), &book);
    assert_eq!(failed(&answer), [("labor_rate", "saw_cut".to_owned())]);

    let beyond = measured(&[(Measure::RunExcavation, i128::MAX / 2)]);
    let answer = worked(&beyond, &normal(Soil::Clay), &book);
    assert_eq!(failed(&answer), [("labor_rate", "dig_run".to_owned())]);
}

/// Pipe layers who fill around the pipe: a line so shallow that nothing is filled above leaves no task for the others.
#[test]
fn what_another_task_does_is_not_missing() {
    let book = book_with(|b| {
        for rate in b["labor"].as_array_mut().unwrap() {
            let lays = rate["task"] == "lay_pipe";
            let rates = rate["rates"].as_array_mut().unwrap();
            rates.retain(|r| r["measure"] != "zone_fill");
            if lays {
                rates.push(json!({"measure": "zone_fill", "unit": "yd3", "hours": "0.65"}));
            }
        }
    });
    let shallow =
        [(Measure::PipeLength, Length::feet(10).nm().into()), (Measure::ZoneFill, hundredths_of_yard(40))];
    let tasks = |answer: &LaborHours| answer.tasks.iter().map(|t| t.task).collect::<Vec<_>>();
    let answer = worked(&measured(&shallow), &normal(Soil::Clay), &book);
    assert_eq!((failed(&answer), tasks(&answer)), (Vec::new(), vec![Task::LayPipe]));
    assert!(answer.tasks[0].basis.contains("0.4 yd3 zone_fill x 0.65 h"), "{}", answer.tasks[0].basis);
    let told: Vec<&str> = answer.checks.iter().map(|c| c.reason.as_str()).collect();
    assert_eq!(
        told,
        [
            "zone_fill is counted by `lay_pipe`, and nothing else of `backfill` is here: it has no hours of its own"
        ]
    );
    let deeper = [shallow[0], shallow[1], (Measure::Backfill, hundredths_of_yard(10))];
    let answer = worked(&measured(&deeper), &normal(Soil::Clay), &book);
    assert_eq!((failed(&answer), tasks(&answer)), (Vec::new(), vec![Task::LayPipe, Task::Backfill]));
    // Without pipe to lay nobody counts it.
    let answer = worked(&measured(&shallow[1..]), &normal(Soil::Clay), &book);
    assert_eq!(failed(&answer), [("labor_rate", "backfill".to_owned())]);
}

#[test]
fn a_part_of_a_task_given_alone_is_counted() {
    let book = book_with(|_| ());
    for (measure, task) in [
        (Measure::GrateCuts, Task::FitGrates),
        (Measure::ChannelJoints, Task::AssembleChannel),
        (Measure::PipeFittings, Task::LayPipe),
        (Measure::BarLength, Task::HangAndBrace),
    ] {
        let base = if measure == Measure::BarLength { Length::feet(40).nm().into() } else { 10 };
        let answer = worked(&measured(&[(measure, base)]), &normal(Soil::Clay), &book);
        assert_eq!(answer.tasks.iter().map(|t| t.task).collect::<Vec<_>>(), [task]);
        assert!(failed(&answer).is_empty(), "{measure}");
    }
}
